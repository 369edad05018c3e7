package org.tidemark.report;

import java.time.LocalDate;
import java.time.format.DateTimeFormatter;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;
import java.util.Locale;
import java.util.Map;
import java.util.Optional;
import java.util.stream.Stream;
import org.tidemark.decision.Decision;
import org.tidemark.decision.Verdict;
import org.tidemark.decision.Warning;
import org.tidemark.demand.Build;
import org.tidemark.programme.Dose;
import org.tidemark.programme.Precaution;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.Variation;

/**
 * What a person is handed: today's exercises, how much, what to write down, and when to stop, in
 * words that a twelve-year-old understands.
 *
 * @param language of all its words, as in an HTML {@code lang}
 * @param words the words that do not change, by their keys
 * @param name whose it is; blank where it is not known
 * @param title the plan with its side
 * @param date the day on which it was written
 * @param stop why there is no exercise, the most pressing first; empty when there is
 * @param exercises what to do
 * @param questions what to write down
 * @param limits what others have set for the person
 * @param signs the signs that stop all exercise, by what to do about them
 * @param clinic the name of the clinic
 * @param contact how it is reached; empty where that is not known
 */
public record Handout(
    String language,
    Map<String, String> words,
    String name,
    String title,
    String date,
    List<String> stop,
    List<Exercise> exercises,
    List<Question> questions,
    List<String> limits,
    List<Signs> signs,
    String clinic,
    List<String> contact) {
  private static final double PICTURE_WIDTH_MM = 82;
  private static final double PICTURE_HEIGHT_MM = 105;
  private static final String RUNNING = "active";

  /**
   * An exercise.
   *
   * @param amount how much, and how often
   * @param settings how it is set
   * @param how how it is done
   * @param picture how the person stands in it, if there is a picture
   */
  public record Exercise(
      String title, List<String> amount, List<String> settings, String how, Figure picture) {}

  /**
   * A question of the diary.
   *
   * @param answer what is ticked; blank where something is written
   */
  public record Question(String text, String answer) {}

  /** Signs and what to do about them. */
  public record Signs(String urgency, List<String> signs) {}

  /**
   * The handout of a plan as it stands.
   *
   * @param locale the language: English or German, English for any other
   */
  public static Handout of(PaperPlan plan, Locale locale) {
    Words words = Words.ofPapers(locale);
    List<String> stop = stop(plan, words);
    List<Prescription> asked = stop.isEmpty() ? plan.chronicle().now().inForce() : List.of();
    ExerciseWords exercises = new ExerciseWords(plan.programme(), locale);
    return new Handout(
        words.language(),
        words.all("handout."),
        plan.person().name().orElse(""),
        title(plan, words),
        date(plan, words),
        stop,
        asked.stream().map(asking -> exercise(plan, asking, exercises, locale)).toList(),
        questions(plan, asked, words),
        limits(plan),
        signs(words),
        plan.clinic().name(),
        plan.clinic().contact());
  }

  static String title(PaperPlan plan, Words words) {
    String side = "side." + plan.side().code();
    String where =
        plan.programme().bodyRegions().stream()
            .flatMap(region -> words.find(side + "." + region).stream())
            .findFirst()
            .orElseGet(() -> words.of(side));
    return plan.programme().title() + ", " + where;
  }

  static String date(PaperPlan plan, Words words) {
    return day(plan.today(), words);
  }

  static String day(LocalDate day, Words words) {
    return DateTimeFormatter.ofPattern(words.of("date"), words.locale()).format(day);
  }

  /** Why nothing is to be done; empty when something is. */
  private static List<String> stop(PaperPlan plan, Words words) {
    Optional<Decision> last = plan.chronicle().now().last();
    if (!RUNNING.equals(plan.status()) || last.isEmpty()) {
      return List.of(words.find("stop." + plan.status()).orElseGet(() -> words.of("stop.other")));
    }
    Decision decision = last.get();
    if (!decision.inForce().isEmpty()) {
      return List.of();
    }
    List<String> why = new ArrayList<>();
    decision.warnings().stream()
        .map(Warning::urgency)
        .min(Warning.Urgency::compareTo)
        .ifPresent(urgency -> why.add(words.of("urgency." + code(urgency)) + "."));
    if (decision.verdict() == Verdict.INCOMPLETE) {
      why.add(words.of("stop.incomplete"));
    }
    decision.reasons().stream()
        .flatMap(reason -> words.find("why." + reason.code()).stream())
        .forEach(why::add);
    decision.warnings().forEach(sign -> why.add(words.of("sign." + sign.code())));
    why.add(words.of("stop.until"));
    return why;
  }

  private static Exercise exercise(
      PaperPlan plan, Prescription asked, ExerciseWords exercises, Locale locale) {
    Build build = Build.of(plan.chronicle().now().person().items());
    Optional<Figure> picture =
        plan.programme()
            .variation(asked.variation())
            .flatMap(variation -> PostureDrawing.svg(asked, variation, build, locale))
            .map(svg -> Figure.of(svg, PICTURE_WIDTH_MM, PICTURE_HEIGHT_MM));
    return new Exercise(
        exercises.title(asked.variation()),
        List.of(exercises.amount(asked.dose()), exercises.often(asked.dose())),
        exercises.settings(asked),
        exercises.how(asked.variation()),
        picture.orElse(null));
  }

  /** What the forms for session and morning ask, where it belongs to what is asked today. */
  private static List<Question> questions(PaperPlan plan, List<Prescription> asked, Words words) {
    if (asked.isEmpty()) {
      return List.of();
    }
    List<Dose> doses = asked.stream().map(Prescription::dose).toList();
    boolean contact =
        asked.stream()
            .flatMap(asking -> plan.programme().variation(asking.variation()).stream())
            .anyMatch(Variation::contactAsked);
    return Stream.of(
            Optional.of("sets-done"),
            when(doses.stream().anyMatch(dose -> dose.repetitions() > 0), "repetitions-done"),
            when(doses.stream().anyMatch(dose -> dose.holdSeconds() > 0), "hold-done"),
            when(doses.stream().anyMatch(dose -> dose.timeSeconds() > 0), "time-done"),
            when(contact, "contact"),
            Optional.of("pain-during"),
            Optional.of("pain-after"),
            Optional.of("effort"),
            Optional.of("pain-next-morning"),
            Optional.of("stiffness"),
            Optional.of("more-swollen"),
            Optional.of("would-repeat"))
        .flatMap(Optional::stream)
        .map(
            item ->
                new Question(
                    words.of("ask." + item), words.find("ask." + item + ".tick").orElse("")))
        .toList();
  }

  private static Optional<String> when(boolean asked, String item) {
    return asked ? Optional.of(item) : Optional.empty();
  }

  /** The words of the precautions in force. */
  static List<String> limits(PaperPlan plan) {
    return plan.chronicle().now().person().precautions().stream()
        .filter(precaution -> precaution.holdsOn(plan.today()))
        .map(Precaution::text)
        .distinct()
        .toList();
  }

  private static List<Signs> signs(Words words) {
    return Arrays.stream(Warning.Urgency.values())
        .map(
            urgency ->
                new Signs(
                    words.of("urgency." + code(urgency)),
                    Arrays.stream(Warning.values())
                        .filter(sign -> sign.urgency() == urgency)
                        .map(sign -> words.of("sign." + sign.code()))
                        .toList()))
        .toList();
  }

  private static String code(Warning.Urgency urgency) {
    return urgency.name().toLowerCase(Locale.ROOT);
  }
}
