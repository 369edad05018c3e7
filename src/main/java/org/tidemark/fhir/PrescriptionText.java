package org.tidemark.fhir;

import java.util.ArrayList;
import java.util.Arrays;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;
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
import org.tidemark.quantity.Grade;
import org.tidemark.quantity.Unit;
import org.tidemark.quantity.Value;
import org.tidemark.quantity.YesNo;

/**
 * The plain words of a prescription, its setting, its dose and a change of it. The words are those
 * of the programme: titles of its stages, variations and variables.
 */
public final class PrescriptionText {
  private static final int DAYS_OF_A_WEEK = 7;
  private static final int SECONDS_OF_A_MINUTE = 60;

  private PrescriptionText() {}

  /** A prescription on one line: what, how it is set, how much, how often. */
  public static String line(Programme programme, Prescription prescription) {
    Map<String, String> setting = settingByTitle(programme, prescription);
    String set =
        setting.entrySet().stream()
            .map(entry -> withinSentence(entry.getKey()) + " " + entry.getValue())
            .collect(Collectors.joining(", "));
    String title = title(programme, prescription.variation());
    return title + ": " + (set.isEmpty() ? "" : set + "; ") + dose(prescription.dose());
  }

  /**
   * How an exercise is set, such as {@code Height of the step: 17.5 cm. Help of the hands: one
   * hand.} Empty when nothing of it is set. What there is none of yet, such as a weight of 0 kg
   * that is only ever added, is not mentioned.
   */
  public static String setting(Programme programme, Prescription prescription) {
    return settingByTitle(programme, prescription).entrySet().stream()
        .map(entry -> entry.getKey() + ": " + entry.getValue() + ".")
        .collect(Collectors.joining(" "));
  }

  /** How much and how often, such as {@code 2 sets of 10 repetitions, daily}. */
  public static String dose(Dose dose) {
    String much = amountOf(dose);
    return much.isEmpty() ? often(dose) : much + ", " + often(dose);
  }

  /** A change, such as {@code Split squat: height of the step from 36 cm to 24 cm}. */
  public static String change(Programme programme, Change change) {
    String exercise = title(programme, change.variation());
    String from = side(programme, change, change.from());
    String to = side(programme, change, change.to());
    String variable = change.variable().isBlank() ? "" : variable(programme, change) + " ";
    return switch (change.kind()) {
      case PLACED -> "First exercises: " + to + ", beginning with " + withinSentence(exercise);
      case STAGE -> "Next stage: " + to + ", after " + from;
      case DOSE -> exercise + ": more of it, " + moves(from, to);
      case VARIABLE -> exercise + ": " + variable + moves(from, to) + eased(programme, change);
      case UNDONE -> exercise + ": " + variable + "back, " + moves(from, to);
      case EASED -> exercise + ": " + variable + "eased" + comma(moves(from, to));
      case STALL -> "At the stall: " + withinSentence(option(programme, change.to()));
      case OVERRIDE -> exercise + ": set by a clinician" + comma(moves(from, to));
    };
  }

  /** A change that was not taken: what, why, and the piece of equipment that would open the way. */
  public static String considered(Programme programme, Change.Considered considered) {
    String missing =
        missing(considered).map(piece -> " " + capital(piece) + " would open the way.").orElse("");
    return change(programme, considered.change()) + ". " + considered.why().sentence() + missing;
  }

  /** The piece of equipment that would open the way, such as {@code a book of 5 cm}. */
  public static Optional<String> missing(Change.Considered considered) {
    return considered
        .missing()
        .map(piece -> "a " + words(piece.item()) + " of " + value(piece.size()));
  }

  /** An amount with its unit, a grade in words, yes or no. */
  public static String value(Value value) {
    if (value instanceof Amount amount) {
      return amount.value().toPlainString() + unit(amount.unit());
    }
    return value instanceof Grade grade
        ? words(grade.code())
        : ((YesNo) value).yes() ? "yes" : "no";
  }

  /** What a person calls a variation; its code in words where the programme does not have it. */
  public static String title(Programme programme, String variation) {
    return programme
        .variation(variation)
        .map(Variation::title)
        .orElseGet(() -> capital(words(variation)));
  }

  /** What an option for a stall means; its code in words where the programme does not have it. */
  private static String option(Programme programme, String option) {
    return programme.plateauOptions().stream()
        .filter(known -> known.code().equals(option))
        .map(PlateauOption::title)
        .findFirst()
        .orElseGet(() -> words(option));
  }

  /** What a person calls a stage; its code in words where the programme does not have it. */
  public static String stage(Programme programme, String stage) {
    return programme.stage(stage).map(Stage::title).orElseGet(() -> capital(words(stage)));
  }

  /** A code as words: {@code one-hand} is one hand. */
  static String words(String code) {
    return code.replace('-', ' ');
  }

  /** A title within a sentence: its first letter small, unless the second is a capital too. */
  static String withinSentence(String title) {
    boolean word = title.length() > 1 && !Character.isUpperCase(title.charAt(1));
    return word ? Character.toLowerCase(title.charAt(0)) + title.substring(1) : title;
  }

  private static String capital(String text) {
    return text.isEmpty() ? text : Character.toUpperCase(text.charAt(0)) + text.substring(1);
  }

  private static Map<String, String> settingByTitle(
      Programme programme, Prescription prescription) {
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
            variable.map(ProgressionVariable::title).orElseGet(() -> capital(words(code))),
            value(value));
      }
    }
    return words;
  }

  private static boolean noneYet(Optional<ProgressionVariable> variable, Value value) {
    return value instanceof Amount amount
        && amount.isZero()
        && variable.filter(known -> known.harder() == Direction.INCREASE).isPresent();
  }

  private static String amountOf(Dose dose) {
    if (dose.repetitions() > 0) {
      String held = dose.holdSeconds() > 0 ? ", each held " + seconds(dose.holdSeconds()) : "";
      String within = dose.timeSeconds() > 0 ? " within " + seconds(dose.timeSeconds()) : "";
      return count(dose.sets(), "set")
          + " of "
          + count(dose.repetitions(), "repetition")
          + held
          + within;
    }
    if (dose.holdSeconds() > 0) {
      return count(dose.sets(), "hold") + " of " + seconds(dose.holdSeconds());
    }
    if (dose.timeSeconds() > 0) {
      return dose.sets() == 1
          ? seconds(dose.timeSeconds())
          : count(dose.sets(), "set") + " of " + seconds(dose.timeSeconds());
    }
    return dose.sets() == 1 ? "" : count(dose.sets(), "set");
  }

  private static String often(Dose dose) {
    int times = dose.timesPerWeek();
    if (times % DAYS_OF_A_WEEK == 0) {
      int daily = times / DAYS_OF_A_WEEK;
      return daily == 1 ? "daily" : times(daily) + " a day";
    }
    return times(times) + " a week";
  }

  private static String times(int times) {
    return switch (times) {
      case 1 -> "once";
      case 2 -> "twice";
      default -> times + " times";
    };
  }

  private static String count(int number, String thing) {
    return number + " " + thing + (number == 1 ? "" : "s");
  }

  private static String seconds(int seconds) {
    boolean minutes = seconds > SECONDS_OF_A_MINUTE && seconds % SECONDS_OF_A_MINUTE == 0;
    return minutes ? seconds / SECONDS_OF_A_MINUTE + " min" : seconds + " s";
  }

  private static String unit(Unit unit) {
    return switch (unit) {
      case DEGREE -> "°";
      case SCORE, COUNT -> "";
      case CENTIMETRE, KILOGRAM, MINUTE, SECOND -> " " + unit.ucum();
    };
  }

  private static String variable(Programme programme, Change change) {
    return withinSentence(variable(programme, change.variation(), change.variable()));
  }

  private static String variable(Programme programme, String variation, String variable) {
    return programme
        .variation(variation)
        .flatMap(known -> known.variable(variable))
        .map(ProgressionVariable::title)
        .orElseGet(() -> capital(words(variable)));
  }

  private static String eased(Programme programme, Change change) {
    if (change.eased().isEmpty()) {
      return "";
    }
    return change.eased().stream()
        .map(code -> withinSentence(variable(programme, change.variation(), code)))
        .collect(Collectors.joining(", ", "; made easier with it: ", ""));
  }

  private static String comma(String text) {
    return text.isEmpty() ? "" : ", " + text;
  }

  private static String moves(String from, String to) {
    if (from.equals(to)) {
      return "";
    }
    if (from.isEmpty()) {
      return "to " + to;
    }
    return to.isEmpty() ? "no longer " + from : "from " + from + " to " + to;
  }

  /**
   * One side of a change. It is a stage, a dose, a value, or several settings with a dose, each as
   * the decision wrote it.
   */
  private static String side(Programme programme, Change change, String text) {
    if (change.variable().isBlank() && programme.stage(text).isPresent()) {
      return "“" + stage(programme, text) + "”";
    }
    return Arrays.stream(text.split(", "))
        .map(part -> part(programme, change.variation(), part))
        .collect(Collectors.joining(", "));
  }

  private static String part(Programme programme, String variation, String text) {
    int blank = text.indexOf(' ');
    String first = blank < 0 ? text : text.substring(0, blank);
    String rest = blank < 0 ? "" : text.substring(blank + 1);
    boolean named =
        programme.variation(variation).flatMap(known -> known.variable(first)).isPresent();
    if (named) {
      return withinSentence(variable(programme, variation, first)) + " " + written(rest);
    }
    return written(text);
  }

  private static String written(String text) {
    String degrees = " " + Unit.DEGREE.ucum();
    if (text.endsWith(degrees)) {
      return text.substring(0, text.length() - degrees.length()) + unit(Unit.DEGREE);
    }
    return words(text);
  }
}
