package org.tidemark.programme;

import java.math.BigDecimal;
import java.math.RoundingMode;
import java.util.List;
import java.util.Optional;
import java.util.SortedSet;
import java.util.TreeSet;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Grade;
import org.tidemark.quantity.Unit;
import org.tidemark.quantity.Value;

/**
 * Where the values of a progression variable come from: the person's own equipment, a range, or a
 * scale of grades.
 */
public sealed interface Source {

  /**
   * Every value that can be made, without order of difficulty: amounts rise, grades come from
   * easiest to hardest.
   *
   * @param equipment what the person has
   */
  List<Value> values(Equipment equipment);

  /**
   * One piece at a time, or none of it at all.
   *
   * @param item the code of the item
   * @param unit the unit of its size
   * @param withNone whether doing without, a value of 0, is possible too
   */
  record OneOf(String item, Unit unit, boolean withNone) implements Source {
    @Override
    public List<Value> values(Equipment equipment) {
      SortedSet<Amount> sizes = new TreeSet<>(equipment.amounts(item));
      if (withNone) {
        sizes.add(Amount.zero(unit));
      }
      return List.copyOf(sizes);
    }
  }

  /**
   * Any pieces laid on each other, or none.
   *
   * @param items the codes of the items that can be stacked
   * @param most the greatest height that makes sense
   */
  record Stack(List<String> items, Amount most) implements Source {
    public Stack {
      items = List.copyOf(items);
    }

    @Override
    public List<Value> values(Equipment equipment) {
      return List.copyOf(stacked(List.of(Amount.zero(most.unit())), items, equipment, most));
    }
  }

  /**
   * A step of a staircase, the floor included, with any pieces laid on it.
   *
   * @param riser the code of the item that holds the height of one riser
   * @param count the code of the item that holds the number of risers
   * @param items the codes of the items that can be laid on a step
   * @param most the greatest height that makes sense
   */
  record Stairs(String riser, String count, List<String> items, Amount most) implements Source {
    public Stairs {
      items = List.copyOf(items);
    }

    @Override
    public List<Value> values(Equipment equipment) {
      SortedSet<Amount> steps = new TreeSet<>();
      steps.add(Amount.zero(most.unit()));
      int risers =
          equipment.amounts(count).stream().mapToInt(n -> n.value().intValue()).max().orElse(0);
      for (Amount height : equipment.amounts(riser)) {
        for (int n = 1; n <= risers && height.value().signum() > 0; n++) {
          Amount step = height.times(n);
          if (step.isAbove(most)) {
            break;
          }
          steps.add(step);
        }
      }
      return List.copyOf(stacked(List.copyOf(steps), items, equipment, most));
    }
  }

  /**
   * Values at even distances, both ends included, for what needs no equipment.
   *
   * @param from the least value
   * @param to the greatest value
   * @param by the distance between neighbours, more than 0
   */
  record Range(Amount from, Amount to, Amount by) implements Source {
    public Range {
      if (by.value().signum() <= 0 || to.isBelow(from)) {
        throw new IllegalArgumentException(
            "a range needs a step above 0 and an end not below its start");
      }
    }

    @Override
    public List<Value> values(Equipment equipment) {
      SortedSet<Amount> values = new TreeSet<>();
      for (Amount value = from; !value.isAbove(to); value = value.plus(by)) {
        values.add(value);
      }
      return List.copyOf(values);
    }
  }

  /**
   * A scale of grades.
   *
   * @param fromEasiest the grades from the easiest to the hardest, at least one
   * @param needs the code of the item that every grade but the hardest needs, if any
   */
  record Grades(List<Grade> fromEasiest, Optional<String> needs) implements Source {
    public Grades {
      fromEasiest = List.copyOf(fromEasiest);
      if (fromEasiest.isEmpty()) {
        throw new IllegalArgumentException("a scale needs at least one grade");
      }
    }

    @Override
    public List<Value> values(Equipment equipment) {
      boolean all = needs.map(equipment::has).orElse(true);
      return List.copyOf(
          all ? fromEasiest : fromEasiest.subList(fromEasiest.size() - 1, fromEasiest.size()));
    }
  }

  /** The greatest amount that can be made, if the values are amounts. */
  default Optional<Amount> greatest(Equipment equipment) {
    return values(equipment).stream()
        .filter(Amount.class::isInstance)
        .map(Amount.class::cast)
        .max(Amount::compareTo);
  }

  private static SortedSet<Amount> stacked(
      List<Amount> bases, List<String> items, Equipment equipment, Amount most) {
    SortedSet<Amount> sums = new TreeSet<>(bases);
    for (String item : items) {
      for (Amount piece : equipment.amounts(item)) {
        for (Amount sum : List.copyOf(sums)) {
          Amount higher = sum.isZero() ? piece : toTheMillimetre(sum.plus(piece));
          if (piece.value().signum() > 0 && !higher.isAbove(most)) {
            sums.add(higher);
          }
        }
      }
    }
    return sums;
  }

  /**
   * Sums are kept to one decimal: a stack of books is not known better, and their number stays
   * bounded. A single piece keeps its size.
   */
  private static Amount toTheMillimetre(Amount sum) {
    BigDecimal rounded = sum.value().setScale(1, RoundingMode.HALF_UP);
    return new Amount(rounded, sum.unit());
  }
}
