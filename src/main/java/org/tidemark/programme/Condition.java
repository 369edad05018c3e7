package org.tidemark.programme;

import java.util.Map;
import java.util.Optional;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Value;

/**
 * A fact about the person or the home that a programme asks for before it places or moves a person.
 * A fact that is not known does not hold.
 */
public sealed interface Condition {

  /**
   * Whether it holds.
   *
   * @param facts the baseline, by code of the item
   * @param equipment what the person has
   */
  boolean holds(Map<String, Value> facts, Equipment equipment);

  /** The item has exactly this value. */
  record Is(String item, Value value) implements Condition {
    @Override
    public boolean holds(Map<String, Value> facts, Equipment equipment) {
      return value.equals(facts.get(item));
    }
  }

  /** The item measures this much or more. */
  record AtLeast(String item, Amount least) implements Condition {
    @Override
    public boolean holds(Map<String, Value> facts, Equipment equipment) {
      return measured(facts, item, least).filter(known -> !known.isBelow(least)).isPresent();
    }
  }

  /** The item measures this much or less. */
  record AtMost(String item, Amount most) implements Condition {
    @Override
    public boolean holds(Map<String, Value> facts, Equipment equipment) {
      return measured(facts, item, most).filter(known -> !known.isAbove(most)).isPresent();
    }
  }

  /** The item measures less than this. */
  record Below(String item, Amount limit) implements Condition {
    @Override
    public boolean holds(Map<String, Value> facts, Equipment equipment) {
      return measured(facts, item, limit).filter(known -> known.isBelow(limit)).isPresent();
    }
  }

  /** The item measures more than the greatest value that the person's equipment can make. */
  record BeyondReach(String item, Source source) implements Condition {
    @Override
    public boolean holds(Map<String, Value> facts, Equipment equipment) {
      Optional<Amount> reach = source.greatest(equipment);
      return amount(facts, item)
          .filter(
              known ->
                  reach
                      .map(most -> most.unit() == known.unit() && known.isAbove(most))
                      .orElse(true))
          .isPresent();
    }
  }

  /** The person has at least one piece of the item. */
  record Owns(String item) implements Condition {
    @Override
    public boolean holds(Map<String, Value> facts, Equipment equipment) {
      return equipment.has(item);
    }
  }

  private static Optional<Amount> amount(Map<String, Value> facts, String item) {
    return facts.get(item) instanceof Amount amount ? Optional.of(amount) : Optional.empty();
  }

  /**
   * The item where it is measured in the unit of the limit; an item measured in another holds
   * nothing.
   */
  private static Optional<Amount> measured(Map<String, Value> facts, String item, Amount limit) {
    return amount(facts, item).filter(known -> known.unit() == limit.unit());
  }
}
