package org.tidemark.report;

import java.util.ArrayList;
import java.util.List;
import java.util.Locale;
import java.util.Map;
import java.util.Optional;
import java.util.stream.Stream;
import org.tidemark.fhir.PrescriptionText;
import org.tidemark.fhir.Texts;
import org.tidemark.programme.Direction;
import org.tidemark.programme.Dose;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.Programme;
import org.tidemark.programme.ProgressionVariable;
import org.tidemark.programme.Variation;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Value;

/**
 * Exercises in words that a twelve-year-old understands, in the language of the programme, which
 * says itself what its exercises are called and how they are done.
 */
final class ExerciseWords {
  private static final int DAYS_OF_A_WEEK = 7;
  private static final int SECONDS_OF_A_MINUTE = 60;

  private final Programme programme;
  private final Words pictures;
  private final Words words;
  private final Texts texts;
  private final PrescriptionText prescriptions;

  ExerciseWords(Programme programme, Locale locale) {
    this.programme = programme;
    this.pictures = new Words(locale);
    this.words = Words.ofPapers(locale);
    this.texts = Texts.of(locale);
    this.prescriptions = new PrescriptionText(texts, programme);
  }

  /** What a person calls an exercise. */
  String title(String variation) {
    return prescriptions.title(variation);
  }

  /** How an exercise is done; blank where nothing says so. */
  String how(String variation) {
    return programme.variation(variation).map(Variation::instruction).orElse("");
  }

  /** What a person calls a progression variable. */
  String variable(String variation, String variable) {
    return known(variation, variable).map(ProgressionVariable::title).orElse(variable);
  }

  /** How an exercise is set, a sentence for each setting; none for what is not added yet. */
  List<String> settings(Prescription prescription) {
    return codes(prescription)
        .map(code -> Map.entry(code, prescription.setting().get(code)))
        .filter(set -> !noneYet(prescription.variation(), set.getKey(), set.getValue()))
        .map(set -> setting(prescription.variation(), set.getKey(), set.getValue()))
        .toList();
  }

  /** How much of an exercise, in a sentence. */
  String amount(Dose dose) {
    if (dose.repetitions() > 0) {
      String sets = words.of("dose.repetitions", dose.sets(), dose.repetitions());
      String held = dose.holdSeconds() > 0 ? " " + words.of("dose.held", dose.holdSeconds()) : "";
      String within = dose.timeSeconds() > 0 ? " " + words.of("dose.within", time(dose)) : "";
      return sets + held + within;
    }
    if (dose.holdSeconds() > 0) {
      return words.of("dose.hold", dose.sets(), dose.holdSeconds());
    }
    return dose.timeSeconds() > 0
        ? words.of("dose.time", dose.sets(), time(dose))
        : words.of("dose.sets", dose.sets());
  }

  /** How often, in a sentence. */
  String often(Dose dose) {
    int times = dose.timesPerWeek();
    return times % DAYS_OF_A_WEEK == 0
        ? words.of("dose.daily", times / DAYS_OF_A_WEEK)
        : words.of("dose.weekly", times);
  }

  /** What is asked that was not asked before, in a few words. */
  String change(List<Prescription> before, List<Prescription> after) {
    List<String> said = new ArrayList<>();
    for (Prescription now : after) {
      before.stream()
          .filter(then -> then.variation().equals(now.variation()))
          .findFirst()
          .ifPresentOrElse(
              then -> changed(then, now).ifPresent(said::add),
              () -> said.add(title(now.variation())));
    }
    if (said.isEmpty()) {
      after.forEach(prescription -> said.add(title(prescription.variation())));
    }
    return String.join("; ", said);
  }

  private Optional<String> changed(Prescription then, Prescription now) {
    List<String> parts = new ArrayList<>();
    codes(now)
        .filter(code -> !now.setting().get(code).equals(then.setting().get(code)))
        .forEach(code -> parts.add(setting(now.variation(), code, now.setting().get(code))));
    Dose dose = now.dose();
    boolean often = dose.timesPerWeek() != then.dose().timesPerWeek();
    if (!dose.timesPerWeek(1).equals(then.dose().timesPerWeek(1))) {
      parts.add(amount(dose));
    }
    if (often) {
      parts.add(often(dose));
    }
    return parts.isEmpty()
        ? Optional.empty()
        : Optional.of(title(now.variation()) + " – " + bare(String.join(", ", parts)));
  }

  /** Without the stop at its end. */
  private static String bare(String sentences) {
    return sentences.replace("., ", ", ").replaceAll("\\.$", "");
  }

  private String setting(String variation, String variable, Value value) {
    return pictures
        .set(variable, value)
        .orElseGet(() -> variable(variation, variable) + ": " + texts.value(value));
  }

  private boolean noneYet(String variation, String variable, Value value) {
    return value instanceof Amount amount
        && amount.isZero()
        && known(variation, variable).filter(v -> v.harder() == Direction.INCREASE).isPresent();
  }

  /** The variables that are set, in the programme's order. */
  private Stream<String> codes(Prescription prescription) {
    List<String> known =
        programme
            .variation(prescription.variation())
            .map(variation -> variation.variables().stream().map(v -> v.code()).toList())
            .orElse(List.of());
    return Stream.concat(
        known.stream().filter(prescription.setting().values()::containsKey),
        prescription.setting().values().keySet().stream().filter(code -> !known.contains(code)));
  }

  private Optional<ProgressionVariable> known(String variation, String variable) {
    return programme.variation(variation).flatMap(v -> v.variable(variable));
  }

  private String time(Dose dose) {
    int seconds = dose.timeSeconds();
    return seconds % SECONDS_OF_A_MINUTE == 0
        ? words.of("time.minutes", seconds / SECONDS_OF_A_MINUTE)
        : words.of("time.seconds", seconds);
  }
}
