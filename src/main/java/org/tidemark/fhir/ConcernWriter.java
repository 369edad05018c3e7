package org.tidemark.fhir;

import java.util.Date;
import java.util.List;
import java.util.stream.Collectors;
import org.hl7.fhir.r4.model.CodeableConcept;
import org.hl7.fhir.r4.model.Coding;
import org.hl7.fhir.r4.model.DetectedIssue;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Task;
import org.tidemark.decision.Contradiction;
import org.tidemark.decision.Decision;
import org.tidemark.decision.FactSource;
import org.tidemark.decision.Reason;
import org.tidemark.decision.Verdict;
import org.tidemark.decision.Warning;
import org.tidemark.decision.Warning.Urgency;

/** Writes what a clinician is to look at. All of it is new and without an id. */
public final class ConcernWriter {
  private ConcernWriter() {}

  record WarningSaid(String title, String detail, String stopped, String asOf) {}

  /**
   * The issue that a decision with open warnings raises. Its code is the most pressing warning;
   * every warning is among the evidence, with the records that the decision rests on.
   *
   * @throws IllegalArgumentException when no warning is open
   */
  public static DetectedIssue warning(PlanIdentity plan, Decision decision) {
    Texts texts = plan.texts();
    Urgency urgency = SafetyText.mostPressing(decision);
    Warning first =
        decision.warnings().stream()
            .filter(sign -> sign.urgency() == urgency)
            .findFirst()
            .orElseThrow();
    String detail = SafetyText.sentences(texts, decision.warnings()) + " " + texts.urgency(urgency);
    DetectedIssue issue = new DetectedIssue();
    issue.setText(
        NarrativePage.WARNING.narrative(
            texts,
            new WarningSaid(
                PlanText.title(plan),
                detail,
                texts.reason(Reason.WARNING_OPEN),
                texts.time(decision.asOf()))));
    issue.addExtension(Extensions.side(plan));
    issue.setStatus(DetectedIssue.DetectedIssueStatus.FINAL);
    issue.setCode(concept(texts, first));
    issue.setSeverity(DetectedIssue.DetectedIssueSeverity.HIGH);
    issue.setPatient(new Reference(plan.subject()));
    issue.setIdentified(DateTimes.dateTime(decision.asOf()));
    issue.setAuthor(new Reference(plan.engineDevice()));
    DetectedIssue.DetectedIssueEvidenceComponent evidence = issue.addEvidence();
    decision.warnings().forEach(sign -> evidence.addCode(concept(texts, sign)));
    decision.restsOn().stream()
        .map(FactSource::reference)
        .forEach(source -> evidence.addDetail(new Reference(source)));
    issue.setDetail(detail);
    issue
        .addMitigation()
        .setAction(new CodeableConcept().setText(texts.of("concern.stopped")))
        .setDateElement(DateTimes.dateTime(decision.asOf()))
        .setAuthor(new Reference(plan.engineDevice()));
    return issue;
  }

  /**
   * Asks a clinician to look at a plan. As pressing as its open warnings; without one, urgent when
   * exercise is withheld.
   *
   * @param focusReference what to look at, such as the CarePlan or the DetectedIssue
   */
  public static Task review(PlanIdentity plan, Decision decision, String focusReference) {
    Task task = task(plan, decision, focusReference);
    Texts texts = plan.texts();
    task.setPriority(priority(decision));
    task.setCode(
        Codes.concept(Codes.CLINICIAN_TASK, "review", "Review the plan")
            .setText(texts.of("concern.review")));
    String urgency =
        decision.warnings().isEmpty()
            ? ""
            : SafetyText.sentences(texts, decision.warnings())
                + " "
                + texts.urgency(SafetyText.mostPressing(decision))
                + " ";
    return described(
        texts, task, PlanText.title(plan), urgency + PlanText.sentences(texts, decision));
  }

  /**
   * Asks a clinician to accept or reject a proposed change.
   *
   * @param proposalReference the ServiceRequest that is proposed
   */
  public static Task approval(PlanIdentity plan, String proposalReference, Decision decision) {
    Task task = task(plan, decision, proposalReference);
    task.setPriority(Task.TaskPriority.ROUTINE);
    task.setCode(
        Codes.concept(Codes.TASK_CODE, "approve", "Activate/approve the focal resource")
            .setText(plan.texts().of("concern.approve")));
    String change = decision.change().map(wanted -> plan.words().change(wanted) + ". ").orElse("");
    return described(
        plan.texts(),
        task,
        PlanText.title(plan),
        change + PlanText.sentences(plan.texts(), decision));
  }

  /**
   * Asks a clinician to sort out a report that was stored but could not be used.
   *
   * @param texts the language of the clinician
   * @param subject the person
   * @param observationReference the report
   * @param reason why it could not be used, in a sentence
   * @param when when that was found
   */
  public static Task parked(
      Texts texts, String subject, String observationReference, String reason, Date when) {
    Task task = new Task();
    task.setStatus(Task.TaskStatus.REQUESTED);
    task.setIntent(Task.TaskIntent.ORDER);
    task.setPriority(Task.TaskPriority.ROUTINE);
    task.setCode(
        Codes.concept(Codes.CLINICIAN_TASK, "sort-out", "Sort out a report")
            .setText(texts.of("concern.sort-out")));
    task.setFocus(new Reference(observationReference));
    task.setFor(new Reference(subject));
    task.setAuthoredOn(when);
    return described(texts, task, texts.of("concern.unused"), reason);
  }

  /**
   * Asks a clinician to sort out two reports that say different things of one moment.
   *
   * @param texts the language of the clinician
   * @param subject the person
   * @param doubt the reports; the later to come is the focus, the other the reason
   * @param when when that was found
   */
  public static Task contradicting(Texts texts, String subject, Contradiction doubt, Date when) {
    FactSource later = doubt.fact().source();
    FactSource earlier = doubt.other().source();
    Task task =
        parked(
            texts,
            subject,
            later.type() + "/" + later.id(),
            texts.of("concern.contradicts.detail", texts.time(doubt.fact().at())),
            when);
    task.getCode().setText(texts.of("concern.contradicts"));
    task.setReasonReference(new Reference(earlier.type() + "/" + earlier.id()));
    return described(texts, task, texts.of("concern.contradicts.title"), task.getDescription());
  }

  private static Task task(PlanIdentity plan, Decision decision, String focusReference) {
    Task task = new Task();
    task.addExtension(Extensions.side(plan));
    task.setStatus(Task.TaskStatus.REQUESTED);
    task.setIntent(Task.TaskIntent.ORDER);
    task.setFocus(new Reference(focusReference));
    task.setFor(new Reference(plan.subject()));
    task.setAuthoredOnElement(DateTimes.dateTime(decision.asOf()));
    task.setRequester(new Reference(plan.engineDevice()));
    task.setOwner(new Reference(plan.organisation()));
    task.setReasonCode(reason(plan.texts(), decision.reasons()));
    return task;
  }

  /** Task has room for one reason: the most cautious by its code, all of them in words. */
  private static CodeableConcept reason(Texts texts, List<Reason> reasons) {
    Reason first = reasons.get(0);
    String all = reasons.stream().map(texts::reason).collect(Collectors.joining(" "));
    return Codes.concept(Codes.DECISION_REASON, first.code(), first.sentence()).setText(all);
  }

  private static Task.TaskPriority priority(Decision decision) {
    if (decision.warnings().isEmpty()) {
      return decision.verdict() == Verdict.WITHHOLD
          ? Task.TaskPriority.URGENT
          : Task.TaskPriority.ROUTINE;
    }
    return switch (SafetyText.mostPressing(decision)) {
      case EMERGENCY -> Task.TaskPriority.STAT;
      case URGENT -> Task.TaskPriority.URGENT;
      case SOON -> Task.TaskPriority.ROUTINE;
    };
  }

  private static Task described(Texts texts, Task task, String title, String description) {
    task.setDescription(description);
    task.setText(TaskSaid.of(task, title).narrative(texts));
    return task;
  }

  private static CodeableConcept concept(Texts texts, Warning sign) {
    return new CodeableConcept()
        .addCoding(new Coding().setSystem(Codes.WARNING).setCode(sign.code()))
        .setText(texts.warning(sign));
  }
}
