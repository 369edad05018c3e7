package org.tidemark.programme;

import java.util.Collections;
import java.util.Map;
import java.util.SortedMap;
import java.util.TreeMap;
import org.tidemark.quantity.Value;

/**
 * The values that an exercise is set to.
 *
 * @param values by code of the progression variable
 */
public record Setting(Map<String, Value> values) {
  public Setting {
    values = Collections.unmodifiableSortedMap(new TreeMap<>(values));
  }

  /** The same setting with one value changed. */
  public Setting with(String variable, Value value) {
    SortedMap<String, Value> changed = new TreeMap<>(values);
    changed.put(variable, value);
    return new Setting(changed);
  }

  /** The value of a variable, or null when the setting does not have it. */
  public Value get(String variable) {
    return values.get(variable);
  }
}
