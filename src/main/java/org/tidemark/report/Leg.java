package org.tidemark.report;

import org.tidemark.demand.Build;

/** The joints of one leg and the outline of its foot, metres. */
public record Leg(Point hip, Point knee, Point ankle, Point heel, Point ball, Point toe) {

  /** Flexion of the knee, degrees; 0 when the leg is straight. */
  public double flexion() {
    double turn = Math.abs(knee.direction(hip) - knee.direction(ankle)) % 360;
    return 180 - Math.min(turn, 360 - turn);
  }

  /**
   * A leg whose foot is turned as a whole.
   *
   * @param turn how far the foot is turned upward from level with its toes ahead, degrees
   */
  static Leg of(Build build, Point hip, Point knee, Point ankle, double turn) {
    return new Leg(
        hip,
        knee,
        ankle,
        footPoint(build, ankle, turn, -build.heelBehind()),
        footPoint(build, ankle, turn, build.ballAhead()),
        footPoint(build, ankle, turn, build.foot() - build.heelBehind()));
  }

  /** The same leg with the toes bent so that they point in a direction, degrees. */
  Leg toes(Build build, double direction) {
    double length = build.foot() - build.heelBehind() - build.ballAhead();
    return new Leg(hip, knee, ankle, heel, ball, ball.toward(direction, length));
  }

  /** Where the ankle is when the ball of a foot that is turned stands at a place. */
  static Point ankleOver(Build build, Point ball, double turn) {
    Point at = footPoint(build, new Point(0, 0), turn, build.ballAhead());
    return ball.plus(-at.x(), -at.y());
  }

  /** A place on the sole, so far ahead of the ankle along the foot. */
  private static Point footPoint(Build build, Point ankle, double turn, double ahead) {
    return ankle.toward(turn, ahead).toward(turn - 90, build.ankleHeight());
  }
}
