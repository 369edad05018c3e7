package org.tidemark.cohort;

import java.util.HashMap;
import java.util.Map;
import java.util.Optional;
import org.tidemark.demand.Demand;
import org.tidemark.demand.Ratio;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.Programme;
import org.tidemark.programme.ProgressionVariable;
import org.tidemark.programme.Setting;
import org.tidemark.programme.Source;
import org.tidemark.programme.Variation;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Grade;
import org.tidemark.quantity.Value;

/**
 * What a setting really asks of one person: the model's ratio to the person's own reference, from
 * measures that no policy knows in full, raised by a power and an error that are the person's own.
 * The reference is the setting with every amount at 0 and no help of the hands.
 */
final class TrueDemand {
  private static final Grade NO_HANDS = new Grade("none");
  private static final double BASE_REPETITIONS = 20;

  private final Programme programme;
  private final Person person;
  private final Map<String, Optional<Setting>> references = new HashMap<>();
  private final Map<Key, Optional<Double>> known = new HashMap<>();

  private record Key(String variation, Setting setting) {}

  TrueDemand(Programme programme, Person person) {
    this.programme = programme;
    this.person = person;
  }

  /** How much a prescription asks, its dose included; empty where it carries no load. */
  Optional<Double> of(Prescription prescription) {
    double dose =
        Math.pow(
            Math.max(1, prescription.dose().volume()) / BASE_REPETITIONS,
            Assumption.DOSE_WEIGHS.value());
    return ofSetting(prescription.variation(), prescription.setting()).map(asks -> asks * dose);
  }

  /** How much a setting asks at the base dose. */
  Optional<Double> ofSetting(String variation, Setting setting) {
    return known.computeIfAbsent(new Key(variation, setting), this::computed);
  }

  private Optional<Double> computed(Key key) {
    Variation variation = programme.variation(key.variation()).orElseThrow();
    Optional<Setting> reference =
        references.computeIfAbsent(key.variation(), code -> reference(variation));
    Optional<Ratio> ratio =
        reference.flatMap(from -> Demand.ratio(variation, from, key.setting(), person.real()));
    return ratio.map(r -> misfit(key, r.mid()));
  }

  private double misfit(Key key, double modelled) {
    Traits traits = person.traits();
    double error = traits.misfit() * person.stream(key.toString().hashCode()).nextGaussian();
    return Math.pow(modelled, traits.misfitExponent()) * Math.exp(error);
  }

  private static Optional<Setting> reference(Variation variation) {
    if (variation.demand().isEmpty()) {
      return Optional.empty();
    }
    Setting setting = new Setting(Map.of());
    for (ProgressionVariable variable : variation.variables()) {
      Value value;
      if (variable.source() instanceof Source.Grades grades) {
        value = grades.fromEasiest().contains(NO_HANDS) ? NO_HANDS : grades.fromEasiest().get(0);
      } else {
        value = variable.goal().map(goal -> Amount.zero(goal.unit())).orElse(null);
      }
      if (value == null) {
        return Optional.empty();
      }
      setting = setting.with(variable.code(), value);
    }
    return Optional.of(setting);
  }
}
