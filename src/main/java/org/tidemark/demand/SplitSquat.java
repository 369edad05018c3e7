package org.tidemark.demand;

import java.util.Arrays;
import java.util.Map;
import org.tidemark.quantity.Value;

/**
 * One person's split squat, drawn over everything that is not known of it. For each point it holds
 * the way down: at every tenth degree of flexion, at the onset of contact and at the deepest point.
 */
final class SplitSquat {
  private static final int STEP = 10;

  /** Deepest flexion that is reckoned with, degrees. */
  private static final double DEEPEST = 160;

  /** Tilt that no shank goes beyond, degrees. */
  private static final double MOST_TILT = 80;

  /** Flexion up to which a raised heel adds to the tilt, degrees. */
  private static final double HEEL_FADE = 60;

  /**
   * Share of the front foot on a level floor: 0.75 in split squats and lunges (NSCA, Strength Cond
   * J 39(6), 2017), 0.50 to 0.85 in all that was found; 0.84 with the rear foot raised (Helme 2022,
   * JSCR 36:1781-7).
   */
  private static final double[] SHARE = Unknown.FRONT_SHARE.triangular(0.50, 0.75, 0.85);

  /**
   * Fraction of that share that each metre of step takes away beyond geometry: horizontal forces
   * under the feet, and how people hold back. Middle: the raised rear foot read as a lowered front
   * foot, 0.84 against 0.75 over a bench of 0.42 m (assumption), less what geometry gives. Upper
   * end: the lowest share, 0.50, on the highest usual step, 0.36 m. No measurement exists for a
   * raised front foot.
   */
  private static final double[] HEIGHT_EFFECT = Unknown.HEIGHT_EFFECT.triangular(0.05, 0.25, 0.85);

  /** A load counts once in statics; on a board it was measured as 1.9 times that (Zwerver 2007). */
  private static final double[] LOAD_EFFECT = Unknown.LOAD_EFFECT.triangular(1, 1, 1.9);

  /** Pressure ahead of the ankle as a fraction of the foot; a flat foot: 0 to 10 cm of 26.6. */
  private static final double[] FLAT_PRESSURE = Unknown.PRESSURE.triangular(0, 0.19, 0.38);

  /** The same with the heel raised: behind and under the ball of the foot (assumption). */
  private static final double[] RAISED_PRESSURE = Unknown.PRESSURE.triangular(0.20, 0.33, 0.45);

  /** How a person's tilt compares with the usual one (assumption). */
  private static final double[] TILT = Unknown.TILT.triangular(0.75, 1, 1.25);

  /** How much further the shank tilts over a raised heel, degrees (assumption). */
  private static final double[] HEEL_TILT = Unknown.HEEL_TILT.triangular(5, 12, 25);

  /** Contact was measured as 1 to 3 times the published force (Morimoto, Fukunaga). */
  private static final double[] CONTACT = Unknown.CONTACT.evenOnALogScale(1, 3);

  /** How far from the knee calf and thigh meet, metres. */
  private static final double[] MEETING_POINT = Unknown.MEETING_POINT.triangular(0.12, 0.15, 0.18);

  /** Sine of the forward lean of the trunk: 0 to 40 degrees (assumption). */
  private static final double[] LEAN_SINE = sines(Unknown.LEAN.triangular(0, 20, 40));

  /** How much of its length the rear leg reaches over (assumption). */
  private static final double[] REAR_REACH = Unknown.REAR_REACH.triangular(0.90, 0.97, 1);

  /** What a board of 15 degrees or more adds: 0.40 (Zwerver 2007, BJSM 41:264-8; five people). */
  private static final double[] BOARD = Unknown.BOARD.triangular(0.20, 0.40, 0.60);

  /** Slope from which a steeper board adds no more, degrees. */
  private static final double BOARD_FULL = 15;

  /** Sine of the tilt at every tenth degree of flexion, by point. */
  private static final double[][] RAISED_SINES = tiltSines(false);

  private static final double[][] FLAT_SINES = tiltSines(true);

  private final Map<String, Value> items;
  private final double deepest;
  private final double[] mass;
  private final double[] stature;
  private final double[] shank;
  private final double[] thigh;
  private final double[] ankleSine;
  private final double[] onset;

  /**
   * @param body the person
   * @param items the baseline, by code of the item
   * @param deepest flexion at the deepest point, degrees; kept within {@value #STEP} and {@value
   *     #DEEPEST}
   */
  SplitSquat(Body body, Map<String, Value> items, double deepest) {
    this.items = items;
    this.deepest = Math.min(DEEPEST, Math.max(STEP, deepest));
    mass = Unknown.MASS.of(body.mass());
    stature = Unknown.STATURE.of(body.stature());
    shank = Unknown.SHANK.of(body.shank());
    thigh = Unknown.THIGH.of(body.thigh());
    ankleSine = sines(Unknown.ANKLE.of(body.ankleTilt()));
    double[] calf = Unknown.GIRTH.of(body.calfGirth());
    double[] girth = Unknown.GIRTH.of(body.thighGirth());
    onset = new double[Unknown.POINTS];
    for (int i = 0; i < onset.length; i++) {
      onset[i] = Contact.onset(calf[i], girth[i], MEETING_POINT[i]);
    }
  }

  /** Flexion at which calf and thigh meet, at each point, degrees. */
  double[] onset() {
    return onset.clone();
  }

  /**
   * Peaks of the force on the kneecap at two settings.
   *
   * @param first at the first setting, body weights, by point
   * @param second at the second
   * @param extrapolated whether any of them lies beyond the domain of the extensor mechanism
   */
  record Peaks(double[] first, double[] second, boolean extrapolated) {}

  /** The peaks at two settings, with everything else at each point the same. */
  Peaks peaks(Map<DemandInput, Value> first, Map<DemandInput, Value> second) {
    Way one = way(isFlat(first));
    Way other = isFlat(first) == isFlat(second) ? one : way(isFlat(second));
    boolean[] outside = new boolean[1];
    return new Peaks(peak(one, first, outside), peak(other, second, outside), outside[0]);
  }

  /**
   * The way down with the heel in one position. The force at a place is what the front foot carries
   * times the lever there, less the relief.
   *
   * @param flat whether the heel is on the ground
   * @param flexion by place and point, degrees
   * @param lever by place and point, body weights for each body weight carried
   * @param relief what the hanging shank and contact take off, by place and point, body weights
   */
  private record Way(boolean flat, double[][] flexion, double[][] lever, double[][] relief) {}

  private Way way(boolean flat) {
    int tens = (int) (deepest / STEP);
    boolean between = tens * STEP < deepest;
    double[][] flexion = new double[tens + (between ? 2 : 1)][Unknown.POINTS];
    double[][] sines = Arrays.copyOf(flat ? FLAT_SINES : RAISED_SINES, flexion.length);
    for (int place = 0; place < tens; place++) {
      Arrays.fill(flexion[place], (place + 1) * STEP);
    }
    for (int i = 0; i < Unknown.POINTS; i++) {
      flexion[tens][i] = Math.min(deepest, onset[i]);
    }
    sines[tens] = tiltSines(flexion[tens], flat);
    if (between) {
      Arrays.fill(flexion[tens + 1], deepest);
      sines[tens + 1] = tiltSines(flexion[tens + 1], flat);
    }
    double[][] lever = new double[flexion.length][Unknown.POINTS];
    double[][] relief = new double[flexion.length][Unknown.POINTS];
    for (int place = 0; place < flexion.length; place++) {
      for (int i = 0; i < Unknown.POINTS; i++) {
        double bend = flexion[place][i];
        double foot = FrontLeg.FOOT * stature[i];
        double knee = shank[i] * sine(sines[place][i], i, flat);
        double gain = ExtensorMechanism.gain(bend);
        lever[place][i] = gain * (knee - pressure(i, flat));
        relief[place][i] =
            gain * (FrontLeg.ownWeight(knee, foot) + CONTACT[i] * Contact.moment(bend, onset[i]));
      }
    }
    return new Way(flat, flexion, lever, relief);
  }

  private double[] peak(Way way, Map<DemandInput, Value> setting, boolean[] outside) {
    double[] support = support(way.flat(), setting);
    double[] peak = new double[Unknown.POINTS];
    double slope = DemandInput.number(setting, DemandInput.BOARD_ANGLE);
    for (int i = 0; i < Unknown.POINTS; i++) {
      int best = -1;
      for (int place = 0; place < way.lever().length; place++) {
        double force = support[i] * way.lever()[place][i] - way.relief()[place][i];
        if (force > peak[i]) {
          peak[i] = force;
          best = place;
        }
      }
      outside[0] |= best >= 0 && way.flexion()[best][i] > ExtensorMechanism.DOMAIN_END;
      peak[i] *= board(slope, BOARD[i]);
    }
    return peak;
  }

  /**
   * How much a board multiplies the force: it rises evenly to its full effect at 15 degrees.
   *
   * @param slope slope of the board, degrees
   * @param full what the full slope adds, as a fraction
   */
  static double board(double slope, double full) {
    return 1 + full * Math.min(1, slope / BOARD_FULL);
  }

  /** What the front foot carries at each point, body weights. */
  private double[] support(boolean flat, Map<DemandInput, Value> setting) {
    double[] share = share(flat, DemandInput.number(setting, DemandInput.STEP_HEIGHT) / 100);
    double[] assist = Hands.shares(setting, items, mass);
    double held = DemandInput.held(setting);
    double[] support = new double[Unknown.POINTS];
    for (int i = 0; i < Unknown.POINTS; i++) {
      support[i] = FrontLeg.support(share[i], LOAD_EFFECT[i] * held / mass[i], assist[i]);
    }
    return support;
  }

  /**
   * Share of the front foot at each point: on a step it falls from that on the floor by geometry,
   * and by what geometry does not hold.
   *
   * @param height height of the step, metres
   */
  private double[] share(boolean flat, double height) {
    if (height == 0) {
      return SHARE;
    }
    double[] share = new double[Unknown.POINTS];
    for (int i = 0; i < Unknown.POINTS; i++) {
      double tilt = tilt(deepest, i, flat);
      double most = Math.toDegrees(Math.asin(ankleSine[i]));
      FrontLeg.Segments segments =
          new FrontLeg.Segments(shank[i], thigh[i], FrontLeg.FOOT * stature[i]);
      FrontLeg.Stance floor =
          FrontLeg.stance(
              shank[i],
              thigh[i],
              FrontLeg.ANKLE_HEIGHT * stature[i],
              deepest,
              flat ? Math.min(tilt, most) : tilt);
      double upper = FrontLeg.upperBodyAhead(stature[i], LEAN_SINE[i]);
      double pressure = pressure(i, flat);
      double level = FrontLeg.geometricShare(floor, segments, upper, REAR_REACH[i], pressure);
      double raised =
          FrontLeg.geometricShare(floor.onStep(height), segments, upper, REAR_REACH[i], pressure);
      double kept = Math.max(0, 1 - HEIGHT_EFFECT[i] * height);
      share[i] = SHARE[i] * kept * Math.min(1, raised / level);
    }
    return share;
  }

  private double pressure(int point, boolean flat) {
    double foot = FrontLeg.FOOT * stature[point];
    return foot * (flat ? FLAT_PRESSURE[point] : RAISED_PRESSURE[point]);
  }

  /** A heel on the ground lets the shank tilt no further than the ankle does. */
  private double sine(double sine, int point, boolean flat) {
    return flat ? Math.min(sine, ankleSine[point]) : sine;
  }

  /** Whether the heel is on the ground. */
  static boolean isFlat(Map<DemandInput, Value> setting) {
    return !DemandInput.RAISED.equals(setting.get(DemandInput.HEEL_POSITION));
  }

  /** Tilt of the shank where the ankle does not limit it, degrees. */
  private static double tilt(double flexion, int point, boolean flat) {
    double added = flat ? 0 : HEEL_TILT[point] * Math.min(1, flexion / HEEL_FADE);
    return Math.min(MOST_TILT, TILT[point] * FrontLeg.usualTilt(flexion) + added);
  }

  private static double[] tiltSines(double[] flexion, boolean flat) {
    double[] sines = new double[Unknown.POINTS];
    for (int i = 0; i < Unknown.POINTS; i++) {
      sines[i] = Math.sin(Math.toRadians(tilt(flexion[i], i, flat)));
    }
    return sines;
  }

  private static double[][] tiltSines(boolean flat) {
    double[][] sines = new double[(int) (DEEPEST / STEP)][];
    double[] flexion = new double[Unknown.POINTS];
    for (int place = 0; place < sines.length; place++) {
      Arrays.fill(flexion, (place + 1) * STEP);
      sines[place] = tiltSines(flexion, flat);
    }
    return sines;
  }

  private static double[] sines(double[] degrees) {
    return Arrays.stream(degrees)
        .map(angle -> Math.sin(Math.toRadians(Math.max(0, Math.min(MOST_TILT, angle)))))
        .toArray();
  }
}
