package org.tidemark.report;

import org.tidemark.demand.Build;

/** The joints of one arm, metres. */
public record Arm(Point shoulder, Point elbow, Point wrist, Point tip) {
  /** A hand that is closed is this much of its length (assumption). */
  private static final double FIST = 0.5;

  /** No arm is drawn stretched further than this, as a share of its length. */
  private static final double STRETCH = 0.99;

  /**
   * An arm that reaches for a place; where it is too short the hand ends on the way there.
   *
   * @param end where the hand ends
   * @param open whether the hand is open
   * @param direction where the hand points, degrees
   */
  static Arm to(Build build, Point shoulder, Point end, boolean open, double direction) {
    double hand = open ? build.hand() : FIST * build.hand();
    Point wanted = end.toward(direction + 180, hand);
    double most = STRETCH * (build.upperArm() + build.forearm());
    Point wrist =
        shoulder.to(wanted) <= most ? wanted : shoulder.toward(shoulder.direction(wanted), most);
    Point elbow = shoulder.joint(wrist, build.upperArm(), build.forearm(), -1);
    return new Arm(shoulder, elbow, wrist, wrist.toward(direction, hand));
  }

  /** An arm that hangs straight down. */
  static Arm hanging(Build build, Point shoulder) {
    double down = build.upperArm() + build.forearm() + FIST * build.hand();
    return to(build, shoulder, shoulder.plus(0, -down), false, -90);
  }
}
