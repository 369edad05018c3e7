package org.tidemark.cohort;

import java.math.BigDecimal;
import java.math.RoundingMode;
import java.util.ArrayList;
import java.util.List;
import java.util.Map;
import java.util.SplittableRandom;
import java.util.TreeMap;
import org.tidemark.programme.Equipment;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Unit;
import org.tidemark.quantity.Value;
import org.tidemark.quantity.YesNo;
import org.tidemark.trend.MeasuringMethod;

/** Invents people. The same seed and number give the same person. */
final class People {
  /** Thigh just above the knee as a fraction of the thigh at its thickest (ANSUR II 2012). */
  private static final double LOWER_OF_THIGH = 0.653;

  private static final double LEAST_GAIN = 3;
  private static final double DAYS_PER_WEEK = 7;

  /** Sets of dumbbells that people have at home, kg each (assumption). */
  private static final List<List<Integer>> DUMBBELLS =
      List.of(
          List.of(1, 2),
          List.of(2, 4),
          List.of(1, 2, 3, 4, 5),
          List.of(2, 4, 6, 8, 10),
          List.of(5));

  private final SplittableRandom random;
  private final Scenario scenario;

  private People(SplittableRandom random, Scenario scenario) {
    this.random = random;
    this.scenario = scenario;
  }

  static Person invent(long seed, int number, Scenario scenario) {
    SplittableRandom random =
        new SplittableRandom(seed + (number + 1) * 0x9E3779B97F4A7C15L).split();
    long own = random.nextLong();
    return new People(random, scenario).invent(own, number);
  }

  private Person invent(long own, int number) {
    boolean woman = random.nextBoolean();
    double stature = draw(woman ? Assumption.STATURE_WOMEN : Assumption.STATURE_MEN);
    double build = Math.max(18, draw(Assumption.BUILD));
    double stout = (build - Assumption.BUILD.mean()) / Assumption.BUILD.deviation();
    double mass = build * stature * stature / 1e4;
    double calf =
        girth(
            woman ? Assumption.CALF_WOMEN : Assumption.CALF_MEN,
            Assumption.CALF_WITH_BUILD.value(),
            stout);
    double thigh =
        girth(
            woman ? Assumption.THIGH_WOMEN : Assumption.THIGH_MEN,
            Assumption.THIGH_WITH_BUILD.value(),
            stout);
    double lower = LOWER_OF_THIGH * thigh + draw(Assumption.LOWER_THIGH_OFF);
    double contact = contactAngle(calf, lower) + draw(Assumption.CONTACT_OFF);
    double other = draw(woman ? Assumption.OTHER_SIDE_WOMEN : Assumption.OTHER_SIDE_MEN);
    double knee = Math.max(other, contact);
    double flexion = contact - Math.max(-3, draw(Assumption.STIFF_BY));
    double ceiling = Math.max(flexion + LEAST_GAIN, knee - draw(Assumption.CEILING_BELOW));
    Traits traits = traits(contact, flexion, ceiling);

    Map<String, Value> real = new TreeMap<>();
    real.put("body-height", amount(stature, 0, Unit.CENTIMETRE));
    real.put("body-weight", amount(mass, 0, Unit.KILOGRAM));
    Map<String, Value> known = new TreeMap<>(real);
    real.put("calf-girth", amount(calf, 1, Unit.CENTIMETRE));
    real.put("thigh-girth", amount(lower / LOWER_OF_THIGH, 1, Unit.CENTIMETRE));
    real.put(
        "shank-length", amount(stature * draw(Assumption.SHANK_OF_STATURE), 1, Unit.CENTIMETRE));
    real.put(
        "thigh-length", amount(stature * draw(Assumption.THIGH_OF_STATURE), 1, Unit.CENTIMETRE));
    if (Assumption.MEASURED_GIRTHS.comesUp(random)) {
      known.putAll(real);
    }
    Amount lunge = amount(Math.max(1, draw(Assumption.WALL_LUNGE)), 1, Unit.CENTIMETRE);
    real.put("wall-lunge-distance", lunge);
    if (Assumption.MEASURED_ANKLE.comesUp(random)) {
      known.put("wall-lunge-distance", lunge);
    }
    carried(real, mass);

    Habits habits = habits();
    double gap = Knee.gap(traits, flexion) + Assumption.GAP_ERROR.value() * random.nextGaussian();
    Amount seenGap = amount(Math.max(0, Math.round(2 * gap) / 2.0), 1, Unit.CENTIMETRE);
    double error = MeasuringMethod.GONIOMETER.standardErrorDegrees();
    known.put(
        "comfortable-flexion", amount(flexion + error * random.nextGaussian(), 0, Unit.DEGREE));
    known.put("other-side-flexion", amount(knee + error * random.nextGaussian(), 0, Unit.DEGREE));
    known.put("gap", seenGap);
    known.put("pain-at-rest", Amount.of(traits.restPain(), Unit.SCORE));
    known.put("can-kneel", new YesNo(Assumption.KNEELS.comesUp(random)));
    known.put("can-stand-on-one-leg", new YesNo(Assumption.ONE_LEG.comesUp(random)));
    return new Person(
        number,
        own,
        Map.copyOf(known),
        Map.copyOf(real),
        home(),
        scenario.painless() ? traits.painless() : traits,
        habits);
  }

  /** Flexion at which two round limbs of these girths meet behind the knee, deg. */
  static double contactAngle(double calf, double lowerThigh) {
    double radii = (calf + lowerThigh) / (2 * Math.PI);
    return 180 - 2 * Math.toDegrees(Math.asin(radii / (2 * Assumption.FOLD_ARM.value())));
  }

  private double girth(Assumption spread, double correlation, double stout) {
    double own = Math.sqrt(1 - correlation * correlation) * random.nextGaussian();
    return spread.mean() + spread.deviation() * (correlation * stout + own);
  }

  /** What the hands really carry, kg: one habit for all grades, within the ranges of the model. */
  private void carried(Map<String, Value> real, double mass) {
    double habit = random.nextDouble();
    real.put("carried-by-two-hands", amount(mass * (0.15 + 0.30 * habit), 1, Unit.KILOGRAM));
    real.put("carried-by-one-hand", amount(mass * (0.05 + 0.20 * habit), 1, Unit.KILOGRAM));
    real.put("carried-by-fingertips", amount(mass * 0.10 * habit, 1, Unit.KILOGRAM));
  }

  private Traits traits(double contact, double flexion, double ceiling) {
    double capacity = draw(Assumption.CAPACITY);
    int rest =
        Assumption.NO_REST_PAIN.comesUp(random) || !scenario.restPain()
            ? 0
            : Assumption.REST_PAIN_TWO.comesUp(random) ? 2 : 1;
    double exponent = draw(Assumption.MISFIT_EXPONENT);
    return new Traits(
        contact,
        flexion,
        ceiling,
        1 - Math.pow(0.5, 1 / (DAYS_PER_WEEK * draw(Assumption.RANGE_HALVED))),
        draw(Assumption.RANGE_WANDERS) / Math.sqrt(DAYS_PER_WEEK),
        draw(Assumption.STALLS),
        draw(Assumption.STRETCH_TOLERATED),
        draw(Assumption.PUSHED_AT_MOST),
        capacity,
        Math.max(1.1 * capacity, draw(Assumption.CAPACITY_CEILING)),
        scenario.adaptation() * draw(Assumption.CAPACITY_GROWS),
        draw(Assumption.DAY_TO_DAY),
        rest,
        scenario.irritability() * draw(Assumption.IRRITABILITY),
        draw(Assumption.DELAY),
        draw(Assumption.SETTLES),
        draw(Assumption.SWELLS),
        draw(Assumption.STRAY_PAIN),
        draw(Assumption.BAD_DAYS),
        Math.pow(exponent, scenario.misfit()),
        scenario.misfit() * draw(Assumption.MISFIT));
  }

  private Habits habits() {
    return new Habits(
        Math.min(1, scenario.adherence() * draw(Assumption.ADHERENCE)),
        draw(Assumption.HOLIDAYS),
        scenario.painless() ? 0 : draw(Assumption.MORNING_MISSED),
        draw(Assumption.DROPS_OUT),
        (int) Math.round(draw(Assumption.VISITS)),
        Assumption.BY_GONIOMETER.comesUp(random)
            ? MeasuringMethod.GONIOMETER
            : MeasuringMethod.SELF_MEASURED);
  }

  private Equipment home() {
    Map<String, List<Value>> items = new TreeMap<>();
    items.put("towel-roll", pieces(Assumption.ROLLS, Assumption.ROLL));
    if (Assumption.HAS_STAIRS.comesUp(random)) {
      double riser = Math.round(2 * draw(Assumption.RISER)) / 2.0;
      items.put("stair-riser", List.of(amount(riser, 1, Unit.CENTIMETRE)));
      items.put("stair-count", List.of(Amount.of(13, Unit.COUNT)));
    }
    items.put("book", pieces(Assumption.BOOKS, Assumption.BOOK));
    if (Assumption.HAS_BLOCK.comesUp(random)) {
      items.put("block", List.of(Amount.of(10, Unit.CENTIMETRE)));
    }
    items.put("bench", pieces(Assumption.BENCHES, Assumption.BENCH));
    items.put("hand-support", List.of(new YesNo(Assumption.HAS_SUPPORT.comesUp(random))));
    if (Assumption.HAS_DUMBBELLS.comesUp(random)) {
      List<Integer> pairs = DUMBBELLS.get(random.nextInt(DUMBBELLS.size()));
      items.put(
          "dumbbell-pair", pairs.stream().map(kg -> (Value) Amount.of(kg, Unit.KILOGRAM)).toList());
    }
    items.put("stationary-cycle", List.of(new YesNo(Assumption.HAS_CYCLE.comesUp(random))));
    return new Equipment(items);
  }

  private List<Value> pieces(Assumption number, Assumption size) {
    List<Value> pieces = new ArrayList<>();
    int count = (int) draw(number);
    for (int i = 0; i < count; i++) {
      pieces.add(amount(Math.round(2 * draw(size)) / 2.0, 1, Unit.CENTIMETRE));
    }
    return pieces;
  }

  private double draw(Assumption assumption) {
    return assumption.draw(random);
  }

  static Amount amount(double value, int decimals, Unit unit) {
    return new Amount(BigDecimal.valueOf(value).setScale(decimals, RoundingMode.HALF_UP), unit);
  }
}
