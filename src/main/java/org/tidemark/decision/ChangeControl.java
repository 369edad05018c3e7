package org.tidemark.decision;

import java.util.Locale;

/**
 * Which upward changes act at once and which wait for a clinician. Easing, holding and withholding
 * always act at once.
 */
public enum ChangeControl {
  /** Progress within a stage acts at once; a new stage or the first added load waits. */
  WITHIN_STAGE,
  /** Every upward change waits. */
  EVERY_CHANGE;

  /** {@code within-stage} or {@code every-change}. */
  public String code() {
    return name().toLowerCase(Locale.ROOT).replace('_', '-');
  }
}
