package org.tidemark.demand;

import java.util.Map;
import org.tidemark.quantity.Value;

/**
 * The one body that stands for a person where a picture needs lengths: each measure as it was
 * taken, or the middle of what people measure; each habit as the demand models take it to be most
 * often. Lengths in metres. The arm's are fractions of stature by Winter 2009 (figure 4.1; from
 * memory).
 *
 * @param stature height of the person
 * @param shank from ankle to knee
 * @param thigh from knee to hip
 * @param calfGirth girth of the calf at its thickest
 * @param lowerThighGirth girth of the thigh just above the knee, where the calf meets it
 * @param ankleTilt how far the shank tilts forward over a heel on the ground, degrees
 */
public record Build(
    double stature,
    double shank,
    double thigh,
    double calfGirth,
    double lowerThighGirth,
    double ankleTilt) {
  private static final double UPPER_ARM = 0.186;
  private static final double FOREARM = 0.146;
  private static final double HAND = 0.108;
  private static final double HEAD_AND_NECK = 0.182;

  /**
   * The build that a baseline describes.
   *
   * @param items the baseline, by code of the item: what is not there is what people usually have
   */
  public static Build of(Map<String, Value> items) {
    Body body = Body.of(items);
    return new Build(
        body.stature().middle(),
        body.shank().middle(),
        body.thigh().middle(),
        body.calfGirth().middle(),
        body.lowerThighGirth().middle(),
        body.ankleTilt().middle());
  }

  /** From heel to longest toe. */
  public double foot() {
    return FrontLeg.FOOT * stature;
  }

  /** How far the heel is behind the ankle: the middle of the foot lies ahead by as much. */
  public double heelBehind() {
    return (0.5 - FrontLeg.MID_FOOT) * foot();
  }

  /** How far the ball of the foot is ahead of the ankle. */
  public double ballAhead() {
    return FrontLeg.BALL * foot();
  }

  /** Height of the ankle above the sole. */
  public double ankleHeight() {
    return FrontLeg.ANKLE_HEIGHT * stature;
  }

  /** From hip to shoulder. */
  public double trunk() {
    return FrontLeg.TRUNK * stature;
  }

  /** From shoulder to elbow. */
  public double upperArm() {
    return UPPER_ARM * stature;
  }

  /** From elbow to wrist. */
  public double forearm() {
    return FOREARM * stature;
  }

  /** From wrist to fingertip. */
  public double hand() {
    return HAND * stature;
  }

  /** From shoulder to the top of the head. */
  public double headAndNeck() {
    return HEAD_AND_NECK * stature;
  }

  /** Radius of the calf at its thickest. */
  public double calfRadius() {
    return calfGirth / (2 * Math.PI);
  }

  /** Radius of the thigh just above the knee. */
  public double thighRadius() {
    return lowerThighGirth / (2 * Math.PI);
  }

  /** How far from the knee calf and thigh meet. */
  public double meetingDistance() {
    return ContactAngle.USUAL_DISTANCE;
  }

  /**
   * Flexion at which calf and thigh meet, degrees, with something between them.
   *
   * @param between how thick it is, metres; 0: they touch
   */
  public double contactFlexion(double between) {
    return Contact.onset(calfGirth, lowerThighGirth, meetingDistance(), between);
  }

  /** How much further the shank tilts over a raised heel, degrees. */
  public double heelTilt() {
    return SplitSquat.USUAL_HEEL_TILT;
  }

  /** Tilt of the shank over a heel on the ground at a flexion of the knee, degrees. */
  public double tilt(double flexion) {
    return Math.min(ankleTilt, SplitSquat.tilt(flexion, 1, 0));
  }

  /**
   * Forward lean of the trunk that brings the mass of a person on two level legs over the middle of
   * the feet, degrees, within 0 and 60.
   *
   * @param knee how far the knees are ahead of the ankles, metres
   * @param hip how far the hip is ahead of them; below 0 behind
   * @param middle how far the middle of the feet is ahead of them
   */
  public double balancedLean(double knee, double hip, double middle) {
    double legs =
        2
            * (FrontLeg.THIGH_MASS * (hip + FrontLeg.THIGH_CENTRE * (knee - hip) - middle)
                + FrontLeg.SHANK_MASS * (knee * (1 - FrontLeg.SHANK_CENTRE) - middle));
    double upper = middle - hip - legs / FrontLeg.UPPER_MASS;
    double sine = upper / FrontLeg.upperBodyAhead(stature, 1);
    return Math.min(60, Math.toDegrees(Math.asin(Math.max(0, Math.min(1, sine)))));
  }

  /**
   * Where a split squat stands, metres from the front ankle and from the floor.
   *
   * @param knee how far the front knee is ahead
   * @param hip how far the hip is ahead; below 0 behind
   * @param hipHeight height of the hip above the floor
   * @param rearBall how far the ball of the rear foot, on the floor, is ahead; below 0 behind
   * @param lean forward lean of the trunk, degrees
   */
  public record Squat(double knee, double hip, double hipHeight, double rearBall, double lean) {}

  /**
   * The split squat at a flexion of the front knee, as the front-leg model takes it.
   *
   * @param flexion flexion of the front knee, degrees
   * @param heelRaised whether the front heel is off the ground
   * @param height what the front foot is raised by, metres
   */
  public Squat squat(double flexion, boolean heelRaised, double height) {
    double tilt = heelRaised ? SplitSquat.tilt(flexion, 1, heelTilt()) : tilt(flexion);
    FrontLeg.Stance at = FrontLeg.stance(shank, thigh, ankleHeight(), flexion, tilt).onStep(height);
    FrontLeg.Segments segments = new FrontLeg.Segments(shank, thigh, foot());
    double back = FrontLeg.reachedBack(at.hipHeight(), segments, SplitSquat.USUAL_REACH);
    return new Squat(at.knee(), at.hip(), at.hipHeight(), at.hip() - back, SplitSquat.USUAL_LEAN);
  }
}
