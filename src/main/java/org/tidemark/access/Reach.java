package org.tidemark.access;

import java.util.ArrayList;
import java.util.List;
import java.util.function.Predicate;

/**
 * Which records of a type somebody reaches by an action: those that any of the rights covers.
 *
 * @param rights the rights, none when nothing is reached
 */
public record Reach(List<Right> rights) {
  /** Every record. */
  public static final Reach EVERYTHING =
      new Reach(List.of(new Right(Right.Whose.ANYONE, "", List.of())));

  /** Copies the rights. */
  public Reach {
    rights = List.copyOf(rights);
  }

  /** Whether there is no right at all. */
  public boolean isNothing() {
    return rights.isEmpty();
  }

  /** Whether every record of the type is reached. */
  public boolean isEverything() {
    return rights.stream()
        .anyMatch(right -> right.whose() == Right.Whose.ANYONE && !right.isConditional());
  }

  /** Whether all records about someone are reached, whatever else they say. */
  public boolean coversAllAbout(String subject) {
    return rights.stream().anyMatch(right -> !right.isConditional() && right.covers(subject));
  }

  /** What is reached by this or by another. */
  public Reach or(Reach other) {
    List<Right> both = new ArrayList<>(rights);
    both.addAll(other.rights);
    return new Reach(both);
  }

  /** What is reached by those of the rights that are kept. */
  public Reach only(Predicate<Right> kept) {
    return new Reach(rights.stream().filter(kept).toList());
  }
}
