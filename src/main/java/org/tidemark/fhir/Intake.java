package org.tidemark.fhir;

import java.util.List;
import java.util.Optional;
import java.util.Set;
import java.util.function.Function;
import org.tidemark.decision.Fact;
import org.tidemark.programme.Setting;
import org.tidemark.programme.Side;

/** What an Observation turned out to be. */
public sealed interface Intake {

  /** One answer for each of the three. */
  <T> T match(Function<Facts, T> facts, Function<NotForUs, T> notForUs, Function<Parked, T> parked);

  /**
   * It can be computed with.
   *
   * @param facts what it says; empty when it says nothing, as an Observation without a value does
   * @param side the side it is about; empty when it is about the person, or when only {@code
   *     basedOn} tells
   * @param regions SNOMED CT codes of the body regions it names; empty when it names none
   * @param basedOn the reference to the prescription that it answers, as sent
   * @param settingsDone the settings that a session was done at, where it says so; they change
   *     those of the prescription
   */
  record Facts(
      List<Fact> facts,
      Optional<Side> side,
      Set<String> regions,
      Optional<String> basedOn,
      Optional<Setting> settingsDone)
      implements Intake {
    public Facts {
      facts = List.copyOf(facts);
      regions = Set.copyOf(regions);
    }

    @Override
    public <T> T match(
        Function<Facts, T> yes, Function<NotForUs, T> notForUs, Function<Parked, T> parked) {
      return yes.apply(this);
    }
  }

  /**
   * It is kept, but nothing is computed from it.
   *
   * @param reason why, in a sentence
   */
  record NotForUs(String reason) implements Intake {
    @Override
    public <T> T match(
        Function<Facts, T> facts, Function<NotForUs, T> yes, Function<Parked, T> parked) {
      return yes.apply(this);
    }
  }

  /**
   * It is meant for us, but cannot be used safely: a person has to look at it.
   *
   * @param reason why, in a sentence
   * @param path FHIRPath of the element that is in doubt
   * @param warnings the warnings that it raises all the same: they need no side and must not wait
   */
  record Parked(String reason, String path, List<Fact.WarningRaised> warnings) implements Intake {
    public Parked {
      warnings = List.copyOf(warnings);
    }

    @Override
    public <T> T match(
        Function<Facts, T> facts, Function<NotForUs, T> notForUs, Function<Parked, T> yes) {
      return yes.apply(this);
    }
  }
}
