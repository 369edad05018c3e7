package org.tidemark.demand;

import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.stream.Stream;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Grade;
import org.tidemark.quantity.Unit;
import org.tidemark.quantity.Value;

/**
 * What the hands carry on a support, as a share of body weight: 0.15 to 0.45 with both hands, 0.05
 * to 0.25 with one, up to 0.10 with fingertips (assumption). A person who leans much in one grade
 * is likely to in another: half of where one stands in that range is the person's habit, half
 * belongs to the grade. More hands never carry less.
 *
 * @param code the code of the grade
 * @param least the least share of body weight
 * @param width how far above it the share can be
 * @param own what belongs to the grade alone
 */
record Hands(String code, double least, double width, Unknown own) {
  private static final Map<String, Hands> GRADES =
      Map.of(
          "two-hands", new Hands("two-hands", 0.15, 0.30, Unknown.TWO_HANDS),
          "one-hand", new Hands("one-hand", 0.05, 0.20, Unknown.ONE_HAND),
          "fingertips", new Hands("fingertips", 0, 0.10, Unknown.FINGERTIPS),
          "none", new Hands("none", 0, 0, Unknown.HAND_HABIT));

  /** The item that holds what the hands of a grade carry when it was measured with a scale, kg. */
  static String measuredItem(String grade) {
    return "carried-by-" + grade;
  }

  /** Whether a grade is one of these. */
  static boolean knows(Grade grade) {
    return GRADES.containsKey(grade.code());
  }

  /**
   * The share at each point. A mass that was measured, for the grade or as the value itself,
   * replaces the range.
   *
   * @param setting what is set; nothing set for the hands: they carry nothing
   * @param items the baseline, by code of the item
   * @param mass mass of the person at each point, kilograms
   */
  static double[] shares(Map<DemandInput, Value> setting, Map<String, Value> items, double[] mass) {
    Value set = setting.get(DemandInput.HAND_ASSIST);
    double[] shares = new double[mass.length];
    if (set == null) {
      return shares;
    }
    Optional<Amount> carried = measured(set, items);
    if (carried.isEmpty()) {
      return GRADES.get(((Grade) set).code()).drawn();
    }
    double kilograms = carried.get().value().doubleValue();
    for (int i = 0; i < mass.length; i++) {
      shares[i] = kilograms / mass[i];
    }
    return shares;
  }

  /** The codes of the items that were not measured for the grades of two settings. */
  static List<String> estimated(
      Map<String, Value> items, Map<DemandInput, Value> first, Map<DemandInput, Value> second) {
    return Stream.of(first, second)
        .flatMap(setting -> Optional.ofNullable(setting.get(DemandInput.HAND_ASSIST)).stream())
        .filter(set -> measured(set, items).isEmpty())
        .map(set -> ((Grade) set).code())
        .filter(code -> GRADES.get(code).width() > 0)
        .map(Hands::measuredItem)
        .distinct()
        .toList();
  }

  private static Optional<Amount> measured(Value set, Map<String, Value> items) {
    Value known = set instanceof Grade grade ? items.get(measuredItem(grade.code())) : set;
    return known instanceof Amount amount
            && amount.unit() == Unit.KILOGRAM
            && amount.value().signum() >= 0
        ? Optional.of(amount)
        : Optional.empty();
  }

  private double[] drawn() {
    double[] habit = Unknown.HAND_HABIT.even();
    double[] ofGrade = own.even();
    double[] shares = new double[habit.length];
    for (int i = 0; i < shares.length; i++) {
      shares[i] = least + width * (habit[i] + ofGrade[i]) / 2;
    }
    return shares;
  }
}
