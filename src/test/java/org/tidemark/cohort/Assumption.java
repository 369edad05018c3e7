package org.tidemark.cohort;

import static org.tidemark.cohort.Spread.even;
import static org.tidemark.cohort.Spread.fixed;
import static org.tidemark.cohort.Spread.lognormal;
import static org.tidemark.cohort.Spread.normal;

import java.util.random.RandomGenerator;

/**
 * Every figure that the cohort is made from, with its source; {@code assumption} where none was
 * found: what a physiotherapist might call usual. The report prints this list.
 */
public enum Assumption {
  STATURE_MEN("Stature of men", "cm", normal(175.6, 6.9), Source.ANSUR),
  STATURE_WOMEN("Stature of women", "cm", normal(162.8, 6.4), Source.ANSUR),
  BUILD("Body mass for each square metre of stature", "kg/m²", normal(27, 4), Source.ASSUMPTION),
  CALF_MEN("Calf girth of men", "cm", normal(39.2, 3.0), Source.ANSUR),
  CALF_WOMEN("Calf girth of women", "cm", normal(37.3, 2.9), Source.ANSUR),
  THIGH_MEN("Thigh girth of men", "cm", normal(62.5, 5.8), Source.ANSUR),
  THIGH_WOMEN("Thigh girth of women", "cm", normal(61.6, 5.6), Source.ANSUR),
  CALF_WITH_BUILD("Correlation of calf girth with build", "", fixed(0.77), Source.ANSUR),
  THIGH_WITH_BUILD("Correlation of thigh girth with build", "", fixed(0.88), Source.ANSUR),
  LOWER_THIGH_OFF(
      "Lower thigh beside 0.653 of thigh girth", "cm", normal(0, 1.8), Source.ASSUMPTION),
  SHANK_OF_STATURE("Shank as a fraction of stature", "", normal(0.246, 0.0102), Source.WINTER),
  THIGH_OF_STATURE("Thigh as a fraction of stature", "", normal(0.245, 0.0115), Source.WINTER),
  WALL_LUNGE(
      "Wall-lunge distance", "cm", normal(11.8, 4.2), "Calatayud 2015, PMC4387727 (students)"),
  FOLD_ARM("From the knee to where calf and thigh meet", "cm", fixed(15), Source.GEOMETRY),
  CONTACT_OFF("Angle of contact beside that of the girths", "deg", normal(0, 4), Source.ASSUMPTION),
  OTHER_SIDE_MEN("Flexion of the other knee, men", "deg", normal(132.9, 7), Source.SOUCIE),
  OTHER_SIDE_WOMEN("Flexion of the other knee, women", "deg", normal(137.8, 7), Source.SOUCIE),
  CEILING_BELOW(
      "What the sore knee stays short of the other for good", "deg", even(0, 8), Source.ASSUMPTION),
  STIFF_BY(
      "Comfortable flexion short of contact at the start", "deg", normal(12, 9), Source.ASSUMPTION),
  RANGE_HALVED(
      "Weeks of daily exercise until half the range to the ceiling is won",
      "weeks",
      lognormal(6, 0.4),
      "Stratford 2010, Physiother Can 62:378-87 (most is won within 12 weeks); spread: assumption"),
  RANGE_LOST(
      "Range lost on a day without exercise, of what had been won",
      "share",
      fixed(0.003),
      Source.ASSUMPTION),
  RANGE_WANDERS("Wandering of range, each week", "deg", even(0.1, 0.6), Source.ASSUMPTION),
  STALLS("Stalls of range in a year", "", even(0, 3), Source.ASSUMPTION),
  STALL_LASTS("How long a stall lasts", "days", even(14, 56), Source.ASSUMPTION),
  STRETCH_TOLERATED(
      "How far past comfortable flexion a stretch may go without pain",
      "deg",
      lognormal(5, 0.3),
      Source.ASSUMPTION),
  STRETCH_SCALE(
      "Degrees past that which weigh as one unit on the logarithmic load scale",
      "deg",
      fixed(30),
      Source.ASSUMPTION),
  PUSHED_AT_MOST(
      "Farthest that anyone pushes past comfortable flexion", "deg", even(2, 8), Source.ASSUMPTION),
  WEIGHT_HELPS("How much deeper body weight takes the knee", "deg", fixed(3), Source.ASSUMPTION),
  CAPACITY(
      "Load tolerated at the start; 1 is the split squat on the floor without help",
      "",
      lognormal(0.70, 0.30),
      Source.ASSUMPTION),
  CAPACITY_CEILING(
      "Load that can be tolerated at last", "", lognormal(1.8, 0.25), Source.ASSUMPTION),
  CAPACITY_GROWS(
      "Growth of tolerance by a session near it, share of it",
      "share",
      lognormal(0.006, 0.5),
      "assumption, after the 2 to 3 % a week that strength programmes win at first (from memory)"),
  CAPACITY_FADES(
      "Tolerance lost on a day without such a session, of what had been won",
      "share",
      fixed(0.004),
      Source.ASSUMPTION),
  DOSE_WEIGHS(
      "Exponent with which the number of repetitions counts as load",
      "",
      fixed(0.15),
      Source.ASSUMPTION),
  DAY_TO_DAY(
      "Day-to-day variation of tolerance, of its logarithm",
      "",
      even(0.02, 0.10),
      Source.ASSUMPTION),
  IRRITABILITY(
      "Pain points during a session for each unit of overload (logarithm of load over tolerance)",
      "points",
      lognormal(10, 0.4),
      Source.ASSUMPTION),
  DELAY(
      "Share of the pain during it that lingers after a session",
      "share",
      lognormal(0.6, 0.5),
      Source.ASSUMPTION),
  SETTLES(
      "Days until lingering pain falls to a third", "days", lognormal(1.2, 0.5), Source.ASSUMPTION),
  SORE_WEAKENS(
      "Tolerance lost with each point of lingering pain", "share", fixed(0.05), Source.ASSUMPTION),
  SWELLS(
      "Chance that a great overload shows as swelling", "share", even(0, 0.5), Source.ASSUMPTION),
  STIMULUS_FROM(
      "Share of tolerance from which a load makes tolerance grow",
      "",
      fixed(0.6),
      Source.ASSUMPTION),
  STIMULUS_FULL(
      "Share of tolerance at which it does so in full", "", fixed(0.9), Source.ASSUMPTION),
  STIMULUS_LOST(
      "Load over tolerance from which nothing is won any more", "", fixed(1.3), Source.ASSUMPTION),
  PAIN_AFTER("Pain after a session beside that during it", "share", fixed(0.7), Source.ASSUMPTION),
  SWELLING_SCALE(
      "Overload at which two thirds of those swell who do", "", fixed(0.25), Source.ASSUMPTION),
  NOISE_QUIET(
      "Scatter of a pain score before it is rounded, without pain at rest",
      "points",
      fixed(0.15),
      Source.ASSUMPTION),
  NOISE_SORE("The same with pain at rest", "points", fixed(0.35), Source.ASSUMPTION),
  STIFF_DAYS(
      "Degrees of stretch that vary from day to day for each unit of that variation",
      "deg",
      fixed(20),
      Source.ASSUMPTION),
  DEPTH_VARIES("How much the depth of a day's movement varies", "deg", fixed(1), Source.ASSUMPTION),
  TOES("What relaxed toes add to a stretch on all fours", "deg", fixed(1), Source.ASSUMPTION),
  HANDS("What each grade less of hands adds to it", "deg", fixed(0.7), Source.ASSUMPTION),
  GAP_ERROR("Error of a measured gap, standard deviation", "cm", fixed(0.5), Source.ASSUMPTION),
  TOO_SORE(
      "Morning pain above rest from which nobody exercises that day",
      "points",
      fixed(2),
      Source.ASSUMPTION),
  BY_GONIOMETER(
      "People measured by a clinician with a goniometer; the others measure themselves",
      "share",
      fixed(0.6),
      Source.ASSUMPTION),
  STRAY_PAIN(
      "Chance of one point of pain that has nothing to do with load, each session",
      "share",
      even(0, 0.04),
      Source.ASSUMPTION),
  BAD_DAYS(
      "Days in a year on which daily life irritates the knee", "", even(0, 8), Source.ASSUMPTION),
  BAD_DAY_PAIN("Lingering pain after such a day", "points", even(0.5, 3), Source.ASSUMPTION),
  NO_REST_PAIN("People without pain at rest", "share", fixed(0.65), Source.ASSUMPTION),
  REST_PAIN_TWO(
      "Of those with pain at rest, who has 2 points rather than 1",
      "share",
      fixed(0.35),
      Source.ASSUMPTION),
  MISFIT_EXPONENT(
      "True demand is the model's raised to this power", "", lognormal(1, 0.25), Source.ASSUMPTION),
  MISFIT(
      "Error of the model at each setting, of its logarithm",
      "",
      even(0.02, 0.12),
      Source.ASSUMPTION),
  ADHERENCE(
      "Share of the asked days on which a session is done",
      "share",
      even(0.65, 1.0),
      Source.ASSUMPTION),
  HOLIDAYS("Times away in a year", "", even(0, 3), Source.ASSUMPTION),
  HOLIDAY_LASTS("How long a time away lasts", "days", even(4, 18), Source.ASSUMPTION),
  MORNING_MISSED("Mornings that are not answered", "share", even(0, 0.25), Source.ASSUMPTION),
  DROPS_OUT(
      "Yearly hazard of dropping out; twice that within two weeks of a flare",
      "",
      even(0.1, 0.5),
      Source.ASSUMPTION),
  UNWILLING(
      "Chance that a sore person would not gladly repeat the session",
      "share",
      fixed(0.5),
      Source.ASSUMPTION),
  VISITS("Days between measurements of range", "days", even(14, 28), Source.ASSUMPTION),
  GETS_PIECE(
      "Chance that a missing piece of equipment is got", "share", fixed(0.7), Source.ASSUMPTION),
  PIECE_TAKES("How long that takes", "days", even(10, 18), Source.ASSUMPTION),
  SIGN_OFF_TAKES(
      "How long a clinician takes to accept a proposal", "days", even(1, 4), Source.ASSUMPTION),
  REVIEW_TAKES(
      "How long a clinician takes to review a withheld plan",
      "days",
      even(3, 8),
      Source.ASSUMPTION),
  KNEELS("People who can kneel", "share", fixed(0.85), Source.ASSUMPTION),
  ONE_LEG("People who can stand on one leg with support", "share", fixed(0.96), Source.ASSUMPTION),
  MEASURED_GIRTHS(
      "People whose girths and segments are measured", "share", fixed(0.4), Source.ASSUMPTION),
  MEASURED_ANKLE("People whose wall lunge is measured", "share", fixed(0.7), Source.ASSUMPTION),
  HAS_STAIRS("Homes with a staircase", "share", fixed(0.85), Source.ASSUMPTION),
  RISER(
      "Height of a stair riser",
      "cm",
      even(15, 22),
      "IRC R311.7.5.1 (19.6 at most); Approved Document K 2013 (private 15 to 22)"),
  BOOKS("Books and plates to stand on", "", even(0, 4), Source.ASSUMPTION),
  BOOK("Height of one", "cm", even(2, 6), Source.ASSUMPTION),
  HAS_BLOCK("Homes with a block of 10 cm", "share", fixed(0.3), Source.ASSUMPTION),
  BENCHES(
      "Benches and stools to sit back on, of those who cannot kneel",
      "",
      even(1, 4),
      Source.ASSUMPTION),
  BENCH("Height of one", "cm", even(15, 45), Source.ASSUMPTION),
  ROLLS("Towel rolls", "", even(2, 5), Source.ASSUMPTION),
  ROLL("Thickness of one", "cm", even(2, 6), Source.ASSUMPTION),
  HAS_SUPPORT("Homes with a rail or counter to hold", "share", fixed(0.97), Source.ASSUMPTION),
  HAS_DUMBBELLS("Homes with dumbbells", "share", fixed(0.8), Source.ASSUMPTION),
  MOST_PIECES("Most missing pieces that anyone sets out to get", "", fixed(8), Source.ASSUMPTION),
  HAS_CYCLE("Homes with a stationary cycle", "share", fixed(0.25), Source.ASSUMPTION);

  private static final class Source {
    static final String ASSUMPTION = "assumption";
    static final String ANSUR = "ANSUR II 2012 public data (Gordon 2014, NATICK/TR-15/007)";
    static final String WINTER =
        "Winter 2009, table 4.1; spread: ANSUR II 2012 (Gordon 2014, NATICK/TR-15/007)";
    static final String SOUCIE =
        "Soucie 2011, Haemophilia 17:500-7 (mean, 45 to 69 years); spread: assumption";
    static final String GEOMETRY = "geometry: two rounds of girth meet behind the knee";
  }

  private final String what;
  private final String unit;
  private final Spread spread;
  private final String source;

  Assumption(String what, String unit, Spread spread, String source) {
    this.what = what;
    this.unit = unit;
    this.spread = spread;
    this.source = source;
  }

  /** What it is, in words for a clinician. */
  public String what() {
    return what;
  }

  /** Its value or spread with the unit, in words. */
  public String words() {
    return (spread.words() + " " + unit).trim();
  }

  /** Where it comes from; {@code assumption} where no source was found. */
  public String source() {
    return source;
  }

  double draw(RandomGenerator random) {
    return spread.draw(random);
  }

  /** Whether a chance of this size comes up. */
  boolean comesUp(RandomGenerator random) {
    return random.nextDouble() < spread.first();
  }

  /** The value, where it is the same for everyone. */
  double value() {
    if (spread.kind() != Spread.Kind.FIXED) {
      throw new IllegalStateException(name() + " differs between people");
    }
    return spread.first();
  }

  double mean() {
    return spread.first();
  }

  double deviation() {
    return spread.second();
  }

  /** The value at a share of the way from the least to the greatest. */
  double at(double share) {
    return spread.first() + share * (spread.second() - spread.first());
  }
}
