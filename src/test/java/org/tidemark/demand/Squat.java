package org.tidemark.demand;

import java.util.List;
import java.util.Map;
import java.util.Optional;
import org.tidemark.programme.DemandBinding;
import org.tidemark.programme.Dose;
import org.tidemark.programme.DoseLadder;
import org.tidemark.programme.Setting;
import org.tidemark.programme.Variation;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Grade;
import org.tidemark.quantity.Unit;
import org.tidemark.quantity.Value;

/** Variations with a model, their settings and an invented person, to compare. */
final class Squat {
  static final Map<String, Value> MEASURED =
      Map.of(
          "body-height", Amount.of("175", Unit.CENTIMETRE),
          "body-weight", Amount.of("80", Unit.KILOGRAM),
          "calf-girth", Amount.of("39", Unit.CENTIMETRE),
          "thigh-girth", Amount.of("62", Unit.CENTIMETRE),
          "wall-lunge-distance", Amount.of("11", Unit.CENTIMETRE));

  static final Variation ROCK =
      variation(
          "front-leg-statics",
          Map.of("knee-flexion", Amount.of(140, Unit.DEGREE)),
          "step-height",
          "hand-assist",
          "dumbbell-load",
          "heel-position");

  static final Variation BOARD = variation("front-leg-statics", Map.of(), "board-angle");

  static final Variation RAISE =
      variation("share-of-body-weight", Map.of(), "legs-used", "hand-assist", "dumbbell-load");

  private Squat() {}

  /** A variation whose variables go by the names of the inputs. */
  static Variation variation(String model, Map<String, Amount> reach, String... inputs) {
    Map<String, String> variables = new java.util.TreeMap<>();
    for (String input : inputs) {
      variables.put(input, input);
    }
    return bound(Optional.of(new DemandBinding(model, variables, Map.of())), reach);
  }

  static Variation bound(Optional<DemandBinding> binding, Map<String, Amount> reach) {
    DoseLadder ladder = new DoseLadder(List.of(new Dose(2, 10, 0, 0, 7)), 0);
    return new Variation("v", "V", "Do it.", true, true, reach, List.of(), ladder, binding);
  }

  static Setting rock(String step, String hands, String dumbbell, String heel) {
    return new Setting(
        Map.of(
            "step-height",
            Amount.of(step, Unit.CENTIMETRE),
            "hand-assist",
            new Grade(hands),
            "dumbbell-load",
            Amount.of(dumbbell, Unit.KILOGRAM),
            "heel-position",
            new Grade(heel)));
  }

  static Setting raise(String legs, String hands, String dumbbell) {
    return new Setting(
        Map.of(
            "legs-used", new Grade(legs),
            "hand-assist", new Grade(hands),
            "dumbbell-load", Amount.of(dumbbell, Unit.KILOGRAM)));
  }

  static Setting board(String degrees) {
    return new Setting(Map.of("board-angle", Amount.of(degrees, Unit.DEGREE)));
  }

  static Ratio ratio(Variation variation, Setting from, Setting to, Map<String, Value> items) {
    return Demand.ratio(variation, from, to, items).orElseThrow();
  }

  static Ratio rock(Setting from, Setting to) {
    return ratio(ROCK, from, to, MEASURED);
  }
}
