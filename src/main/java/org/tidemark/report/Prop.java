package org.tidemark.report;

import java.util.List;

/**
 * A thing that is used in an exercise.
 *
 * @param kind what it is
 * @param outline its corners, metres; for what is round, its middle alone
 * @param radius of what is round, metres; 0 for the rest
 */
public record Prop(Kind kind, List<Point> outline, double radius) {

  /** What a thing is. */
  public enum Kind {
    STEP,
    BENCH,
    SEAT,
    PAD,
    BOARD,
    WALL,
    RAIL,
    POST,
    WHEEL,
    CRANK,
    TOWEL,
    DUMBBELL
  }

  public Prop {
    outline = List.copyOf(outline);
  }

  static Prop box(Kind kind, double left, double right, double bottom, double top) {
    return of(
        kind,
        new Point(left, bottom),
        new Point(left, top),
        new Point(right, top),
        new Point(right, bottom));
  }

  static Prop of(Kind kind, Point... outline) {
    return new Prop(kind, List.of(outline), 0);
  }

  static Prop round(Kind kind, Point middle, double radius) {
    return new Prop(kind, List.of(middle), radius);
  }
}
