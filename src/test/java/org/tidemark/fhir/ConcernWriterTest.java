package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.time.Instant;
import java.util.Date;
import java.util.List;
import org.hl7.fhir.r4.model.DetectedIssue;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Task;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.decision.Decision;
import org.tidemark.decision.Reason;
import org.tidemark.decision.Verdict;
import org.tidemark.decision.Warning;

class ConcernWriterTest {

  @Test
  void aWarningIsASevereIssueWithItsEvidence() {
    DetectedIssue issue = ConcernWriter.warning(Sample.PLAN, Sample.warned());
    assertEquals(DetectedIssue.DetectedIssueStatus.FINAL, issue.getStatus());
    assertEquals(DetectedIssue.DetectedIssueSeverity.HIGH, issue.getSeverity());
    assertTrue(issue.getCode().hasCoding(Codes.WARNING, "calf-swelling"));
    assertEquals("Patient/ines-marlow", issue.getPatient().getReference());
    assertEquals("2026-05-04T07:30:00+02:00", issue.getIdentifiedDateTimeType().getValueAsString());
    var evidence = issue.getEvidenceFirstRep();
    assertEquals(
        List.of("calf-swelling", "night-pain"),
        evidence.getCode().stream().map(code -> code.getCodingFirstRep().getCode()).toList());
    assertEquals(
        List.of("Observation/s1/_history/2", "Observation/base/_history/1"),
        evidence.getDetail().stream().map(Reference::getReference).toList());
    assertEquals(
        "The calf is swollen. There is pain at night. Seek emergency care now.", issue.getDetail());
  }

  @Test
  void withoutAWarningThereIsNoIssue() {
    assertThrows(
        IllegalArgumentException.class,
        () -> ConcernWriter.warning(Sample.PLAN, Sample.progress()));
  }

  @ParameterizedTest(name = "{0}: {1}")
  @CsvSource({"CALF_PAIN, STAT", "LOCKING, URGENT", "NIGHT_PAIN, ROUTINE"})
  void aReviewIsAsPressingAsItsWarning(Warning sign, Task.TaskPriority priority) {
    Decision decision =
        new Sample.Builder(Verdict.WITHHOLD, Reason.WARNING_OPEN).warnings(sign).decision();
    Task task = ConcernWriter.review(Sample.PLAN, decision, "CarePlan/plan-1");
    assertEquals(priority, task.getPriority());
    assertTrue(task.getDescription().contains(sign.sentence()), task.getDescription());
    assertTrue(task.getDescription().contains(sign.urgency().sentence()), task.getDescription());
  }

  @ParameterizedTest(name = "{0} for {1}: {2}")
  @CsvSource({"WITHHOLD, THIRD_FLARE, URGENT", "REGRESS, SECOND_FLARE, ROUTINE"})
  void aReviewWithoutAWarningIsUrgentWhenExerciseIsWithheld(
      Verdict verdict, Reason reason, Task.TaskPriority priority) {
    Task task =
        ConcernWriter.review(
            Sample.PLAN, new Sample.Builder(verdict, reason).decision(), "CarePlan/plan-1");
    assertEquals(priority, task.getPriority());
    assertEquals(Task.TaskStatus.REQUESTED, task.getStatus());
    assertEquals(Task.TaskIntent.ORDER, task.getIntent());
    assertTrue(task.getCode().hasCoding(Codes.CLINICIAN_TASK, "review"));
    assertEquals("CarePlan/plan-1", task.getFocus().getReference());
    assertEquals("Patient/ines-marlow", task.getFor().getReference());
    assertTrue(task.getReasonCode().hasCoding(Codes.DECISION_REASON, reason.code()));
  }

  @Test
  void aProposalAsksForApprovalOfTheRequest() {
    Decision decision =
        new Sample.Builder(Verdict.PROGRESS, Reason.SETTLED)
            .change(Sample.LOWER)
            .inForce(Sample.STEP)
            .proposal(Sample.STEP)
            .decision();
    Task task = ConcernWriter.approval(Sample.PLAN, "ServiceRequest/c", decision);
    assertTrue(task.getCode().hasCoding("http://hl7.org/fhir/CodeSystem/task-code", "approve"));
    assertEquals(Task.TaskStatus.REQUESTED, task.getStatus());
    assertEquals(Task.TaskIntent.ORDER, task.getIntent());
    assertEquals("ServiceRequest/c", task.getFocus().getReference());
    assertEquals("Patient/ines-marlow", task.getFor().getReference());
    assertEquals("Organization/clinic", task.getOwner().getReference());
    assertTrue(task.getDescription().contains("from 24 cm to 17.5 cm"), task.getDescription());
  }

  @Test
  void aParkedReportSaysWhy() {
    Date when = Date.from(Instant.parse("2026-05-04T05:31:02Z"));
    Task task =
        ConcernWriter.parked(
            Sample.TEXTS, "Patient/x", "Observation/9", "It names no side <left or right>.", when);
    assertTrue(task.getCode().hasCoding(Codes.CLINICIAN_TASK, "sort-out"));
    assertEquals("Observation/9", task.getFocus().getReference());
    assertEquals("Patient/x", task.getFor().getReference());
    assertEquals(when, task.getAuthoredOn());
    assertEquals("It names no side <left or right>.", task.getDescription());
    assertFalse(task.getText().getDivAsString().contains("<left"));
  }
}
