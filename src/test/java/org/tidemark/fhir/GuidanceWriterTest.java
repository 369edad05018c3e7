package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertNull;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import org.hl7.fhir.r4.model.Coding;
import org.hl7.fhir.r4.model.Extension;
import org.hl7.fhir.r4.model.GuidanceResponse;
import org.hl7.fhir.r4.model.GuidanceResponse.GuidanceResponseStatus;
import org.hl7.fhir.r4.model.Quantity;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.decision.Change;
import org.tidemark.decision.Decision;
import org.tidemark.decision.Reason;
import org.tidemark.decision.Verdict;
import org.tidemark.demand.Ratio;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.PainScore;
import org.tidemark.quantity.Unit;
import org.tidemark.response.Response;

class GuidanceWriterTest {

  @Test
  void aDecisionIsAnAnswerWithItsReasonsMostCautiousFirst() {
    Decision decision = Sample.maintain(Reason.ONE_STIRRED, Reason.EVIDENCE_THIN).decision();
    GuidanceResponse guidance = write(decision);
    assertEquals(GuidanceResponseStatus.SUCCESS, guidance.getStatus());
    assertEquals("maintain", guidance.getExtensionString(Codes.structure("decision")));
    assertEquals(
        "https://tidemark.example/fhir/PlanDefinition/sample|1.0.0",
        guidance.getModuleCanonicalType().getValue());
    assertEquals("Patient/ines-marlow", guidance.getSubject().getReference());
    assertEquals("Device/tidemark-engine", guidance.getPerformer().getReference());
    assertEquals(
        "2026-05-04T07:30:00+02:00", guidance.getOccurrenceDateTimeElement().getValueAsString());
    assertEquals(
        List.of("one-stirred", "evidence-thin"),
        guidance.getReasonCode().stream().map(c -> c.getCodingFirstRep().getCode()).toList());
    Coding first = guidance.getReasonCodeFirstRep().getCodingFirstRep();
    assertEquals(Codes.DECISION_REASON, first.getSystem());
    assertEquals(Reason.ONE_STIRRED.sentence(), first.getDisplay());
    assertFalse(guidance.hasDataRequirement());
  }

  @Test
  void theFiguresAreCarriedToFourDecimals() {
    Map<String, String> figures = figures(write(Sample.progress()));
    assertEquals("8", figures.get("answered"));
    assertEquals("1", figures.get("unsettled"));
    assertEquals("0.7996", figures.get("chance"));
    assertEquals("0.8000", figures.get("needed"));
    assertEquals("0.2000", figures.get("tolerated-rate"));
    assertEquals("1", figures.get("evidence-factor"));
    assertEquals("0.9580", figures.get("adherence"));
    assertEquals("0", figures.get("flares-in-14-days"));
    assertEquals("0", figures.get("rest-pain"));
  }

  @Test
  void figuresThatWereNotComputedAreAbsentAndNotZero() {
    Decision none =
        Sample.maintain(Reason.NOTHING_NEW)
            .figures(
                new Decision.Figures(
                    0, 0, 0, 0.8, 0, 1, 0, 2, Optional.empty(), Optional.empty(), List.of()))
            .decision();
    assertEquals(Map.of("flares-in-14-days", "2"), figures(write(none)));
    Decision resting =
        Sample.maintain(Reason.NOTHING_NEW)
            .figures(
                new Decision.Figures(
                    0,
                    0,
                    0,
                    0.8,
                    0,
                    1,
                    0,
                    0,
                    Optional.of(PainScore.of(2)),
                    Optional.empty(),
                    List.of()))
            .decision();
    assertEquals("2", figures(write(resting)).get("rest-pain"));
  }

  @Test
  void demandSaysItsBandAndWhatWasEstimated() {
    GuidanceResponse guidance =
        write(
            Sample.maintain(Reason.NOTHING_NEW)
                .figures(
                    demanding(new Ratio(1.02, 1.04, 1.08, true, List.of("body-weight", "gap"))))
                .decision());
    assertEquals("1.0200", values(guidance, "demand-low").get(0));
    assertEquals("1.0400", values(guidance, "demand").get(0));
    assertEquals("1.0800", values(guidance, "demand-high").get(0));
    assertEquals(List.of("true"), values(guidance, "demand-extrapolated"));
    assertEquals(List.of("body-weight", "gap"), values(guidance, "demand-estimated"));
  }

  private static Decision.Figures demanding(Ratio demand) {
    return new Decision.Figures(
        0, 0, 0, 0.8, 0, 1, 0, 0, Optional.empty(), Optional.of(demand), List.of());
  }

  /**
   * A goniometer and one rater at both ends: MDC95 is 1.96 times the root of 2 times 3.5 degrees.
   */
  @ParameterizedTest(name = "from 110 to {0}: {1}")
  @CsvSource({"119.70, not-shown", "119.71, improved", "100.30, not-shown", "100.29, worse"})
  void aRangeSaysItsVerdictForItsGoal(double now, String verdict) {
    GuidanceResponse guidance =
        write(
            Sample.maintain(Reason.NOTHING_NEW)
                .decision()
                .with(List.of(Sample.course(135, 110, now).figures())));
    assertEquals(List.of(verdict), values(guidance, "range-verdict"));
    assertEquals(List.of(), values(guidance, "range-still-since"));
    List<Extension> range =
        guidance.getExtensionsByUrl(Codes.structure("figures")).stream()
            .filter(figure -> figure.getExtensionString("name").startsWith("range"))
            .toList();
    assertEquals(9, range.size());
    assertTrue(range.stream().allMatch(figure -> figure.getExtensionString("goal").equals("goal")));
    assertEquals(
        "deg/wk",
        ((Quantity) named(guidance, "range-slope").get(0).getExtensionByUrl("value").getValue())
            .getCode());
  }

  @Test
  void aRangeThatStandsStillSaysSinceWhen() {
    double[] still = new double[30];
    java.util.Arrays.fill(still, 120);
    GuidanceResponse guidance =
        write(
            Sample.maintain(Reason.NOTHING_NEW)
                .decision()
                .with(List.of(Sample.course(135, still).figures())));
    assertEquals(1, values(guidance, "range-still-since").size());
    assertTrue(values(guidance, "range-still-since").get(0).startsWith("2026-"));
  }

  private static List<Extension> named(GuidanceResponse guidance, String name) {
    return guidance.getExtensionsByUrl(Codes.structure("figures")).stream()
        .filter(figure -> figure.getExtensionString("name").equals(name))
        .toList();
  }

  private static List<String> values(GuidanceResponse guidance, String name) {
    return named(guidance, name).stream()
        .map(figure -> figure.getExtensionByUrl("value").getValueAsPrimitive().getValueAsString())
        .toList();
  }

  @Test
  void aMissingItemIsRequiredAlternativesTogether() {
    GuidanceResponse guidance = write(Sample.incomplete());
    assertEquals(GuidanceResponseStatus.DATAREQUIRED, guidance.getStatus());
    assertNull(guidance.getExtensionByUrl(Codes.structure("decision")));
    assertEquals(List.of(List.of("gap", "contact"), List.of("can-kneel")), required(guidance));
    var requirement = guidance.getDataRequirementFirstRep();
    assertEquals("Observation", requirement.getType());
    assertEquals("code", requirement.getCodeFilterFirstRep().getPath());
    assertEquals(
        Codes.REPORT_ITEM, requirement.getCodeFilterFirstRep().getCodeFirstRep().getSystem());
  }

  @Test
  void aLongGapRequiresANewBaseline() {
    GuidanceResponse guidance =
        write(new Sample.Builder(Verdict.WITHHOLD, Reason.LONG_GAP).decision());
    assertEquals(GuidanceResponseStatus.DATAREQUIRED, guidance.getStatus());
    assertEquals("withhold", guidance.getExtensionString(Codes.structure("decision")));
    assertEquals(List.of(List.of("baseline")), required(guidance));
  }

  @Test
  void whatWasWeighedSaysWhyAndWhatIsMissing() {
    Change.Considered book =
        new Change.Considered(
            Sample.LOWER,
            Reason.STEP_TOO_BIG,
            Optional.of(new Change.Piece("book", Amount.of(5, Unit.CENTIMETRE))),
            Optional.of(new Ratio(1.05, 1.1, 1.2, false, List.of())));
    Change.Considered limit =
        new Change.Considered(
            Sample.LOWER, Reason.PRECAUTION_LIMITS, Optional.empty(), Optional.empty());
    GuidanceResponse guidance =
        write(Sample.maintain(Reason.STEP_TOO_BIG).considered(book, limit).decision());
    List<Extension> weighed = guidance.getExtensionsByUrl(Codes.structure("considered"));
    assertEquals(2, weighed.size());
    assertEquals("step-too-big", weighed.get(0).getExtensionString("why"));
    assertEquals("a book of 5 cm", weighed.get(0).getExtensionString("missing"));
    assertTrue(weighed.get(0).getExtensionString("change").contains("from 24 cm to 17.5 cm"));
    assertEquals(
        "1.2000",
        weighed.get(0).getExtensionByUrl("demand-high").getValueAsPrimitive().getValueAsString());
    assertFalse(weighed.get(1).hasExtension("missing"));
    assertFalse(weighed.get(1).hasExtension("demand-high"));
  }

  @Test
  void whatIsDecidedSaysThePlanAndHowItsSessionsWent() {
    GuidanceResponse guidance = GuidanceWriter.write(Sample.PLAN, Sample.progress());
    assertFalse(guidance.hasResult());
    GuidanceWriter.decided(
        guidance,
        Sample.PLAN,
        7,
        List.of(
            new SessionJudged(
                "Observation/a",
                Optional.of(new SessionJudged.Went(Sample.AS_OF, Response.FLARED, true))),
            SessionJudged.withdrawn("Observation/b")));
    assertEquals("CarePlan/plan-1", guidance.getResult().getReference());
    assertEquals("7", figures(guidance).get("asked-per-week"));
    List<Extension> judged = guidance.getExtensionsByUrl(Codes.structure("session-judged"));
    assertEquals(2, judged.size());
    assertEquals("flared", judged.get(0).getExtensionString("response"));
    assertEquals(
        "2026-05-04T07:30:00+02:00",
        judged.get(0).getExtensionByUrl("start").getValue().primitiveValue());
    assertFalse(judged.get(1).hasExtension("response"));
    assertEquals("true", judged.get(1).getExtensionString("withdrawn"));
  }

  private static GuidanceResponse write(Decision decision) {
    return Sample.stored(GuidanceResponse.class, GuidanceWriter.write(Sample.PLAN, decision));
  }

  private static Map<String, String> figures(GuidanceResponse guidance) {
    Map<String, String> figures = new LinkedHashMap<>();
    for (Extension figure : guidance.getExtensionsByUrl(Codes.structure("figures"))) {
      figures.put(
          figure.getExtensionString("name"),
          figure.getExtensionByUrl("value").getValueAsPrimitive().getValueAsString());
    }
    return figures;
  }

  private static List<List<String>> required(GuidanceResponse guidance) {
    return guidance.getDataRequirement().stream()
        .map(need -> need.getCodeFilterFirstRep().getCode().stream().map(Coding::getCode).toList())
        .toList();
  }
}
