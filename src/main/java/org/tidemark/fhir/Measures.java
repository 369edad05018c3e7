package org.tidemark.fhir;

import java.util.Arrays;
import java.util.Collection;
import java.util.Collections;
import java.util.Map;
import java.util.Optional;
import java.util.TreeMap;
import org.hl7.fhir.r4.model.Quantity;
import org.tidemark.programme.Exercise;
import org.tidemark.programme.Programme;
import org.tidemark.programme.ProgressionVariable;
import org.tidemark.programme.Variation;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Unit;

/**
 * The units of the measures that programmes set or limit, by code of the measure: progression
 * variables, and measures of the body that a variation reaches.
 */
public record Measures(Map<String, Unit> units) {
  /** No measure known: each is read in the unit of ours that fits what was sent. */
  public static final Measures NONE = new Measures(Map.of());

  public Measures {
    units = Collections.unmodifiableMap(new TreeMap<>(units));
  }

  /** The measures of these programmes. */
  public static Measures of(Collection<Programme> programmes) {
    Map<String, Unit> units = new TreeMap<>();
    programmes.stream()
        .flatMap(programme -> programme.stages().stream())
        .flatMap(stage -> stage.exercises().stream())
        .map(Exercise::variation)
        .forEach(variation -> add(variation, units));
    return new Measures(units);
  }

  /** The unit of a progression variable; empty when it has grades. */
  public static Optional<Unit> unitOf(ProgressionVariable variable) {
    return Arrays.stream(Unit.values())
        .filter(unit -> variable.accepts(Amount.zero(unit)))
        .findFirst();
  }

  /**
   * An amount of a measure, in its own unit if that is known.
   *
   * @return empty when the quantity has no value
   * @throws Problem as {@link Units#find}
   */
  public Optional<Amount> find(String measure, Quantity quantity, String path) {
    Unit unit = units.get(measure);
    return unit == null ? Units.findAny(quantity, path) : Units.find(quantity, unit, path);
  }

  private static void add(Variation variation, Map<String, Unit> units) {
    variation.reach().forEach((measure, amount) -> units.put(measure, amount.unit()));
    variation
        .variables()
        .forEach(variable -> unitOf(variable).ifPresent(unit -> units.put(variable.code(), unit)));
  }
}
