package org.tidemark.fhir;

import java.math.BigDecimal;
import java.math.RoundingMode;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Locale;
import java.util.Map;
import org.hl7.fhir.r4.model.BooleanType;
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
import org.hl7.fhir.r4.model.Type;
import org.tidemark.decision.Change;
import org.tidemark.decision.Decision;
import org.tidemark.decision.RangeFigures;
import org.tidemark.decision.Reason;
import org.tidemark.decision.Verdict;
import org.tidemark.demand.Ratio;
import org.tidemark.trend.RangeChange;

/** Writes a decision with its reasons, its figures and what it did not take. */
public final class GuidanceWriter {
  private static final int FIGURE_DECIMALS = 4;
  private static final String BASELINE = "baseline";

  private GuidanceWriter() {}

  /**
   * A new answer, without an id. It is {@code data-required} when a decision could not be reached
   * for want of a baseline, and says which items are missing.
   */
  public static GuidanceResponse write(PlanIdentity plan, Decision decision) {
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
          Codes.concept(Codes.DECISION_REASON, reason.code(), reason.sentence())
              .setText(plan.texts().reason(reason)));
    }
    if (lacksData(decision)) {
      requirements(guidance, decision);
    }
    return guidance;
  }

  /**
   * Adds what a decision that has been taken comes to: the plan that it is about, how many sessions
   * a week that asks for, and how it judges the sessions that it looked at.
   *
   * @param askedPerWeek sessions a week of the leading exercise, 0 while nothing is in force
   * @param sessions those that are judged otherwise than before, or for the first time
   */
  public static void decided(
      GuidanceResponse guidance,
      PlanIdentity plan,
      int askedPerWeek,
      List<SessionJudged> sessions) {
    guidance.setResult(new Reference(plan.reference()));
    figure(guidance, Figure.ASKED_PER_WEEK, askedPerWeek);
    sessions.forEach(session -> guidance.addExtension(judged(session)));
  }

  private static Extension judged(SessionJudged session) {
    Extension extension = Extensions.complex("session-judged");
    extension.addExtension(Extensions.part("report", new Reference(session.report())));
    session
        .went()
        .ifPresentOrElse(
            went -> {
              extension.addExtension(Extensions.part("start", DateTimes.dateTime(went.start())));
              extension.addExtension(
                  Extensions.part("response", new CodeType(went.response().code())));
              extension.addExtension(Extensions.part("leading", new BooleanType(went.leading())));
            },
            () -> extension.addExtension(Extensions.part("withdrawn", new BooleanType(true))));
    return extension;
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
    figures
        .rest()
        .ifPresent(rest -> add(guidance, Figure.REST_PAIN, new DecimalType(rest.value())));
    figures.demand().ifPresent(demand -> demand(guidance, demand));
    figures.ranges().forEach(range -> range(guidance, range));
  }

  private static void demand(GuidanceResponse guidance, Ratio demand) {
    figure(guidance, Figure.DEMAND, demand.mid());
    figure(guidance, Figure.DEMAND_LOW, demand.low());
    figure(guidance, Figure.DEMAND_HIGH, demand.high());
    add(guidance, Figure.DEMAND_EXTRAPOLATED, new BooleanType(demand.extrapolated()));
    demand.estimated().forEach(item -> add(guidance, Figure.DEMAND_ESTIMATED, new CodeType(item)));
  }

  /** Each says for which goal the range is measured. */
  private static void range(GuidanceResponse guidance, RangeFigures range) {
    Map<Figure, Type> figures = new LinkedHashMap<>();
    figures.put(Figure.RANGE, value(Figure.RANGE, range.level().estimate()));
    figures.put(Figure.RANGE_LOW, value(Figure.RANGE_LOW, range.level().low()));
    figures.put(Figure.RANGE_HIGH, value(Figure.RANGE_HIGH, range.level().high()));
    figures.put(Figure.RANGE_SLOPE, value(Figure.RANGE_SLOPE, range.slopePerWeek().estimate()));
    figures.put(Figure.RANGE_SLOPE_LOW, value(Figure.RANGE_SLOPE_LOW, range.slopePerWeek().low()));
    figures.put(
        Figure.RANGE_SLOPE_HIGH, value(Figure.RANGE_SLOPE_HIGH, range.slopePerWeek().high()));
    figures.put(Figure.RANGE_CHANGE, value(Figure.RANGE_CHANGE, range.change().degrees()));
    figures.put(Figure.RANGE_MDC95, value(Figure.RANGE_MDC95, range.change().shownFromDegrees()));
    figures.put(Figure.RANGE_VERDICT, new CodeType(verdict(range.change().verdict())));
    range
        .stillSince()
        .ifPresent(since -> figures.put(Figure.RANGE_STILL_SINCE, DateTimes.dateTime(since)));
    figures.forEach(
        (name, value) ->
            add(guidance, name, value)
                .addExtension(Extensions.part("goal", new CodeType(range.goal()))));
  }

  private static String verdict(RangeChange.Verdict verdict) {
    return verdict.name().toLowerCase(Locale.ROOT).replace('_', '-');
  }

  private static void figure(GuidanceResponse guidance, Figure name, int figure) {
    add(guidance, name, new DecimalType(figure));
  }

  private static void figure(GuidanceResponse guidance, Figure name, double figure) {
    add(guidance, name, value(name, figure));
  }

  /** A number as it is, anything else with its unit. */
  private static Type value(Figure name, double figure) {
    BigDecimal number = rounded(figure);
    return name.unit().equals("deg") || name.unit().equals("deg/wk")
        ? new Quantity()
            .setValue(number)
            .setUnit(name.unit())
            .setSystem(Codes.UCUM)
            .setCode(name.unit())
        : new DecimalType(number);
  }

  private static BigDecimal rounded(double figure) {
    return BigDecimal.valueOf(figure).setScale(FIGURE_DECIMALS, RoundingMode.HALF_EVEN);
  }

  private static Extension add(GuidanceResponse guidance, Figure name, Type value) {
    Extension extension = Extensions.complex("figures");
    extension.addExtension(Extensions.part("name", new CodeType(name.code())));
    extension.addExtension(Extensions.part("value", value));
    guidance.addExtension(extension);
    return extension;
  }

  private static Extension considered(PlanIdentity plan, Change.Considered weighed) {
    Extension extension = Extensions.complex("considered");
    String change = plan.words().change(weighed.change());
    extension.addExtension(Extensions.part("change", new StringType(change)));
    extension.addExtension(Extensions.part("why", new CodeType(weighed.why().code())));
    plan.words()
        .missing(weighed)
        .ifPresent(
            piece -> extension.addExtension(Extensions.part("missing", new StringType(piece))));
    weighed
        .demand()
        .ifPresent(
            demand -> {
              part(extension, Figure.DEMAND, demand.mid());
              part(extension, Figure.DEMAND_LOW, demand.low());
              part(extension, Figure.DEMAND_HIGH, demand.high());
            });
    return extension;
  }

  private static void part(Extension extension, Figure name, double figure) {
    extension.addExtension(Extensions.part(name.code(), new DecimalType(rounded(figure))));
  }
}
