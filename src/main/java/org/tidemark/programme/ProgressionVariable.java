package org.tidemark.programme;

import java.math.BigDecimal;
import java.util.ArrayList;
import java.util.Collections;
import java.util.List;
import java.util.Optional;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Grade;
import org.tidemark.quantity.Value;

/**
 * One thing about an exercise that can be made harder or easier.
 *
 * @param code the code of the variable, such as {@code step-height}
 * @param title what a person calls it
 * @param harder which way it moves when the exercise gets harder
 * @param source where its values come from
 * @param goal the value at which it needs to go no further, if there is one short of the hardest
 *     feasible
 * @param comfortableStep the largest step taken on its own; a larger one is bridged by dose and
 *     easing. Empty: any
 * @param demandCap how many times the demand a step of it may ask, at the upper end of the band, in
 *     place of the programme's cap; more than 1. Empty: the programme's
 * @param leastStepPercent a step smaller than this share of the present value, in percent, is
 *     passed over. 0: none is
 * @param requires what must hold before it is made harder
 */
public record ProgressionVariable(
    String code,
    String title,
    Direction harder,
    Source source,
    Optional<Amount> goal,
    Optional<Amount> comfortableStep,
    Optional<BigDecimal> demandCap,
    BigDecimal leastStepPercent,
    List<Condition> requires) {
  public ProgressionVariable {
    requires = List.copyOf(requires);
  }

  /** Every value the person can set, from the easiest to the hardest. */
  public List<Value> fromEasiest(Equipment equipment) {
    List<Value> values = new ArrayList<>(source.values(equipment));
    if (harder == Direction.DECREASE && !(source instanceof Source.Grades)) {
      Collections.reverse(values);
    }
    return values;
  }

  /**
   * Below 0 when the first value is easier than the second, above 0 when it is harder.
   *
   * @throws IllegalArgumentException when the values are not of this variable
   */
  public int compare(Value first, Value second) {
    if (first instanceof Amount a && second instanceof Amount b) {
      return harder == Direction.INCREASE ? a.compareTo(b) : b.compareTo(a);
    }
    if (source instanceof Source.Grades grades
        && first instanceof Grade a
        && second instanceof Grade b) {
      return Integer.compare(rank(grades, a), rank(grades, b));
    }
    throw new IllegalArgumentException(code + " cannot compare " + first + " with " + second);
  }

  /** Whether the value is of the kind, unit or scale that this variable has. */
  public boolean accepts(Value value) {
    if (source instanceof Source.Grades grades) {
      return value instanceof Grade grade && grades.fromEasiest().contains(grade);
    }
    return value instanceof Amount amount
        && amount.value().signum() >= 0
        && amount.unit() == unit();
  }

  /**
   * Whether the value has reached the goal of this variable or is harder; without a goal, never.
   */
  public boolean reachesGoal(Value value) {
    return goal.isPresent() && compare(value, goal.get()) >= 0;
  }

  private org.tidemark.quantity.Unit unit() {
    if (source instanceof Source.OneOf one) {
      return one.unit();
    }
    if (source instanceof Source.Stack stack) {
      return stack.most().unit();
    }
    if (source instanceof Source.Stairs stairs) {
      return stairs.most().unit();
    }
    return ((Source.Range) source).from().unit();
  }

  private int rank(Source.Grades grades, Grade grade) {
    int rank = grades.fromEasiest().indexOf(grade);
    if (rank < 0) {
      throw new IllegalArgumentException(code + " has no grade " + grade.code());
    }
    return rank;
  }
}
