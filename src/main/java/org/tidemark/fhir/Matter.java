package org.tidemark.fhir;

/** What the daily sweep asks a clinician to see to: things that only the clock brings about. */
public enum Matter {
  SILENCE(
      "silence",
      "Ask after the person",
      "Exercise is prescribed, but nothing has been reported for some days."),
  PRECAUTION_ENDED(
      "precaution-ended",
      "See to a precaution that has ended",
      "The last day of a precaution has passed; the plan is no longer held inside it."),
  CLEARANCE_DUE(
      "clearance-due",
      "Say whether a precaution is lifted",
      "The last day of a precaution has passed; it stays in force until it is cleared."),
  OVERDUE(
      "overdue",
      "Answer what waits",
      "A sign-off or a review has waited for an answer for some days.");

  private final String code;
  private final String title;
  private final String sentence;

  Matter(String code, String title, String sentence) {
    this.code = code;
    this.title = title;
    this.sentence = sentence;
  }

  /** Its code in the CodeSystem {@code clinician-task}. */
  public String code() {
    return code;
  }

  /** What is to be done, in a few words. */
  public String title() {
    return title;
  }

  /** What is so, in a sentence. */
  public String sentence() {
    return sentence;
  }
}
