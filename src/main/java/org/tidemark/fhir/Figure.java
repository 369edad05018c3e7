package org.tidemark.fhir;

import java.util.Locale;

/** The figures that a decision is told with, each with its unit and what it means. */
public enum Figure {
  ANSWERED("1", "Answered sessions at this setting."),
  UNSETTLED("1", "How many of them were not settled."),
  CHANCE("1", "Chance, 0 to 1, that the true share of unsettled sessions is below the limit."),
  NEEDED("1", "The chance that a step up needs, 0 to 1."),
  TOLERATED_RATE("1", "The limit: the share of sessions that may be unsettled, 0 to 1."),
  EVIDENCE_FACTOR("1", "How many times the usual evidence the next step needs, 1 to 8."),
  ASKED_PER_WEEK(
      "1", "Sessions a week that the plan asks for from now on; 0 while it asks for none."),
  ADHERENCE("1", "Share of what was asked that was done, 0 or more."),
  FLARES_IN_14_DAYS("1", "Flares within the last 14 days."),
  REST_PAIN("{score}", "Pain at rest, 0 to 10, that symptoms were compared with."),
  DEMAND("1", "What the change asks beside what was in force, as a multiple: the middle."),
  DEMAND_LOW("1", "The same, lower end: 5 % of what the unknown inputs allow lies below."),
  DEMAND_HIGH("1", "The same, upper end: 5 % lies above. The cap is held against it."),
  DEMAND_EXTRAPOLATED(
      "",
      "True where the model is not founded, above 90 degrees: the multiple says more or less, not"
          + " how much."),
  DEMAND_ESTIMATED("", "Code of an item that was estimated; measured, it would narrow the band."),
  RANGE("deg", "The range as of the newest reading, freed of the error of measuring."),
  RANGE_LOW("deg", "Lower end of its 95 % interval."),
  RANGE_HIGH("deg", "Upper end of its 95 % interval."),
  RANGE_SLOPE("deg/wk", "How fast the range changes."),
  RANGE_SLOPE_LOW("deg/wk", "Lower end of its 95 % interval."),
  RANGE_SLOPE_HIGH("deg/wk", "Upper end of its 95 % interval."),
  RANGE_CHANGE("deg", "Newest readings minus the first."),
  RANGE_MDC95("deg", "The smallest such difference that is more than error (MDC95)."),
  RANGE_VERDICT("", "What the difference shows: improved, worse, or not-shown when below it."),
  RANGE_STILL_SINCE("", "Since when the range has stood still; absent where it has not.");

  private final String unit;
  private final String definition;

  Figure(String unit, String definition) {
    this.unit = unit;
    this.definition = definition;
  }

  /** Its code, such as {@code rest-pain}. */
  public String code() {
    return name().toLowerCase(Locale.ROOT).replace('_', '-');
  }

  /** The UCUM code of its unit; {@code 1} for a number, blank for what is no number. */
  public String unit() {
    return unit;
  }

  /** What it means. */
  public String definition() {
    return definition;
  }
}
