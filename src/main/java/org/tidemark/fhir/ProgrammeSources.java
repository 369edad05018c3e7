package org.tidemark.fhir;

import java.math.BigDecimal;
import java.util.List;
import java.util.Optional;
import java.util.Set;
import org.tidemark.programme.Source;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Grade;
import org.tidemark.quantity.Unit;

/** Reads where the values of a progression variable come from. */
final class ProgrammeSources {
  /** A range is listed value by value whenever a change is chosen. */
  private static final int MOST_STEPS = 1_000;

  private ProgrammeSources() {}

  static Optional<Source> read(ProgrammePart part) {
    Optional<String> kind = part.needed("kind").flatMap(ProgrammePart::code);
    return kind.flatMap(
        named ->
            switch (named) {
              case "one-of" -> oneOf(part);
              case "stack" -> stack(part);
              case "stairs" -> stairs(part);
              case "range" -> range(part);
              case "grades" -> grades(part);
              default -> unknown(part, named);
            });
  }

  /**
   * The unit of the values of a source.
   *
   * @throws IllegalArgumentException when the values are grades
   */
  static Unit unit(Source source) {
    if (source instanceof Source.OneOf one) {
      return one.unit();
    }
    if (source instanceof Source.Stack stack) {
      return stack.most().unit();
    }
    if (source instanceof Source.Stairs stairs) {
      return stairs.most().unit();
    }
    if (source instanceof Source.Range range) {
      return range.from().unit();
    }
    throw new IllegalArgumentException("grades have no unit");
  }

  private static Optional<Source> oneOf(ProgrammePart part) {
    part.only(Set.of("kind", "item", "unit", "with-none"));
    Optional<String> item = part.needed("item").flatMap(ProgrammePart::code);
    Optional<Unit> unit = part.needed("unit").flatMap(ProgrammeSources::unit);
    Optional<Boolean> withNone = part.needed("with-none").flatMap(ProgrammePart::flag);
    if (item.isEmpty() || unit.isEmpty() || withNone.isEmpty()) {
      return Optional.empty();
    }
    return Optional.of(new Source.OneOf(item.get(), unit.get(), withNone.get()));
  }

  private static Optional<Source> stack(ProgrammePart part) {
    part.only(Set.of("kind", "item", "most"));
    if (part.all("item").isEmpty()) {
      part.fault(Problem.Kind.MISSING, "a stack needs an 'item'");
    }
    List<String> items = items(part);
    return most(part).map(most -> new Source.Stack(items, most));
  }

  private static Optional<Source> stairs(ProgrammePart part) {
    part.only(Set.of("kind", "riser", "count", "item", "most"));
    Optional<String> riser = part.needed("riser").flatMap(ProgrammePart::code);
    Optional<String> count = part.needed("count").flatMap(ProgrammePart::code);
    Optional<Amount> most = most(part);
    List<String> items = items(part);
    if (riser.isEmpty() || count.isEmpty() || most.isEmpty()) {
      return Optional.empty();
    }
    return Optional.of(new Source.Stairs(riser.get(), count.get(), items, most.get()));
  }

  private static Optional<Source> range(ProgrammePart part) {
    part.only(Set.of("kind", "from", "to", "by"));
    Optional<Amount> from = part.needed("from").flatMap(ProgrammePart::amount);
    Optional<Amount> to = sameUnit(part.needed("to"), from);
    Optional<Amount> by = sameUnit(part.needed("by"), from);
    if (from.isEmpty() || to.isEmpty() || by.isEmpty()) {
      return Optional.empty();
    }
    if (from.get().value().signum() < 0
        || by.get().value().signum() <= 0
        || to.get().isBelow(from.get())) {
      part.fault(
          Problem.Kind.OUT_OF_RANGE,
          "a range goes from 0 or more, by more than 0, to no less than its start");
      return Optional.empty();
    }
    BigDecimal length = to.get().minus(from.get()).value();
    if (length.compareTo(by.get().value().multiply(BigDecimal.valueOf(MOST_STEPS))) > 0) {
      part.fault(Problem.Kind.OUT_OF_RANGE, "a range has at most " + MOST_STEPS + " steps");
      return Optional.empty();
    }
    return Optional.of(new Source.Range(from.get(), to.get(), by.get()));
  }

  private static Optional<Source> grades(ProgrammePart part) {
    part.only(Set.of("kind", "grade", "needs"));
    int before = part.faults().count();
    List<Grade> grades =
        part.all("grade").stream().flatMap(g -> g.code().stream()).map(Grade::new).toList();
    if (part.all("grade").isEmpty()) {
      part.fault(Problem.Kind.MISSING, "a scale needs a 'grade'");
    }
    if (grades.stream().distinct().count() < grades.size()) {
      part.fault(Problem.Kind.BUSINESS_RULE, "a grade stands in its scale once only");
    }
    Optional<String> needs = part.one("needs").flatMap(ProgrammePart::code);
    return part.faults().count() > before
        ? Optional.empty()
        : Optional.of(new Source.Grades(grades, needs));
  }

  private static Optional<Source> unknown(ProgrammePart part, String kind) {
    part.fault(Problem.Kind.UNSUPPORTED, "unknown kind of source '" + kind + "'");
    return Optional.empty();
  }

  private static List<String> items(ProgrammePart part) {
    return part.all("item").stream().flatMap(item -> item.code().stream()).toList();
  }

  private static Optional<Amount> most(ProgrammePart part) {
    Optional<ProgrammePart> most = part.needed("most");
    Optional<Amount> amount = most.flatMap(ProgrammePart::amount);
    if (amount.isPresent() && amount.get().value().signum() <= 0) {
      most.get().fault(Problem.Kind.OUT_OF_RANGE, "must be more than 0");
      return Optional.empty();
    }
    return amount;
  }

  private static Optional<Amount> sameUnit(Optional<ProgrammePart> part, Optional<Amount> as) {
    return part.flatMap(found -> as.isPresent() ? found.amount(as.get().unit()) : found.amount());
  }

  private static Optional<Unit> unit(ProgrammePart part) {
    Optional<String> code = part.code();
    Optional<Unit> unit = code.flatMap(Unit::find);
    if (code.isPresent() && unit.isEmpty()) {
      part.fault(Problem.Kind.WRONG_UNIT, "unknown unit '" + code.get() + "'");
    }
    return unit;
  }
}
