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
import org.junit.jupiter.api.Test;
import org.tidemark.decision.Change;
import org.tidemark.decision.Decision;
import org.tidemark.decision.Reason;
import org.tidemark.decision.Verdict;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.PainScore;
import org.tidemark.quantity.Unit;

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
            Optional.empty());
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
    assertFalse(weighed.get(1).hasExtension("missing"));
  }

  @Test
  void theResultIsThePlan() {
    GuidanceResponse guidance =
        GuidanceWriter.write(
            Sample.PLAN,
            Sample.progress(),
            List.of("ServiceRequest/a/_history/1", "CarePlan/plan-1/_history/4"));
    assertEquals("CarePlan/plan-1/_history/4", guidance.getResult().getReference());
    assertFalse(write(Sample.progress()).hasResult());
  }

  private static GuidanceResponse write(Decision decision) {
    return Sample.stored(
        GuidanceResponse.class, GuidanceWriter.write(Sample.PLAN, decision, List.of()));
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
