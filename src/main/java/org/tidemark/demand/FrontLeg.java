package org.tidemark.demand;

/**
 * Statics of the front leg of a split squat, in the plane that the knee bends in, standing still:
 * forward is ahead, forces are shares of body weight, moments are body weights times metres.
 * Fractions of stature and of body mass are those of Winter 2009 (Biomechanics and Motor Control of
 * Human Movement, 4th edition, table 4.1).
 */
final class FrontLeg {
  /** Height of the ankle, length of shank, thigh, foot and trunk, as fractions of stature. */
  static final double ANKLE_HEIGHT = 0.039;

  static final double SHANK = 0.246;
  static final double THIGH = 0.245;
  static final double FOOT = 0.152;
  static final double TRUNK = 0.288;

  /** Mass of a foot, a shank, a thigh, and of head, arms and trunk, as fractions of body mass. */
  static final double FOOT_MASS = 0.0145;

  static final double SHANK_MASS = 0.0465;
  static final double THIGH_MASS = 0.100;
  static final double UPPER_MASS = 0.678;

  /** Where the mass of a segment is centred, as a fraction of its length from its upper end. */
  static final double THIGH_CENTRE = 0.433;

  static final double SHANK_CENTRE = 0.433;

  /** The same for head, arms and trunk, from the hip toward the shoulder. */
  static final double UPPER_CENTRE = 0.626;

  /** How far ahead of the ankle the middle of the foot is, as a fraction of its length. */
  static final double MID_FOOT = 0.25;

  /** How far ahead of the ankle the ball of the foot is, as a fraction of its length. */
  static final double BALL = 0.5;

  /**
   * Tilt of the shank at some flexions, degrees each: how people lower themselves, interpolated
   * between.
   */
  private static final double[][] TILTS = {
    {0, 0}, {30, 10}, {60, 20}, {90, 25}, {140, 34}, {150, 35}, {165, 35}
  };

  private FrontLeg() {}

  /** Usual tilt of the shank at a flexion of the knee, degrees; a heel on the ground. */
  static double usualTilt(double flexion) {
    for (int i = 1; i < TILTS.length; i++) {
      if (flexion <= TILTS[i][0]) {
        double along = (flexion - TILTS[i - 1][0]) / (TILTS[i][0] - TILTS[i - 1][0]);
        return TILTS[i - 1][1] + along * (TILTS[i][1] - TILTS[i - 1][1]);
      }
    }
    return TILTS[TILTS.length - 1][1];
  }

  /**
   * What the front foot carries, in body weights, 0 or more.
   *
   * @param share share of the front foot in what both feet carry, 0 to 1
   * @param load mass held in the hands, as a fraction of body mass
   * @param assist what the hands carry on a support, in body weights
   */
  static double support(double share, double load, double assist) {
    return Math.max(0, share * (1 + load - assist));
  }

  /**
   * Moment that bends the knee, body weights times metres; below 0 when it straightens it.
   *
   * @param support what the front foot carries, body weights
   * @param knee how far the knee is ahead of the ankle, metres
   * @param pressure how far the pressure under the foot is ahead of the ankle, metres
   * @param foot length of the foot, metres
   */
  static double bendingMoment(double support, double knee, double pressure, double foot) {
    return support * (knee - pressure) - ownWeight(knee, foot);
  }

  /** The part of shank and foot in the bending moment, which eases it: they hang on the knee. */
  static double ownWeight(double knee, double foot) {
    double shank = knee * (1 - SHANK_CENTRE);
    return SHANK_MASS * (knee - shank) + FOOT_MASS * (knee - MID_FOOT * foot);
  }

  /**
   * Force on the back of the kneecap, body weights, 0 or more.
   *
   * @param flexion flexion of the knee, degrees
   * @param bending moment that bends the knee, body weights times metres
   * @param contact moment that contact takes over, body weights times metres
   */
  static double kneecapForce(double flexion, double bending, double contact) {
    return ExtensorMechanism.gain(flexion) * Math.max(0, bending - contact);
  }

  /**
   * Where a leg stands at one moment, metres from the ankle of the front foot and from the floor.
   *
   * @param knee how far the knee is ahead
   * @param hip how far the hip is ahead; below 0 behind
   * @param hipHeight height of the hip above the floor
   */
  record Stance(double knee, double hip, double hipHeight) {

    /** The same posture with the foot on a step. */
    Stance onStep(double height) {
      return new Stance(knee, hip, hipHeight + height);
    }
  }

  /**
   * The stance at a flexion, with the foot on the floor.
   *
   * @param shank length of the shank, metres
   * @param thigh length of the thigh, metres
   * @param ankle height of the ankle above the floor, metres
   * @param flexion flexion of the knee, degrees
   * @param tilt forward tilt of the shank, degrees
   */
  static Stance stance(double shank, double thigh, double ankle, double flexion, double tilt) {
    double shankAngle = Math.toRadians(tilt);
    double thighAngle = Math.toRadians(flexion - tilt);
    double knee = shank * Math.sin(shankAngle);
    return new Stance(
        knee,
        knee - thigh * Math.sin(thighAngle),
        ankle + shank * Math.cos(shankAngle) + thigh * Math.cos(thighAngle));
  }

  /**
   * Share of the front foot in what both feet carry, 0 to 1, from where the body's mass is centred
   * between the feet. The rear leg is straight, its ball on the floor as far back as it reaches; a
   * higher step lifts the hip, so the rear foot comes nearer, and the same lean toward it takes
   * more weight off the front foot.
   *
   * @param at where the front leg stands
   * @param segments lengths of the segments
   * @param upperBody how far head, arms and trunk are centred ahead of the hip, metres
   * @param reach how much of its length the rear leg reaches over, 0 to 1
   * @param pressure how far the pressure under the front foot is ahead of its ankle, metres
   */
  static double geometricShare(
      Stance at, Segments segments, double upperBody, double reach, double pressure) {
    double leg = segments.toBall();
    double back = reachedBack(at.hipHeight(), segments, reach);
    double ball = at.hip() - back;
    double rearKnee = at.hip() - back * segments.thigh() / leg;
    double rearAnkle = at.hip() - back * (segments.shank() + segments.thigh()) / leg;
    double centre =
        UPPER_MASS * (at.hip() + upperBody)
            + THIGH_MASS * (at.hip() + THIGH_CENTRE * (at.knee() - at.hip()))
            + SHANK_MASS * at.knee() * (1 - SHANK_CENTRE)
            + FOOT_MASS * MID_FOOT * segments.foot()
            + THIGH_MASS * (at.hip() + THIGH_CENTRE * (rearKnee - at.hip()))
            + SHANK_MASS * (rearKnee + SHANK_CENTRE * (rearAnkle - rearKnee))
            + FOOT_MASS * (rearAnkle + ball) / 2;
    return Math.min(1, Math.max(0, (centre - ball) / (pressure - ball)));
  }

  /**
   * How far behind the hip the ball of the rear foot stands on the floor, metres.
   *
   * @param hipHeight height of the hip above the floor, metres
   * @param segments lengths of the segments
   * @param reach how much of its length the rear leg reaches over, 0 to 1
   */
  static double reachedBack(double hipHeight, Segments segments, double reach) {
    double rear = reach * segments.toBall();
    return Math.sqrt(Math.max(0, rear * rear - hipHeight * hipHeight));
  }

  /**
   * How far head, arms and trunk are centred ahead of the hip, metres.
   *
   * @param stature height of the person, metres
   * @param leanSine sine of the forward lean of the trunk
   */
  static double upperBodyAhead(double stature, double leanSine) {
    return UPPER_CENTRE * TRUNK * stature * leanSine;
  }

  /**
   * Lengths of the segments of a leg, metres.
   *
   * @param shank from ankle to knee
   * @param thigh from knee to hip
   * @param foot from heel to longest toe
   */
  record Segments(double shank, double thigh, double foot) {

    /** The usual ones for a stature, metres. */
    static Segments of(double stature) {
      return new Segments(SHANK * stature, THIGH * stature, FOOT * stature);
    }

    /** From the hip to the ball of the foot, stretched out, metres. */
    double toBall() {
      return shank + thigh + BALL * foot;
    }
  }
}
