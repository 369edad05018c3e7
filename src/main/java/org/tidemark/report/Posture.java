package org.tidemark.report;

import java.util.List;
import java.util.Optional;

/**
 * The side view of a person in an exercise at its deepest point, metres: the person looks ahead, to
 * the right, unless they lie.
 *
 * @param leg the leg that is exercised
 * @param other the other leg
 * @param shoulder where the arms begin
 * @param head middle of the head
 * @param arms the arms, the near one last
 * @param props the things used
 * @param contact where calf and thigh meet or would meet; empty where the exercise does not ask for
 *     it
 * @param lowest the foot of the leg at the lowest point of the movement, where that is not the one
 *     drawn
 * @param measures the lengths that the setting prescribes
 */
public record Posture(
    Leg leg,
    Leg other,
    Point shoulder,
    Point head,
    List<Arm> arms,
    List<Prop> props,
    Optional<Contact> contact,
    Optional<Leg> lowest,
    List<Measure> measures) {
  public Posture {
    arms = List.copyOf(arms);
    props = List.copyOf(props);
    measures = List.copyOf(measures);
  }

  /**
   * Calf and thigh where they meet, both taken as round.
   *
   * @param calf middle of the calf
   * @param thigh middle of the thigh
   * @param apart how far their surfaces are apart, metres; 0 or below when they touch
   * @param between thickness of the towel between them, metres; 0 without one
   */
  public record Contact(Point calf, Point thigh, double apart, double between) {
    /** Surfaces nearer than this are touching: less than can be seen in the picture, metres. */
    private static final double TOUCHING = 0.002;

    /** Whether they touch, or touch the towel. */
    public boolean reached() {
      return apart - between <= TOUCHING;
    }
  }

  /**
   * A length of the setting and where it is seen.
   *
   * @param variable the progression variable that sets it
   * @param from where it begins
   * @param to where it ends
   * @param label where there is room to say it
   */
  public record Measure(String variable, Point from, Point to, Point label) {}
}
