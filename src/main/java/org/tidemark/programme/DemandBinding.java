package org.tidemark.programme;

import java.util.Collections;
import java.util.Map;
import java.util.Optional;
import java.util.TreeMap;
import org.tidemark.quantity.Value;

/**
 * Which model says how much a setting of a variation asks of a person, and where its inputs come
 * from. An input is named in one of the two maps, or is left out.
 *
 * @param model the code of the model, never blank
 * @param variables by name of the model's input: the code of the variable that sets it
 * @param constants by name of the model's input: a value that never changes in this variation
 */
public record DemandBinding(
    String model, Map<String, String> variables, Map<String, Value> constants) {
  public DemandBinding {
    if (model.isBlank()) {
      throw new IllegalArgumentException("a binding needs the code of a model");
    }
    for (String input : variables.keySet()) {
      if (constants.containsKey(input)) {
        throw new IllegalArgumentException(input + " is both a variable and a constant");
      }
    }
    variables = Collections.unmodifiableMap(new TreeMap<>(variables));
    constants = Collections.unmodifiableMap(new TreeMap<>(constants));
  }

  /** The value of an input at a setting; empty when nothing sets it. */
  public Optional<Value> input(String name, Setting setting) {
    Value constant = constants.get(name);
    String variable = variables.get(name);
    return constant != null || variable == null
        ? Optional.ofNullable(constant)
        : Optional.ofNullable(setting.get(variable));
  }
}
