package org.tidemark.report;

import java.time.LocalDate;
import java.time.temporal.ChronoUnit;
import java.util.ArrayList;
import java.util.Comparator;
import java.util.List;
import java.util.Locale;
import java.util.Optional;
import java.util.OptionalDouble;
import java.util.stream.IntStream;
import java.util.stream.Stream;
import org.tidemark.decision.Chronicle;
import org.tidemark.decision.Decision;
import org.tidemark.decision.GoalReading;
import org.tidemark.decision.RangeCourse;
import org.tidemark.decision.Verdict;
import org.tidemark.programme.Precaution;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.Programme;
import org.tidemark.programme.ProgressionVariable;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Unit;
import org.tidemark.trend.Reading;
import org.tidemark.trend.Trend;

/** What a chart shows of a plan: how it has gone, in the reader's language. */
public final class PlanProgress {
  /** Two-sided 95 % quantile of the standard normal distribution. */
  private static final double Z_95 = 1.96;

  private static final int WEEK = 7;

  /** The forecast is drawn half as far ahead as was measured, within these bounds, days. */
  private static final long LEAST_AHEAD = 28;

  private static final long MOST_AHEAD = 182;

  private final Programme programme;
  private final Chronicle chronicle;
  private final ExerciseWords exercises;
  private final Words words;

  /**
   * What the leading variable was set to.
   *
   * @param steps each value until the next
   */
  private record Stairs(String variation, String variable, Unit unit, List<Progress.Step> steps) {}

  /**
   * A plan as its chart shows it: the first of its goals whose range was measured, and the amount
   * of the leading exercise that has moved most often.
   *
   * @param programme the programme of the plan, in the language of the chart
   * @param locale the language: English or German, English for any other
   */
  public static Progress of(Programme programme, Chronicle chronicle, Locale locale) {
    return new PlanProgress(programme, chronicle, locale).progress();
  }

  private PlanProgress(Programme programme, Chronicle chronicle, Locale locale) {
    this.programme = programme;
    this.chronicle = chronicle;
    this.exercises = new ExerciseWords(programme, locale);
    this.words = Words.ofPapers(locale);
  }

  private Progress progress() {
    Optional<RangeCourse> course =
        programme.goals().stream()
            .flatMap(goal -> RangeCourse.read(goal, chronicle.now()).stream())
            .findFirst();
    Optional<Stairs> stairs = stairs();
    return new Progress(
        course.map(PlanProgress::readings).orElse(List.of()),
        course
            .map(known -> OptionalDouble.of(known.trend().change().shownFromDegrees()))
            .orElse(OptionalDouble.empty()),
        course.map(known -> trend(known.trend())).orElse(List.of()),
        course.map(PlanProgress::forecast).orElse(List.of()),
        course.flatMap(PlanProgress::goal).map(OptionalDouble::of).orElse(OptionalDouble.empty()),
        stairs.map(known -> exercises.variable(known.variation(), known.variable())).orElse(""),
        stairs.map(Stairs::steps).orElse(List.of()),
        stairs.map(Stairs::unit).orElse(Unit.COUNT),
        chronicle.sessions().stream()
            .map(went -> new Progress.Session(went.at().toLocalDate(), went.response()))
            .toList(),
        notes(),
        periods());
  }

  private static List<Progress.Reading> readings(RangeCourse course) {
    return course.trend().series().readings().stream()
        .map(
            reading ->
                new Progress.Reading(
                    day(reading),
                    reading.degrees(),
                    Z_95 * reading.method().standardErrorDegrees()))
        .toList();
  }

  /** One level a day: the last of those read on it. */
  private static List<Progress.Level> trend(Trend trend) {
    List<Reading> readings = trend.series().readings();
    List<Double> levels = trend.levels();
    return IntStream.range(0, readings.size())
        .filter(
            i -> i == readings.size() - 1 || !day(readings.get(i)).equals(day(readings.get(i + 1))))
        .mapToObj(i -> new Progress.Level(day(readings.get(i)), levels.get(i)))
        .toList();
  }

  /** Nothing where no arrival can be forecast: then no figure would be honest. */
  private static List<Progress.Fan> forecast(RangeCourse course) {
    boolean told =
        course.forecast().map(f -> f.match(arrival -> true, cannot -> false)).orElse(false);
    if (!told) {
      return List.of();
    }
    Trend trend = course.trend();
    LocalDate from = trend.at().toLocalDate();
    long measured = ChronoUnit.DAYS.between(day(trend.series().readings().get(0)), from);
    long until = Math.max(LEAST_AHEAD, Math.min(MOST_AHEAD, measured / 2));
    List<Progress.Fan> fan = new ArrayList<>();
    for (long days = 0; days <= until; days += WEEK) {
      Trend.Ahead ahead = trend.ahead(days);
      fan.add(new Progress.Fan(from.plusDays(days), ahead.low(), ahead.middle(), ahead.high()));
    }
    return fan;
  }

  private static Optional<Double> goal(RangeCourse course) {
    return course
        .goal()
        .target()
        .map(GoalReading.Target::value)
        .filter(value -> value instanceof Amount amount && amount.unit() == Unit.DEGREE)
        .map(value -> ((Amount) value).value().doubleValue());
  }

  /** Of the leading exercise as it stood last, the amount that has moved most often. */
  private Optional<Stairs> stairs() {
    List<Prescription> lead =
        chronicle.changes().stream()
            .flatMap(decision -> Chronicle.lead(programme, decision.inForce()).stream())
            .toList();
    if (lead.isEmpty()) {
      return Optional.empty();
    }
    String variation = lead.get(lead.size() - 1).variation();
    return programme.variation(variation).stream()
        .flatMap(known -> known.variables().stream())
        .map(ProgressionVariable::code)
        .flatMap(variable -> stairs(variation, variable).stream())
        .max(Comparator.comparingInt((Stairs stairs) -> stairs.steps().size()));
  }

  private Optional<Stairs> stairs(String variation, String variable) {
    List<Progress.Step> steps = new ArrayList<>();
    Optional<Amount> stands = Optional.empty();
    for (Decision decision : chronicle.changes()) {
      Optional<Amount> now =
          decision.inForce().stream()
              .filter(prescription -> prescription.variation().equals(variation))
              .flatMap(prescription -> Stream.ofNullable(prescription.setting().get(variable)))
              .filter(Amount.class::isInstance)
              .map(Amount.class::cast)
              .findFirst();
      if (now.isPresent() && !now.equals(stands)) {
        steps.add(
            new Progress.Step(decision.asOf().toLocalDate(), now.get().value().doubleValue()));
        stands = now;
      }
    }
    return stands.map(amount -> new Stairs(variation, variable, amount.unit(), steps));
  }

  private List<Progress.Note> notes() {
    List<Progress.Note> notes = new ArrayList<>();
    List<Prescription> before = List.of();
    for (Decision decision : chronicle.changes()) {
      notes.add(new Progress.Note(decision.asOf().toLocalDate(), note(before, decision)));
      before = decision.inForce();
    }
    return notes;
  }

  private String note(List<Prescription> before, Decision decision) {
    String why =
        decision.reasons().stream()
            .flatMap(reason -> words.find("why." + reason.code()).stream())
            .findFirst()
            .map(reason -> " " + reason)
            .orElse("");
    String key =
        before.isEmpty() && decision.verdict() != Verdict.PLACE
            ? "decision.resume"
            : "decision." + decision.verdict().code();
    return words.of(key, exercises.change(before, decision.inForce())) + why;
  }

  private List<Progress.Period> periods() {
    return chronicle.now().person().precautions().stream()
        .distinct()
        .map(p -> new Progress.Period(p.from(), end(p), p.text()))
        .toList();
  }

  /** The last day, where it is known by now. */
  private static Optional<LocalDate> end(Precaution precaution) {
    return precaution.needsClearance() && !precaution.lifted()
        ? Optional.empty()
        : precaution.until();
  }

  private static LocalDate day(Reading reading) {
    return reading.when().toLocalDate();
  }
}
