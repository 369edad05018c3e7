package org.tidemark.demand;

import java.util.Arrays;
import java.util.EnumMap;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import org.tidemark.programme.DemandBinding;
import org.tidemark.programme.Setting;
import org.tidemark.quantity.Value;

/** The models of demand, by the code that a programme names them with. */
public enum DemandModel {
  /**
   * Statics of the front leg of a split squat over the whole way down: force on the back of the
   * kneecap at its peak. The slope of a board counts by the measured factor.
   */
  FRONT_LEG_STATICS(
      "front-leg-statics",
      Set.of(
          DemandInput.STEP_HEIGHT,
          DemandInput.HAND_ASSIST,
          DemandInput.DUMBBELL_LOAD,
          DemandInput.HEEL_POSITION,
          DemandInput.BOARD_ANGLE)),
  /**
   * What one leg carries: body weight and what the hands hold, less what the hands put on a
   * support, spread over the legs used (common practice).
   */
  SHARE_OF_BODY_WEIGHT(
      "share-of-body-weight",
      Set.of(DemandInput.LEGS_USED, DemandInput.HAND_ASSIST, DemandInput.DUMBBELL_LOAD));

  private final String code;
  private final Set<DemandInput> inputs;

  DemandModel(String code, Set<DemandInput> inputs) {
    this.code = code;
    this.inputs = inputs;
  }

  public String code() {
    return code;
  }

  /** The model of this code, if there is one. */
  public static Optional<DemandModel> find(String code) {
    return Arrays.stream(values()).filter(model -> model.code.equals(code)).findFirst();
  }

  /** The input of this name, if this model has it. */
  public Optional<DemandInput> input(String name) {
    return DemandInput.find(name).filter(inputs::contains);
  }

  /**
   * What the model reads from a setting; empty when the setting lacks a variable that the binding
   * names, or a value is not one that the input can have.
   */
  Optional<Map<DemandInput, Value>> read(DemandBinding binding, Setting setting) {
    Map<DemandInput, Value> values = new EnumMap<>(DemandInput.class);
    for (DemandInput input : inputs) {
      Optional<Value> value = binding.input(input.code(), setting);
      boolean named = value.isPresent() || binding.variables().containsKey(input.code());
      if (named && value.filter(input::accepts).isEmpty()) {
        return Optional.empty();
      }
      value.ifPresent(known -> values.put(input, known));
    }
    return Optional.of(values);
  }
}
