package org.tidemark.decision;

import java.util.Arrays;
import java.util.Locale;
import java.util.Optional;

/**
 * A sign that exercise stops for until a clinician has looked. The service does not diagnose.
 * Urgency is common practice and follows the groups of published red-flag lists.
 */
public enum Warning {
  GIVING_WAY(Urgency.URGENT, "The joint gives way."),
  LOCKING(Urgency.URGENT, "The joint locks."),
  HOT_SWOLLEN_JOINT(Urgency.EMERGENCY, "The joint is hot, red or swollen."),
  FEVER(Urgency.EMERGENCY, "There is fever or feeling unwell."),
  CALF_SWELLING(Urgency.EMERGENCY, "The calf is swollen."),
  CALF_PAIN(Urgency.EMERGENCY, "The calf is painful."),
  CHEST_PAIN_OR_BREATHLESSNESS(Urgency.EMERGENCY, "There is chest pain or breathlessness."),
  TRAUMA(Urgency.URGENT, "There was a fall or a blow."),
  NIGHT_PAIN(Urgency.SOON, "There is pain at night."),
  NUMB_OR_COLD_FOOT(Urgency.EMERGENCY, "The foot is numb or cold."),
  CANNOT_BEAR_WEIGHT(Urgency.URGENT, "The leg cannot bear weight.");

  /** How soon a clinician must look, the most pressing first. */
  public enum Urgency {
    EMERGENCY("Seek emergency care now."),
    URGENT("See a clinician today."),
    SOON("See a clinician within days.");

    private final String sentence;

    Urgency(String sentence) {
      this.sentence = sentence;
    }

    /** What the person is told. */
    public String sentence() {
      return sentence;
    }
  }

  private final Urgency urgency;
  private final String sentence;

  Warning(Urgency urgency, String sentence) {
    this.urgency = urgency;
    this.sentence = sentence;
  }

  public Urgency urgency() {
    return urgency;
  }

  /** What the sign is, in plain words. */
  public String sentence() {
    return sentence;
  }

  /** Its code, such as {@code giving-way}. */
  public String code() {
    return name().toLowerCase(Locale.ROOT).replace('_', '-');
  }

  public static Optional<Warning> find(String code) {
    return Arrays.stream(values()).filter(warning -> warning.code().equals(code)).findFirst();
  }
}
