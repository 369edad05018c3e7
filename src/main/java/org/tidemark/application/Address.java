package org.tidemark.application;

import java.util.Optional;

/**
 * Names the record that a client wants to change: by its id, or by a condition.
 *
 * @param type its type
 * @param id its id; empty when it is named by the condition
 * @param condition what it alone matches
 */
public record Address(String type, String id, Optional<Condition> condition) {

  /** The record of this id. */
  public static Address of(String type, String id) {
    return new Address(type, id, Optional.empty());
  }

  /** The record that alone matches this condition. */
  public static Address matching(String type, Condition condition) {
    return new Address(type, "", Optional.of(condition));
  }
}
