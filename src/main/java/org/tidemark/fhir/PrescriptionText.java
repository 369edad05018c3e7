package org.tidemark.fhir;

import java.util.ArrayList;
import java.util.Arrays;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.regex.Matcher;
import java.util.regex.Pattern;
import java.util.stream.Collectors;
import org.tidemark.decision.Change;
import org.tidemark.programme.Direction;
import org.tidemark.programme.Dose;
import org.tidemark.programme.PlateauOption;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.Programme;
import org.tidemark.programme.ProgressionVariable;
import org.tidemark.programme.Setting;
import org.tidemark.programme.Stage;
import org.tidemark.programme.Variation;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Unit;
import org.tidemark.quantity.Value;

/**
 * The plain words of a prescription, its setting, its dose and a change of it. The names of stages,
 * variations and variables are those of the programme.
 *
 * @param texts the language
 * @param programme the programme in that language
 */
public record PrescriptionText(Texts texts, Programme programme) {
  private static final int DAYS_OF_A_WEEK = 7;
  private static final int SECONDS_OF_A_MINUTE = 60;

  /** An amount as a decision writes it into a change: a number and a UCUM code. */
  private static final Pattern AMOUNT = Pattern.compile("(\\d+(?:\\.\\d+)?) (deg|cm|kg|min|s)");

  /** The end of a dose as a decision writes it into a change, where it is held. */
  private static final Pattern HELD = Pattern.compile("(\\d+) s held$");

  /** A prescription on one line: what, how it is set, how much, how often. */
  public String line(Prescription prescription) {
    String set =
        settingByTitle(prescription).entrySet().stream()
            .map(entry -> texts.within(entry.getKey()) + " " + entry.getValue())
            .collect(Collectors.joining(", "));
    String title = title(prescription.variation());
    String dose = dose(prescription.dose());
    return set.isEmpty()
        ? texts.of("exercise.line", title, dose)
        : texts.of("exercise.line.set", title, set, dose);
  }

  /**
   * How an exercise is set, such as {@code Height of the step: 17.5 cm. Help of the hands: one
   * hand.} Empty when nothing of it is set. What there is none of yet, such as a weight of 0 kg
   * that is only ever added, is not mentioned.
   */
  public String setting(Prescription prescription) {
    return settingByTitle(prescription).entrySet().stream()
        .map(entry -> texts.of("exercise.setting", entry.getKey(), entry.getValue()))
        .collect(Collectors.joining(" "));
  }

  /** How much and how often, such as {@code 2 sets of 10 repetitions, daily}. */
  public String dose(Dose dose) {
    String much = amountOf(dose);
    return much.isEmpty() ? often(dose) : texts.of("dose.line", much, often(dose));
  }

  /** A change, such as {@code Split squat: height of the step from 36 cm to 24 cm}. */
  public String change(Change change) {
    String exercise = title(change.variation());
    String from = side(change, change.from());
    String to = side(change, change.to());
    String moves = moves(from, to);
    String subject =
        change.variable().isBlank()
            ? texts.of("change.subject", exercise)
            : texts.of(
                "change.subject.variable",
                exercise,
                variable(change.variation(), change.variable()));
    return switch (change.kind()) {
      case PLACED -> texts.of("change.placed", to, texts.within(exercise));
      case STAGE -> texts.of("change.stage", to, from);
      case DOSE -> moved(texts.of("change.dose", subject), moves);
      case VARIABLE -> easier(texts.of("change.variable", subject, moves), change);
      case UNDONE -> moved(texts.of("change.undone", subject), moves);
      case EASED -> moved(texts.of("change.eased", subject), moves);
      case STALL -> texts.of("change.stall", texts.within(option(change.to())));
      case OVERRIDE -> moved(texts.of("change.override", subject), moves);
    };
  }

  /** A change that was not taken: what, why, and the piece of equipment that would open the way. */
  public String considered(Change.Considered considered) {
    String weighed =
        texts.of("change.considered", change(considered.change()), texts.reason(considered.why()));
    return missing(considered)
        .map(piece -> weighed + " " + texts.of("change.missing", Texts.capital(piece)))
        .orElse(weighed);
  }

  /** The piece of equipment that would open the way, such as {@code a book of 5 cm}. */
  public Optional<String> missing(Change.Considered considered) {
    return considered
        .missing()
        .map(
            piece -> texts.of("change.piece", texts.item(piece.item()), texts.value(piece.size())));
  }

  /** What a person calls a variation; its code in words where the programme does not have it. */
  public String title(String variation) {
    return programme
        .variation(variation)
        .map(Variation::title)
        .orElseGet(() -> Texts.capital(texts.item(variation)));
  }

  /** What an option for a stall means; its code in words where the programme does not have it. */
  private String option(String option) {
    return programme.plateauOptions().stream()
        .filter(known -> known.code().equals(option))
        .map(PlateauOption::title)
        .findFirst()
        .orElseGet(() -> texts.item(option));
  }

  /** What a person calls a stage; its code in words where the programme does not have it. */
  public String stage(String stage) {
    return programme
        .stage(stage)
        .map(Stage::title)
        .orElseGet(() -> Texts.capital(texts.item(stage)));
  }

  private Map<String, String> settingByTitle(Prescription prescription) {
    Setting setting = prescription.setting();
    Map<String, String> words = new LinkedHashMap<>();
    Optional<Variation> variation = programme.variation(prescription.variation());
    List<String> codes = new ArrayList<>();
    variation.ifPresent(known -> known.variables().forEach(variable -> codes.add(variable.code())));
    setting.values().keySet().stream().filter(code -> !codes.contains(code)).forEach(codes::add);
    for (String code : codes) {
      Value value = setting.get(code);
      Optional<ProgressionVariable> variable = variation.flatMap(known -> known.variable(code));
      if (value != null && !noneYet(variable, value)) {
        words.put(
            variable
                .map(ProgressionVariable::title)
                .orElseGet(() -> Texts.capital(texts.item(code))),
            texts.value(value));
      }
    }
    return words;
  }

  private static boolean noneYet(Optional<ProgressionVariable> variable, Value value) {
    return value instanceof Amount amount
        && amount.isZero()
        && variable.filter(known -> known.harder() == Direction.INCREASE).isPresent();
  }

  private String amountOf(Dose dose) {
    if (dose.repetitions() > 0) {
      String sets =
          texts.of(
              "dose.sets-of",
              count("dose.set", dose.sets()),
              count("dose.repetition", dose.repetitions()));
      String held =
          dose.holdSeconds() > 0 ? texts.of("dose.held", sets, seconds(dose.holdSeconds())) : sets;
      return dose.timeSeconds() > 0
          ? texts.of("dose.within", held, seconds(dose.timeSeconds()))
          : held;
    }
    if (dose.holdSeconds() > 0) {
      return count("dose.hold", dose.sets(), seconds(dose.holdSeconds()));
    }
    String sets = count("dose.set", dose.sets());
    if (dose.timeSeconds() > 0) {
      String time = seconds(dose.timeSeconds());
      return dose.sets() == 1 ? time : texts.of("dose.sets-of", sets, time);
    }
    return dose.sets() == 1 ? "" : sets;
  }

  private String often(Dose dose) {
    int times = dose.timesPerWeek();
    if (times % DAYS_OF_A_WEEK == 0) {
      int daily = times / DAYS_OF_A_WEEK;
      return daily == 1 ? texts.of("dose.daily") : texts.of("dose.a-day", times(daily));
    }
    return texts.of("dose.a-week", times(times));
  }

  private String times(int times) {
    return switch (times) {
      case 1 -> texts.of("dose.once");
      case 2 -> texts.of("dose.twice");
      default -> texts.of("dose.times", times);
    };
  }

  private String count(String key, int number, Object... more) {
    Object[] filled = new Object[more.length + 1];
    filled[0] = number;
    System.arraycopy(more, 0, filled, 1, more.length);
    return texts.of(key + (number == 1 ? ".one" : ".many"), filled);
  }

  private String seconds(int seconds) {
    boolean minutes = seconds > SECONDS_OF_A_MINUTE && seconds % SECONDS_OF_A_MINUTE == 0;
    return texts.value(
        minutes
            ? Amount.of(seconds / SECONDS_OF_A_MINUTE, Unit.MINUTE)
            : Amount.of(seconds, Unit.SECOND));
  }

  private String variable(String variation, String variable) {
    return texts.within(
        programme
            .variation(variation)
            .flatMap(known -> known.variable(variable))
            .map(ProgressionVariable::title)
            .orElseGet(() -> Texts.capital(texts.item(variable))));
  }

  private String easier(String harder, Change change) {
    if (change.eased().isEmpty()) {
      return harder;
    }
    return texts.of(
        "change.easier",
        harder,
        change.eased().stream()
            .map(code -> variable(change.variation(), code))
            .collect(Collectors.joining(", ")));
  }

  private String moved(String what, String moves) {
    return moves.isEmpty() ? what : texts.of("change.moved", what, moves);
  }

  private String moves(String from, String to) {
    if (from.equals(to)) {
      return "";
    }
    if (from.isEmpty()) {
      return texts.of("moves.to", to);
    }
    return to.isEmpty() ? texts.of("moves.from", from) : texts.of("moves.from-to", from, to);
  }

  /**
   * One side of a change. It is a stage, a dose, a value, or several settings with a dose, each as
   * the decision wrote it.
   */
  private String side(Change change, String text) {
    if (text.isEmpty()) {
      return text;
    }
    if (change.variable().isBlank() && programme.stage(text).isPresent()) {
      return texts.of("quoted", stage(text));
    }
    return Arrays.stream(text.split(", "))
        .map(part -> part(change.variation(), part))
        .collect(Collectors.joining(", "));
  }

  private String part(String variation, String text) {
    int blank = text.indexOf(' ');
    String first = blank < 0 ? text : text.substring(0, blank);
    String rest = blank < 0 ? "" : text.substring(blank + 1);
    boolean named =
        programme.variation(variation).flatMap(known -> known.variable(first)).isPresent();
    return named ? variable(variation, first) + " " + written(rest) : written(text);
  }

  private String written(String text) {
    Matcher amount = AMOUNT.matcher(text);
    if (amount.matches()) {
      return texts.value(Amount.of(amount.group(1), Unit.find(amount.group(2)).orElseThrow()));
    }
    Matcher held = HELD.matcher(text);
    return held.find()
        ? text.substring(0, held.start()) + texts.of("dose.short.held", held.group(1))
        : texts.grade(text);
  }
}
