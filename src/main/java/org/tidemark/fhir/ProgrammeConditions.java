package org.tidemark.fhir;

import java.util.List;
import java.util.Optional;
import java.util.Set;
import java.util.function.Function;
import org.hl7.fhir.r4.model.BooleanType;
import org.tidemark.programme.Condition;
import org.tidemark.programme.Source;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Grade;
import org.tidemark.quantity.Value;
import org.tidemark.quantity.YesNo;

/**
 * Reads conditions: an item and exactly one test of it.
 *
 * @param sources the source of a progression variable, by its code
 * @param complete whether every variable could be read, so that one that is not found does not
 *     exist
 */
record ProgrammeConditions(Function<String, Optional<Source>> sources, boolean complete) {
  private static final Set<String> PARTS =
      Set.of("item", "is", "at-least", "at-most", "below", "beyond-reach-of", "owned");
  private static final Set<String> TESTS =
      Set.of("is", "at-least", "at-most", "below", "beyond-reach-of", "owned");

  /**
   * The conditions that stand at a place; those that cannot be read are left out and taken down.
   */
  List<Condition> read(ProgrammePart at) {
    return at.all("condition").stream().flatMap(part -> condition(part).stream()).toList();
  }

  private Optional<Condition> condition(ProgrammePart part) {
    part.only(PARTS);
    Optional<String> item = part.needed("item").flatMap(ProgrammePart::code);
    List<String> tests = TESTS.stream().filter(test -> !part.all(test).isEmpty()).sorted().toList();
    if (tests.size() != 1) {
      part.fault(Problem.Kind.BUSINESS_RULE, "a condition has exactly one test, found " + tests);
      return Optional.empty();
    }
    Optional<ProgrammePart> test = part.one(tests.get(0));
    return item.flatMap(code -> test.flatMap(found -> test(tests.get(0), code, found)));
  }

  private Optional<Condition> test(String kind, String item, ProgrammePart part) {
    return switch (kind) {
      case "is" -> value(part).map(value -> new Condition.Is(item, value));
      case "at-least" -> limit(item, part).map(least -> new Condition.AtLeast(item, least));
      case "at-most" -> limit(item, part).map(most -> new Condition.AtMost(item, most));
      case "below" -> limit(item, part).map(limit -> new Condition.Below(item, limit));
      case "owned" -> owned(item, part);
      default -> part.code().flatMap(variable -> beyondReach(item, variable, part));
    };
  }

  private static Optional<Value> value(ProgrammePart part) {
    return part.value() instanceof BooleanType
        ? part.flag().map(YesNo::new)
        : part.code().map(Grade::new);
  }

  private static Optional<Amount> limit(String item, ProgrammePart part) {
    return part.amount()
        .filter(
            limit -> ProgrammeItems.unit(item).map(unit -> part.isOf(unit, limit)).orElse(true));
  }

  private static Optional<Condition> owned(String item, ProgrammePart part) {
    Optional<Boolean> owned = part.flag();
    if (owned.isPresent() && !owned.get()) {
      part.fault(Problem.Kind.UNSUPPORTED, "'owned' can only be true");
      return Optional.empty();
    }
    return owned.map(yes -> new Condition.Owns(item));
  }

  private Optional<Condition> beyondReach(String item, String variable, ProgrammePart part) {
    Optional<Source> source = sources.apply(variable);
    if (source.isEmpty() && complete) {
      part.fault(
          Problem.Kind.UNKNOWN_REFERENCE, "no variation has the variable '" + variable + "'");
    }
    if (source.isPresent() && source.get() instanceof Source.Grades) {
      part.fault(
          Problem.Kind.BUSINESS_RULE, "'" + variable + "' has grades, which reach no amount");
      return Optional.empty();
    }
    return source
        .filter(
            known ->
                ProgrammeItems.unit(item)
                    .map(u -> part.isOf(ProgrammeSources.unit(known), Amount.zero(u)))
                    .orElse(true))
        .map(known -> new Condition.BeyondReach(item, known));
  }
}
