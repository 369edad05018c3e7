package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.time.Instant;
import java.util.Date;
import java.util.List;
import java.util.Optional;
import org.hl7.fhir.r4.model.Provenance;
import org.junit.jupiter.api.Test;
import org.tidemark.decision.Decision;

class ProvenanceWriterTest {
  private static final Date RECORDED = Date.from(Instant.parse("2026-05-04T05:31:02Z"));

  @Test
  void namesWhatWasWrittenAndWhatItRestsOnInTheirVersions() {
    Provenance trail = write(Sample.progress());
    assertEquals(
        List.of("CarePlan/plan-1/_history/4", "ServiceRequest/a/_history/1"),
        trail.getTarget().stream().map(target -> target.getReference()).toList());
    assertEquals(
        List.of("Observation/s1/_history/2", "Observation/base/_history/1"),
        trail.getEntity().stream().map(entity -> entity.getWhat().getReference()).toList());
    assertTrue(
        trail.getEntity().stream()
            .allMatch(entity -> entity.getRole() == Provenance.ProvenanceEntityRole.SOURCE));
  }

  @Test
  void theEngineIsTheAuthorOnBehalfOfTheOrganisation() {
    var agent = write(Sample.progress()).getAgentFirstRep();
    assertTrue(agent.getType().hasCoding(Codes.PARTICIPANT_TYPE, "author"));
    assertEquals("Device/tidemark-engine", agent.getWho().getReference());
    assertEquals("Organization/clinic", agent.getOnBehalfOf().getReference());
  }

  @Test
  void tellsWhenItWasSoFromWhenItWasRecorded() {
    Provenance trail = write(Sample.progress());
    assertEquals("2026-05-04T07:30:00+02:00", trail.getOccurredDateTimeType().getValueAsString());
    assertEquals(RECORDED, trail.getRecorded());
  }

  @Test
  void anIncompleteBaselineIsNoDecision() {
    assertTrue(write(Sample.progress()).getActivity().hasCoding(Codes.DECISION, "progress"));
    assertFalse(
        write(Sample.incomplete()).getActivity().getCoding().stream()
            .anyMatch(coding -> Codes.DECISION.equals(coding.getSystem())));
  }

  @Test
  void refusesATrailToNowhere() {
    assertThrows(
        IllegalArgumentException.class,
        () ->
            ProvenanceWriter.write(
                Sample.PLAN, Sample.progress(), List.of(), List.of(), Optional.empty(), RECORDED));
  }

  private static Provenance write(Decision decision) {
    return ProvenanceWriter.write(
        Sample.PLAN,
        decision,
        List.of("CarePlan/plan-1/_history/4", "ServiceRequest/a/_history/1"),
        List.of(),
        Optional.empty(),
        RECORDED);
  }
}
