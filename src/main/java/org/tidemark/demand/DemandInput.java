package org.tidemark.demand;

import java.util.Arrays;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Grade;
import org.tidemark.quantity.Unit;
import org.tidemark.quantity.Value;

/** What a model reads from a setting. An input that nothing sets is left out of the movement. */
public enum DemandInput {
  /** Height of the step under the front foot, cm. Left out: the floor. */
  STEP_HEIGHT("step-height"),
  /**
   * How much the hands carry on a support: two-hands, one-hand, fingertips or none; or the mass
   * that was measured, kg. Left out: none.
   */
  HAND_ASSIST("hand-assist"),
  /** Mass of the dumbbell in each of both hands, kg. Left out: none. */
  DUMBBELL_LOAD("dumbbell-load"),
  /** Whether the front heel is raised or flat. Left out: flat. */
  HEEL_POSITION("heel-position"),
  /** Slope of the board under the feet, heels up, deg. Left out: level. */
  BOARD_ANGLE("board-angle"),
  /** How many legs carry the body: two-legs or one-leg. Left out: one. */
  LEGS_USED("legs-used");

  static final Grade RAISED = new Grade("raised");
  static final Grade FLAT = new Grade("flat");
  static final Grade TWO_LEGS = new Grade("two-legs");
  static final Grade ONE_LEG = new Grade("one-leg");

  private final String code;

  DemandInput(String code) {
    this.code = code;
  }

  /** The name that a binding gives it. */
  public String code() {
    return code;
  }

  /** The input of this name, if there is one. */
  public static Optional<DemandInput> find(String code) {
    return Arrays.stream(values()).filter(input -> input.code.equals(code)).findFirst();
  }

  /** Whether a value is one that this input can have. */
  public boolean accepts(Value value) {
    return switch (this) {
      case STEP_HEIGHT -> isAmount(value, Unit.CENTIMETRE);
      case HAND_ASSIST ->
          isAmount(value, Unit.KILOGRAM) || value instanceof Grade grade && Hands.knows(grade);
      case DUMBBELL_LOAD -> isAmount(value, Unit.KILOGRAM);
      case HEEL_POSITION -> Set.of(RAISED, FLAT).contains(value);
      case BOARD_ANGLE -> isAmount(value, Unit.DEGREE);
      case LEGS_USED -> Set.of(TWO_LEGS, ONE_LEG).contains(value);
    };
  }

  /** The number that an input is set to; 0 where nothing sets it. */
  static double number(Map<DemandInput, Value> setting, DemandInput input) {
    return setting.get(input) instanceof Amount amount ? amount.value().doubleValue() : 0;
  }

  /** The mass of both dumbbells, kg. */
  static double held(Map<DemandInput, Value> setting) {
    return 2 * number(setting, DUMBBELL_LOAD);
  }

  private static boolean isAmount(Value value, Unit unit) {
    return value instanceof Amount amount && amount.unit() == unit && amount.value().signum() >= 0;
  }
}
