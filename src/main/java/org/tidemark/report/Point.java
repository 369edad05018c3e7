package org.tidemark.report;

/**
 * A place in the side view of an exercise, metres.
 *
 * @param x how far ahead
 * @param y how high above the floor
 */
public record Point(double x, double y) {

  Point plus(double ahead, double up) {
    return new Point(x + ahead, y + up);
  }

  /**
   * The place that lies so far away in a direction.
   *
   * @param direction degrees from ahead, upward
   */
  Point toward(double direction, double distance) {
    double angle = Math.toRadians(direction);
    return plus(distance * Math.cos(angle), distance * Math.sin(angle));
  }

  /** The place at a share of the way to another: 0 is here, 1 is there. */
  Point along(Point other, double share) {
    return plus(share * (other.x - x), share * (other.y - y));
  }

  /** Distance to another place, metres. */
  public double to(Point other) {
    return Math.hypot(other.x - x, other.y - y);
  }

  /** Direction in which another place lies, degrees from ahead, upward. */
  public double direction(Point other) {
    return Math.toDegrees(Math.atan2(other.y - y, other.x - x));
  }

  /**
   * The joint between two segments that lead from here to another place.
   *
   * @param first length of the segment that begins here, metres
   * @param second length of the one that ends there, metres
   * @param side 1: the joint lies to the left of the way there, -1: to the right
   * @throws IllegalArgumentException when the segments cannot lead there
   */
  Point joint(Point other, double first, double second, int side) {
    double distance = to(other);
    if (distance > first + second || distance < Math.abs(first - second)) {
      throw new IllegalArgumentException(
          "segments of " + first + " m and " + second + " m cannot span " + distance + " m");
    }
    double cosine =
        (first * first + distance * distance - second * second) / (2 * first * distance);
    double turn = Math.toDegrees(Math.acos(Math.max(-1, Math.min(1, cosine))));
    return toward(direction(other) + side * turn, first);
  }
}
