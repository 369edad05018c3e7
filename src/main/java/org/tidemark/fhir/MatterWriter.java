package org.tidemark.fhir;

import java.time.OffsetDateTime;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Task;

/** Writes the Tasks of the daily sweep, each new and without an id. */
public final class MatterWriter {
  private MatterWriter() {}

  /**
   * Asks a clinician to see to a matter.
   *
   * @param focus what to look at, such as the CarePlan or the Task that waits
   * @param detail what it is about in this plan, in sentences; may be empty
   * @param when when it was found
   */
  public static Task task(
      PlanIdentity plan, Matter matter, String focus, String detail, OffsetDateTime when) {
    Texts texts = plan.texts();
    String title = texts.title(matter);
    Task task = new Task();
    task.addExtension(Extensions.side(plan));
    task.setStatus(Task.TaskStatus.REQUESTED);
    task.setIntent(Task.TaskIntent.ORDER);
    task.setPriority(Task.TaskPriority.ROUTINE);
    task.setCode(Codes.concept(Codes.CLINICIAN_TASK, matter.code(), matter.title()).setText(title));
    task.setFocus(new Reference(focus));
    task.setFor(new Reference(plan.subject()));
    task.setAuthoredOnElement(DateTimes.dateTime(when));
    task.setRequester(new Reference(plan.engineDevice()));
    task.setOwner(new Reference(plan.organisation()));
    task.setDescription((texts.sentence(matter) + " " + detail).strip());
    task.setText(TaskSaid.of(task, PlanText.title(plan)).narrative(texts));
    return task;
  }
}
