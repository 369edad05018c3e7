package org.tidemark.demand;

import java.util.Arrays;
import java.util.Map;
import org.tidemark.quantity.Value;

/**
 * One person's split squat, drawn over everything that is not known of it.
 *
 * <p>Up to the onset of contact the force only rises: the lever arm shrinks, the knee moves
 * forward. Beyond it contact takes over more than the tilt adds, within {@value Contact#FADE}
 * degrees. So the peak over the way down is sought at the onset and a few degrees further on, no
 * deeper than the movement goes.
 */
final class SplitSquat {
  /** Where the peak is sought, degrees beyond the onset of contact. */
  private static final double[] BEYOND_ONSET = {0, 3, 6, 9};

  /** A movement ends no sooner than this, degrees. */
  private static final double SHALLOWEST = 10;

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

  /** How much further the shank usually tilts over a raised heel, degrees (assumption). */
  static final double USUAL_HEEL_TILT = 12;

  private static final double[] HEEL_TILT = Unknown.HEEL_TILT.triangular(5, USUAL_HEEL_TILT, 25);

  /** Contact was measured as 1 to 3 times the published force (Morimoto, Fukunaga). */
  private static final double[] CONTACT = Unknown.CONTACT.evenOnALogScale(1, 3);

  /** How far from the knee calf and thigh meet, metres. */
  private static final double[] MEETING_POINT =
      Unknown.MEETING_POINT.triangular(0.12, ContactAngle.USUAL_DISTANCE, 0.18);

  /** Usual forward lean of the trunk, degrees (assumption). */
  static final double USUAL_LEAN = 20;

  /** Sine of the forward lean of the trunk: 0 to 40 degrees (assumption). */
  private static final double[] LEAN_SINE = sines(Unknown.LEAN.triangular(0, USUAL_LEAN, 40));

  /** How much of its length the rear leg usually reaches over (assumption). */
  static final double USUAL_REACH = 0.97;

  private static final double[] REAR_REACH = Unknown.REAR_REACH.triangular(0.90, USUAL_REACH, 1);

  /** What a board of 15 degrees or more adds: 0.40 (Zwerver 2007, BJSM 41:264-8; five people). */
  private static final double[] BOARD = Unknown.BOARD.triangular(0.20, 0.40, 0.60);

  /** Slope from which a steeper board adds no more, degrees. */
  private static final double BOARD_FULL = 15;

  private final double deepest;
  private final double[] mass;
  private final double[] stature;
  private final double[] shank;
  private final double[] thigh;
  private final double[] ankle;
  private final double[] ankleSine;
  private final double[] onset;
  private Way flat;
  private Way raised;

  /**
   * @param body the person
   * @param deepest flexion at the deepest point, degrees; kept within {@value #SHALLOWEST} and
   *     {@value #DEEPEST}
   */
  SplitSquat(Body body, double deepest) {
    this.deepest = Math.min(DEEPEST, Math.max(SHALLOWEST, deepest));
    mass = Unknown.MASS.of(body.mass());
    stature = Unknown.STATURE.of(body.stature());
    shank = Unknown.SHANK.of(body.shank());
    thigh = Unknown.THIGH.of(body.thigh());
    ankle = Unknown.ANKLE.of(body.ankleTilt());
    ankleSine = sines(ankle);
    double[] calf = Unknown.GIRTH.of(body.calfGirth());
    double[] lower = Unknown.GIRTH.of(body.lowerThighGirth());
    onset = new double[Unknown.POINTS];
    for (int i = 0; i < onset.length; i++) {
      onset[i] = Contact.onset(calf[i], lower[i], MEETING_POINT[i]);
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
   * @param extrapolated whether they can lie beyond the domain of the extensor mechanism
   */
  record Peaks(double[] first, double[] second, boolean extrapolated) {}

  /**
   * The peaks at two settings, with everything else at each point the same.
   *
   * @param items the baseline, by code of the item, for what the hands were measured to carry
   */
  Peaks peaks(
      Map<DemandInput, Value> first, Map<DemandInput, Value> second, Map<String, Value> items) {
    return new Peaks(
        peak(way(isFlat(first)), first, items),
        peak(way(isFlat(second)), second, items),
        deepest > ExtensorMechanism.DOMAIN_END);
  }

  /**
   * The way down with the heel in one position.
   *
   * @param flat whether the heel is on the ground
   * @param pressure how far the pressure is ahead of the ankle, by point, metres
   * @param flexion by place and point, degrees
   * @param knee how far the knee is ahead of the ankle, by place and point, metres
   * @param contact moment that contact takes over, by place and point, body weights times metres
   * @param bottom where the leg stands at the deepest point, foot on the floor, by point
   * @param level share of the front foot that geometry gives there, by point
   */
  private record Way(
      boolean flat,
      double[] pressure,
      double[][] flexion,
      double[][] knee,
      double[][] contact,
      FrontLeg.Stance[] bottom,
      double[] level) {}

  /** Worked out once: it is most of the work, and the same for every setting. */
  private synchronized Way way(boolean onTheGround) {
    if (onTheGround) {
      flat = flat == null ? newWay(true) : flat;
      return flat;
    }
    raised = raised == null ? newWay(false) : raised;
    return raised;
  }

  private Way newWay(boolean flat) {
    int places = BEYOND_ONSET.length;
    double[][] flexion = new double[places][Unknown.POINTS];
    double[][] knee = new double[places][Unknown.POINTS];
    double[][] contact = new double[places][Unknown.POINTS];
    for (int place = 0; place < places; place++) {
      for (int i = 0; i < Unknown.POINTS; i++) {
        double bend = Math.min(deepest, onset[i] + BEYOND_ONSET[place]);
        double sine = Math.sin(Math.toRadians(tilt(bend, i, flat)));
        flexion[place][i] = bend;
        knee[place][i] = shank[i] * (flat ? Math.min(sine, ankleSine[i]) : sine);
        contact[place][i] = CONTACT[i] * Contact.moment(bend, onset[i]);
      }
    }
    double[] pressure = pressure(flat);
    FrontLeg.Stance[] bottom = bottom(flat);
    return new Way(flat, pressure, flexion, knee, contact, bottom, onStep(bottom, pressure, 0));
  }

  private double[] peak(Way way, Map<DemandInput, Value> setting, Map<String, Value> items) {
    double[] support = support(way, setting, items);
    double[] peak = new double[Unknown.POINTS];
    for (int place = 0; place < way.knee().length; place++) {
      for (int i = 0; i < Unknown.POINTS; i++) {
        double bending =
            FrontLeg.bendingMoment(
                support[i], way.knee()[place][i], way.pressure()[i], FrontLeg.FOOT * stature[i]);
        double force =
            FrontLeg.kneecapForce(way.flexion()[place][i], bending, way.contact()[place][i]);
        peak[i] = Math.max(peak[i], force);
      }
    }
    double slope = DemandInput.number(setting, DemandInput.BOARD_ANGLE);
    for (int i = 0; i < Unknown.POINTS; i++) {
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
  private double[] support(Way way, Map<DemandInput, Value> setting, Map<String, Value> items) {
    double[] share = share(way, DemandInput.number(setting, DemandInput.STEP_HEIGHT) / 100);
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
  private double[] share(Way way, double height) {
    if (height == 0) {
      return SHARE;
    }
    double[] share = onStep(way.bottom(), way.pressure(), height);
    for (int i = 0; i < Unknown.POINTS; i++) {
      double kept = Math.max(0, 1 - HEIGHT_EFFECT[i] * height);
      share[i] = SHARE[i] * kept * Math.min(1, share[i] / way.level()[i]);
    }
    return share;
  }

  /** Share of the front foot that geometry gives on a step of some height, metres, by point. */
  private double[] onStep(FrontLeg.Stance[] bottom, double[] pressure, double height) {
    double[] share = new double[Unknown.POINTS];
    for (int i = 0; i < Unknown.POINTS; i++) {
      share[i] =
          FrontLeg.geometricShare(
              bottom[i].onStep(height),
              new FrontLeg.Segments(shank[i], thigh[i], FrontLeg.FOOT * stature[i]),
              FrontLeg.upperBodyAhead(stature[i], LEAN_SINE[i]),
              REAR_REACH[i],
              pressure[i]);
    }
    return share;
  }

  private FrontLeg.Stance[] bottom(boolean flat) {
    FrontLeg.Stance[] bottom = new FrontLeg.Stance[Unknown.POINTS];
    for (int i = 0; i < Unknown.POINTS; i++) {
      double free = tilt(deepest, i, flat);
      double ankleHeight = FrontLeg.ANKLE_HEIGHT * stature[i];
      double tilt = flat ? Math.min(free, ankle[i]) : free;
      bottom[i] = FrontLeg.stance(shank[i], thigh[i], ankleHeight, deepest, tilt);
    }
    return bottom;
  }

  private double[] pressure(boolean flat) {
    double[] pressure = new double[Unknown.POINTS];
    for (int i = 0; i < Unknown.POINTS; i++) {
      double foot = FrontLeg.FOOT * stature[i];
      pressure[i] = foot * (flat ? FLAT_PRESSURE[i] : RAISED_PRESSURE[i]);
    }
    return pressure;
  }

  /** Whether the heel is on the ground. */
  static boolean isFlat(Map<DemandInput, Value> setting) {
    return !DemandInput.RAISED.equals(setting.get(DemandInput.HEEL_POSITION));
  }

  /** Tilt of the shank where the ankle does not limit it, degrees. */
  private static double tilt(double flexion, int point, boolean flat) {
    return tilt(flexion, TILT[point], flat ? 0 : HEEL_TILT[point]);
  }

  /**
   * Tilt of the shank where the ankle does not limit it, degrees.
   *
   * @param flexion flexion of the knee, degrees
   * @param habit how a person's tilt compares with the usual one
   * @param heel how much further it tilts over the heel, degrees; 0 with the heel on the ground
   */
  static double tilt(double flexion, double habit, double heel) {
    double added = heel * Math.min(1, flexion / HEEL_FADE);
    return Math.min(MOST_TILT, habit * FrontLeg.usualTilt(flexion) + added);
  }

  private static double[] sines(double[] degrees) {
    return Arrays.stream(degrees)
        .map(angle -> Math.sin(Math.toRadians(Math.max(0, Math.min(MOST_TILT, angle)))))
        .toArray();
  }
}
