package org.tidemark.fhir;

import java.util.Locale;
import org.hl7.fhir.r4.model.Narrative;

/**
 * The narratives that are written, each a page template among the resources, in {@code
 * templates/narrative}. A template has the structure and the headings; what is said in it is a
 * record, whose values are text and never markup.
 */
enum NarrativePage {
  /** A CarePlan. */
  PLAN,
  /** A ServiceRequest, in force or proposed. */
  PRESCRIPTION,
  /** A GuidanceResponse. */
  DECISION,
  /** A Goal. */
  GOAL,
  /** A RiskAssessment. */
  FORECAST,
  /** A DetectedIssue. */
  WARNING,
  /** A Task. */
  TASK,
  /** A Provenance. */
  PROVENANCE,
  /** A Composition. */
  HANDOVER,
  /** A section of a Composition. */
  SECTION;

  /** The id of the template, such as {@code narrative/plan}. */
  String template() {
    return "narrative/" + name().toLowerCase(Locale.ROOT);
  }

  /**
   * The narrative.
   *
   * @param texts the language
   * @param said what the template asks for by name
   */
  Narrative narrative(Texts texts, Record said) {
    Narrative narrative = new Narrative();
    narrative.setStatus(Narrative.NarrativeStatus.GENERATED);
    narrative.setDiv(XhtmlReader.read(NarrativeTemplates.render(template(), texts, said)));
    return narrative;
  }
}
