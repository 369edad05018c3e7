package org.tidemark.programme;

import java.util.List;
import java.util.Map;
import java.util.TreeMap;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Value;
import org.tidemark.quantity.YesNo;

/**
 * What the person has at home.
 *
 * @param items by code of the item: every piece of it with its size, or yes or no where there is no
 *     size
 */
public record Equipment(Map<String, List<Value>> items) {
  public static final Equipment NONE = new Equipment(Map.of());

  public Equipment {
    Map<String, List<Value>> copy = new TreeMap<>();
    items.forEach((item, pieces) -> copy.put(item, List.copyOf(pieces)));
    items = java.util.Collections.unmodifiableMap(copy);
  }

  /** The sizes of all pieces of an item; empty when there is none or it has no size. */
  public List<Amount> amounts(String item) {
    return items.getOrDefault(item, List.of()).stream()
        .filter(Amount.class::isInstance)
        .map(Amount.class::cast)
        .toList();
  }

  /** Whether there is at least one piece of the item. An answer of no is not a piece. */
  public boolean has(String item) {
    return items.getOrDefault(item, List.of()).stream().anyMatch(piece -> !YesNo.NO.equals(piece));
  }
}
