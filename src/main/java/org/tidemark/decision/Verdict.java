package org.tidemark.decision;

/** What a decision comes to, the most cautious first. */
public enum Verdict {
  /** No exercise until something has changed or a clinician has looked. */
  WITHHOLD,
  /** Something needed is not known; nothing is guessed. */
  INCOMPLETE,
  /** Back to something easier. */
  REGRESS,
  /** As it is. */
  MAINTAIN,
  /** One thing harder. */
  PROGRESS,
  /** Every goal is met and held. */
  COMPLETE,
  /** A first prescription from a baseline. */
  PLACE;

  /** Its code, such as {@code progress}. */
  public String code() {
    return name().toLowerCase(java.util.Locale.ROOT);
  }
}
