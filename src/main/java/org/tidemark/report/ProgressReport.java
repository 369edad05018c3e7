package org.tidemark.report;

import java.math.BigDecimal;
import java.math.RoundingMode;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;
import java.util.Locale;
import java.util.Map;
import java.util.Optional;
import org.tidemark.decision.Decision;
import org.tidemark.decision.GoalReading;
import org.tidemark.decision.RangeCourse;
import org.tidemark.decision.RangeFigures;
import org.tidemark.decision.Verdict;
import org.tidemark.fhir.Texts;
import org.tidemark.programme.Prescription;
import org.tidemark.trend.Forecast;

/**
 * What a referrer is sent: one page on where a person set out, where they stand, what was decided,
 * and what is asked of the reader.
 *
 * @param language of all its words, as in an HTML {@code lang}
 * @param words the words that do not change, by their keys
 * @param name whose it is; blank where it is not known
 * @param born the day of birth; blank where it is not known
 * @param title the plan with its side
 * @param date the day on which it was written
 * @param goals each goal with what is to be reached and what has been
 * @param change how the range has gone, held against the error of measuring
 * @param asked what is asked of the person now, a line for each exercise
 * @param chart how it has gone
 * @param decisions the newest decisions, by the numbers of the chart
 * @param earlier how many earlier ones are not told, in a sentence; blank when none
 * @param limits what others have set for the person
 * @param requests what is asked of the reader
 * @param clinic the name of the clinic
 * @param contact how it is reached
 */
public record ProgressReport(
    String language,
    Map<String, String> words,
    String name,
    String born,
    String title,
    String date,
    List<String> goals,
    List<String> change,
    List<String> asked,
    Figure chart,
    List<String> decisions,
    String earlier,
    List<String> limits,
    List<String> requests,
    String clinic,
    String contact) {
  private static final double CHART_WIDTH_MM = 96;

  /** How much is told, from the most to the least: a page has room for one of them. */
  public enum Room {
    WIDE(8, 150),
    USUAL(8, 122),
    NARROW(6, 108),
    TIGHT(4, 92),
    LEAST(2, 76);

    private final int decisions;
    private final double chartHeightMm;

    Room(int decisions, double chartHeightMm) {
      this.decisions = decisions;
      this.chartHeightMm = chartHeightMm;
    }
  }

  /**
   * The report of a plan as it stands.
   *
   * @param locale the language: English or German, English for any other
   * @param room how much is told
   */
  public static ProgressReport of(PaperPlan plan, Locale locale, Room room) {
    return new Writing(plan, locale).report(room);
  }

  /** The writing of one report. */
  private static final class Writing {
    private final PaperPlan plan;
    private final Locale locale;
    private final Words words;
    private final ExerciseWords exercises;

    private Writing(PaperPlan plan, Locale locale) {
      this.plan = plan;
      this.locale = locale;
      this.words = Words.ofPapers(locale);
      this.exercises = new ExerciseWords(plan.programme(), locale);
    }

    private ProgressReport report(Room room) {
      Progress whole = PlanProgress.of(plan.programme(), plan.chronicle(), locale);
      Progress newest = whole.newest(room.decisions);
      int earlier = whole.decisions().size() - newest.decisions().size();
      return new ProgressReport(
          words.language(),
          words.all("report."),
          plan.person().name().orElse(""),
          plan.person().born().map(day -> Handout.day(day, words)).orElse(""),
          Handout.title(plan, words),
          Handout.date(plan, words),
          goals(),
          change(),
          asked(),
          Figure.of(ProgressChart.numbered(newest, locale), CHART_WIDTH_MM, room.chartHeightMm),
          newest.decisions().stream()
              .map(note -> Handout.day(note.day(), words) + ": " + note.words())
              .toList(),
          earlier == 0 ? "" : words.of("earlier", earlier),
          Handout.limits(plan),
          requests(),
          plan.clinic().name(),
          String.join(", ", plan.clinic().contact()));
    }

    private List<String> goals() {
      return plan.programme().goals().stream()
          .map(goal -> GoalReading.read(goal, plan.chronicle().now()))
          .map(this::goal)
          .toList();
    }

    private String goal(GoalReading reading) {
      String title = reading.goal().title();
      List<String> parts = new ArrayList<>();
      reading
          .target()
          .ifPresent(t -> parts.add(words.of("goal.target", value(reading, t.value()))));
      reading.now().ifPresent(now -> parts.add(words.of("goal.now", value(reading, now))));
      if (reading.target().isPresent() && reading.met()) {
        parts.add(words.of("goal.met"));
      }
      return title + (parts.isEmpty() ? "" : ": " + String.join(", ", parts));
    }

    private String value(GoalReading reading, org.tidemark.quantity.Value value) {
      return value instanceof org.tidemark.quantity.Amount amount
          ? new Words(locale).amount(amount)
          : new Words(locale)
              .set(reading.goal().measure(), value)
              .orElseGet(() -> Texts.of(locale).value(value));
    }

    private List<String> change() {
      return plan.programme().goals().stream()
          .flatMap(goal -> RangeCourse.read(goal, plan.chronicle().now()).stream())
          .findFirst()
          .map(this::course)
          .orElseGet(() -> List.of(words.of("range.none")));
    }

    private List<String> course(RangeCourse course) {
      RangeFigures figures = course.figures();
      List<String> said = new ArrayList<>();
      said.add(
          words.of(
              "range.now",
              whole(figures.level().estimate()),
              whole(figures.level().low()),
              whole(figures.level().high()),
              Handout.day(figures.at().toLocalDate(), words)));
      String key = "range." + figures.change().verdict().name().toLowerCase(Locale.ROOT);
      said.add(
          words.of(
              key.replace('_', '-'),
              tenth(Math.abs(figures.change().degrees())),
              tenth(figures.change().shownFromDegrees())));
      course.forecast().map(told -> forecast(course, told)).ifPresent(said::add);
      return said;
    }

    private String forecast(RangeCourse course, Forecast forecast) {
      return forecast.match(
          arrival ->
              words.of(
                  "forecast.arrival",
                  Handout.day(
                      course.trend().at().toLocalDate().plusDays(Math.round(arrival.medianDays())),
                      words)),
          cannot ->
              words.of(
                  "forecast." + cannot.reason().name().toLowerCase(Locale.ROOT).replace('_', '-')));
    }

    private List<String> asked() {
      List<Prescription> inForce = plan.chronicle().now().inForce();
      if (inForce.isEmpty()) {
        return List.of(words.of("asked.nothing"));
      }
      return inForce.stream()
          .map(
              p ->
                  exercises.title(p.variation())
                      + ". "
                      + String.join(". ", exercises.settings(p))
                      + ". "
                      + exercises.amount(p.dose())
                      + " "
                      + exercises.often(p.dose()))
          .toList();
    }

    private List<String> requests() {
      List<String> requests = new ArrayList<>();
      Optional<Decision> last = plan.chronicle().now().last();
      last.filter(decision -> !decision.warnings().isEmpty())
          .ifPresent(
              decision ->
                  requests.add(
                      words.of(
                          "request.warning",
                          String.join(
                              " ",
                              decision.warnings().stream()
                                  .map(sign -> words.of("sign." + sign.code()))
                                  .toList()))));
      last.filter(decision -> !decision.proposal().isEmpty())
          .ifPresent(
              decision ->
                  requests.add(
                      words.of(
                          "request.proposal",
                          exercises.change(decision.inForce(), decision.proposal()))));
      last.filter(decision -> decision.reviewAsked() && decision.warnings().isEmpty())
          .ifPresent(decision -> requests.add(words.of("request.review")));
      last.filter(decision -> decision.verdict() == Verdict.INCOMPLETE)
          .ifPresent(
              decision ->
                  requests.add(words.of("request.missing", String.join(", ", missing(decision)))));
      requests.add(words.of("request.limits"));
      return requests;
    }

    private List<String> missing(Decision decision) {
      return decision.missing().stream()
          .map(
              group ->
                  String.join(
                      words.of("or"),
                      Arrays.stream(group.split("\\|"))
                          .map(item -> words.find("item." + item).orElse(item.replace('-', ' ')))
                          .toList()))
          .toList();
    }

    private static String whole(double degrees) {
      return BigDecimal.valueOf(degrees).setScale(0, RoundingMode.HALF_EVEN).toPlainString();
    }

    /** A tenth of a degree, with the sign of decimals of the language. */
    private String tenth(double degrees) {
      java.text.NumberFormat format = java.text.NumberFormat.getInstance(words.locale());
      format.setMinimumFractionDigits(1);
      format.setMaximumFractionDigits(1);
      return format.format(degrees);
    }
  }
}
