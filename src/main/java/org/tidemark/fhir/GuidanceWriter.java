package org.tidemark.fhir;

import java.math.BigDecimal;
import java.math.RoundingMode;
import java.util.List;
import java.util.function.Predicate;
import org.hl7.fhir.r4.model.CanonicalType;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.Coding;
import org.hl7.fhir.r4.model.DataRequirement;
import org.hl7.fhir.r4.model.DataRequirement.DataRequirementCodeFilterComponent;
import org.hl7.fhir.r4.model.DecimalType;
import org.hl7.fhir.r4.model.Extension;
import org.hl7.fhir.r4.model.GuidanceResponse;
import org.hl7.fhir.r4.model.Quantity;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.StringType;
import org.tidemark.decision.Change;
import org.tidemark.decision.Decision;
import org.tidemark.decision.RangeFigures;
import org.tidemark.decision.Reason;
import org.tidemark.decision.Verdict;
import org.tidemark.demand.Ratio;

/** Writes a decision with its reasons, its figures and what it did not take. */
public final class GuidanceWriter {
  private static final int FIGURE_DECIMALS = 4;
  private static final String BASELINE = "baseline";

  private GuidanceWriter() {}

  /**
   * A new answer, without an id. It is {@code data-required} when a decision could not be reached
   * for want of a baseline, and says which items are missing.
   *
   * @param resultReferences what came of it. R4 has room for one result, a CarePlan or a
   *     RequestGroup: the first of these is written, the rest is reached through it
   */
  public static GuidanceResponse write(
      PlanIdentity plan, Decision decision, List<String> resultReferences) {
    GuidanceResponse guidance = new GuidanceResponse();
    guidance.setText(PlanText.decision(plan, decision));
    guidance.addExtension(Extensions.side(plan));
    if (decision.verdict() != Verdict.INCOMPLETE) {
      guidance.addExtension(Extensions.code("decision", decision.verdict().code()));
    }
    figures(guidance, decision.figures());
    decision.considered().forEach(weighed -> guidance.addExtension(considered(plan, weighed)));
    guidance.setModule(new CanonicalType(plan.programme().id().canonical()));
    guidance.setStatus(
        lacksData(decision)
            ? GuidanceResponse.GuidanceResponseStatus.DATAREQUIRED
            : GuidanceResponse.GuidanceResponseStatus.SUCCESS);
    guidance.setSubject(new Reference(plan.subject()));
    guidance.setOccurrenceDateTimeElement(DateTimes.dateTime(decision.asOf()));
    guidance.setPerformer(new Reference(plan.engineDevice()));
    for (Reason reason : decision.reasons()) {
      guidance.addReasonCode(
          Codes.concept(Codes.DECISION_REASON, reason.code(), reason.sentence()));
    }
    if (lacksData(decision)) {
      requirements(guidance, decision);
    }
    resultReferences.stream()
        .filter(isResult())
        .findFirst()
        .ifPresent(reference -> guidance.setResult(new Reference(reference)));
    return guidance;
  }

  private static Predicate<String> isResult() {
    return reference -> reference.startsWith("CarePlan/") || reference.startsWith("RequestGroup/");
  }

  private static boolean lacksData(Decision decision) {
    return decision.verdict() == Verdict.INCOMPLETE || decision.reasons().contains(Reason.LONG_GAP);
  }

  /**
   * One requirement for each missing item, alternatives in one; a whole new baseline where no item
   * is named.
   */
  private static void requirements(GuidanceResponse guidance, Decision decision) {
    if (decision.missing().isEmpty()) {
      guidance.addDataRequirement(requirement(BASELINE));
    }
    decision
        .missing()
        .forEach(group -> guidance.addDataRequirement(requirement(group.split("\\|"))));
  }

  private static DataRequirement requirement(String... items) {
    DataRequirement requirement = new DataRequirement();
    requirement.setType("Observation");
    DataRequirementCodeFilterComponent filter = requirement.addCodeFilter().setPath("code");
    for (String item : items) {
      filter.addCode(new Coding().setSystem(Codes.REPORT_ITEM).setCode(item));
    }
    return requirement;
  }

  /** Those about an exercise only where the decision looked at one. */
  private static void figures(GuidanceResponse guidance, Decision.Figures figures) {
    if (figures.toleratedRate() > 0) {
      figure(guidance, Figure.ANSWERED, figures.answered());
      figure(guidance, Figure.UNSETTLED, figures.unsettled());
      figure(guidance, Figure.CHANCE, figures.chance());
      figure(guidance, Figure.NEEDED, figures.needed());
      figure(guidance, Figure.TOLERATED_RATE, figures.toleratedRate());
      figure(guidance, Figure.EVIDENCE_FACTOR, figures.evidenceFactor());
      figure(guidance, Figure.ADHERENCE, figures.adherence());
    }
    figure(guidance, Figure.FLARES_IN_14_DAYS, figures.flaresIn14Days());
    figures.rest().ifPresent(rest -> guidance.addExtension(figure(Figure.REST_PAIN, rest.value())));
    figures.demand().ifPresent(demand -> demand(guidance, demand));
    figures.ranges().forEach(range -> range(guidance, range));
  }

  private static void demand(GuidanceResponse guidance, Ratio demand) {
    figure(guidance, Figure.DEMAND, demand.mid());
    figure(guidance, Figure.DEMAND_LOW, demand.low());
    figure(guidance, Figure.DEMAND_HIGH, demand.high());
  }

  private static void range(GuidanceResponse guidance, RangeFigures range) {
    figure(guidance, Figure.RANGE, range.level().estimate());
    figure(guidance, Figure.RANGE_LOW, range.level().low());
    figure(guidance, Figure.RANGE_HIGH, range.level().high());
    figure(guidance, Figure.RANGE_SLOPE, range.slopePerWeek().estimate());
    figure(guidance, Figure.RANGE_SLOPE_LOW, range.slopePerWeek().low());
    figure(guidance, Figure.RANGE_SLOPE_HIGH, range.slopePerWeek().high());
    figure(guidance, Figure.RANGE_CHANGE, range.change().degrees());
    figure(guidance, Figure.RANGE_MDC95, range.change().shownFromDegrees());
  }

  private static void figure(GuidanceResponse guidance, Figure name, int figure) {
    guidance.addExtension(figure(name, BigDecimal.valueOf(figure)));
  }

  private static void figure(GuidanceResponse guidance, Figure name, double figure) {
    BigDecimal rounded =
        BigDecimal.valueOf(figure).setScale(FIGURE_DECIMALS, RoundingMode.HALF_EVEN);
    guidance.addExtension(figure(name, rounded));
  }

  /** A number as it is, anything else with its unit. */
  private static Extension figure(Figure name, BigDecimal figure) {
    Extension extension = Extensions.complex("figures");
    extension.addExtension(Extensions.part("name", new CodeType(name.code())));
    extension.addExtension(
        Extensions.part(
            "value",
            name.unit().equals("deg") || name.unit().equals("deg/wk")
                ? new Quantity()
                    .setValue(figure)
                    .setUnit(name.unit())
                    .setSystem(Codes.UCUM)
                    .setCode(name.unit())
                : new DecimalType(figure)));
    return extension;
  }

  private static Extension considered(PlanIdentity plan, Change.Considered weighed) {
    Extension extension = Extensions.complex("considered");
    String change = PrescriptionText.change(plan.programme(), weighed.change());
    extension.addExtension(Extensions.part("change", new StringType(change)));
    extension.addExtension(Extensions.part("why", new CodeType(weighed.why().code())));
    PrescriptionText.missing(weighed)
        .ifPresent(
            piece -> extension.addExtension(Extensions.part("missing", new StringType(piece))));
    return extension;
  }
}
