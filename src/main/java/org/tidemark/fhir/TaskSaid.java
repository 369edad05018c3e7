package org.tidemark.fhir;

import org.hl7.fhir.r4.model.Narrative;
import org.hl7.fhir.r4.model.Task;

/**
 * What the narrative of a Task says.
 *
 * @param title what it is about, such as the plan
 * @param matter what is to be done
 * @param description why
 */
record TaskSaid(String title, String matter, String description) {

  /** A Task that has its code and its description. */
  static TaskSaid of(Task task, String title) {
    return new TaskSaid(title, task.getCode().getText(), task.getDescription());
  }

  Narrative narrative(Texts texts) {
    return NarrativePage.TASK.narrative(texts, this);
  }
}
