package org.tidemark.fhir;

import ca.uhn.fhir.context.FhirContext;
import java.math.BigDecimal;
import java.time.OffsetDateTime;
import java.util.ArrayList;
import java.util.List;
import java.util.Locale;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import org.hl7.fhir.r4.model.Resource;
import org.tidemark.decision.Change;
import org.tidemark.decision.Decision;
import org.tidemark.decision.FactSource;
import org.tidemark.decision.GoalReading;
import org.tidemark.decision.RangeCourse;
import org.tidemark.decision.RangeFigures;
import org.tidemark.decision.Reason;
import org.tidemark.decision.Verdict;
import org.tidemark.decision.Warning;
import org.tidemark.programme.Direction;
import org.tidemark.programme.Dose;
import org.tidemark.programme.DoseLadder;
import org.tidemark.programme.Exercise;
import org.tidemark.programme.GoalDefinition;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.Programme;
import org.tidemark.programme.ProgrammeId;
import org.tidemark.programme.ProgressionVariable;
import org.tidemark.programme.Setting;
import org.tidemark.programme.Side;
import org.tidemark.programme.Source;
import org.tidemark.programme.Stage;
import org.tidemark.programme.Variation;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Grade;
import org.tidemark.quantity.PainScore;
import org.tidemark.quantity.Unit;
import org.tidemark.trend.Forecast;
import org.tidemark.trend.MeasuringMethod;
import org.tidemark.trend.Plateau;
import org.tidemark.trend.RangeSeries;
import org.tidemark.trend.Reading;
import org.tidemark.trend.Trend;

/** A small programme and decisions about one invented person, to write. */
final class Sample {
  static final FhirContext R4 = FhirContext.forR4Cached();
  static final OffsetDateTime AS_OF = OffsetDateTime.parse("2026-05-04T07:30:00+02:00");
  static final Dose TWO_TENS = new Dose(2, 10, 0, 0, 7);

  static final Variation ROCK =
      new Variation(
          "split-squat-rock",
          "Rocking forward into the full bend",
          "Put your front foot on the step. Rock forward into the full bend and back.",
          true,
          true,
          Map.of(),
          List.of(
              variable(
                  "step-height",
                  "Height of the step under the front foot",
                  Direction.DECREASE,
                  new Source.Stack(List.of("book"), Amount.of(60, Unit.CENTIMETRE))),
              variable(
                  "hand-assist",
                  "Help of the hands",
                  Direction.DECREASE,
                  new Source.Grades(
                      List.of(new Grade("two-hands"), new Grade("one-hand"), new Grade("none")),
                      Optional.empty())),
              variable(
                  "dumbbell-load",
                  "Dumbbell in each hand",
                  Direction.INCREASE,
                  new Source.OneOf("dumbbell-pair", Unit.KILOGRAM, true))),
          new DoseLadder(List.of(new Dose(1, 10, 0, 0, 7), TWO_TENS), 1),
          Optional.empty());

  static final Prescription STEP =
      new Prescription(
          "body-weight",
          ROCK.code(),
          new Setting(
              Map.of(
                  "step-height", Amount.of("17.5", Unit.CENTIMETRE),
                  "hand-assist", new Grade("one-hand"),
                  "dumbbell-load", Amount.zero(Unit.KILOGRAM))),
          TWO_TENS);

  static final Programme PROGRAMME = programme("Full bend under load", ROCK);
  static final PlanIdentity PLAN = plan(PROGRAMME);

  /** The plan in German, as far as its programme is translated. */
  static final PlanIdentity GERMAN = plan(PROGRAMME, Locale.GERMAN);

  static final Texts TEXTS = PLAN.texts();
  static final PrescriptionText WORDS = PLAN.words();

  static final Change LOWER =
      new Change(Change.Kind.VARIABLE, ROCK.code(), "step-height", "24 cm", "17.5 cm", List.of());

  private Sample() {}

  static PlanIdentity plan(Programme programme) {
    return plan(programme, Locale.ENGLISH);
  }

  static PlanIdentity plan(Programme programme, Locale language) {
    return new PlanIdentity(
        "plan-1",
        "Patient/ines-marlow",
        Side.RIGHT,
        programme,
        "Device/tidemark-engine",
        "Organization/clinic",
        language);
  }

  static Programme programme(String title, Variation variation) {
    Exercise exercise =
        new Exercise(
            variation,
            Exercise.Role.LEAD,
            List.of(),
            Map.of(),
            0,
            List.of("step-height", "hand-assist"));
    return new Programme(
        new ProgrammeId(Codes.BASE + "/PlanDefinition/sample", "1.0.0"),
        title,
        Set.of(
            Codes.SNOMED_KNEE,
            Codes.SNOMED_KNEE_JOINT,
            Codes.SNOMED_LEFT_KNEE,
            Codes.SNOMED_RIGHT_KNEE),
        List.of(),
        List.of(),
        List.of(
            new Stage(
                "unloaded",
                "Bending without load",
                new BigDecimal("0.25"),
                List.of(),
                List.of(exercise)),
            new Stage(
                "body-weight",
                "Bending with your own weight",
                new BigDecimal("0.20"),
                List.of(),
                List.of(exercise))),
        List.of(),
        List.of(),
        3,
        Programme.USUAL_DEMAND_CAP,
        Programme.USUAL_ADHERENCE);
  }

  static ProgressionVariable variable(String code, String title, Direction harder, Source source) {
    return new ProgressionVariable(
        code,
        title,
        harder,
        source,
        Optional.empty(),
        Optional.empty(),
        Optional.empty(),
        BigDecimal.ZERO,
        List.of());
  }

  static GoalDefinition goal(GoalDefinition.Kind of, String measure, Direction direction) {
    return new GoalDefinition(
        "goal",
        "A goal",
        measure,
        of,
        Optional.empty(),
        Optional.empty(),
        Optional.empty(),
        List.of(),
        direction);
  }

  /** How a range has gone by its readings. */
  static RangeFigures range(Reading... readings) {
    Trend trend = Trend.of(RangeSeries.of(List.of(readings)));
    return new RangeFigures(
        "goal",
        trend.at(),
        trend.level(),
        trend.slopePerWeek(),
        trend.change(),
        trend.outOfLine().size(),
        Plateau.find(trend).map(Plateau::since));
  }

  /** The course of a range toward a target, from readings a week apart by goniometer. */
  static RangeCourse course(long target, double... degrees) {
    OffsetDateTime first = OffsetDateTime.parse("2026-03-02T09:00:00+01:00");
    List<Reading> readings = new ArrayList<>();
    List<FactSource> sources = new ArrayList<>();
    for (int week = 0; week < degrees.length; week++) {
      readings.add(Reading.of(first.plusWeeks(week), degrees[week], MeasuringMethod.GONIOMETER));
      sources.add(new FactSource("Observation", "range-" + week, 1));
    }
    Trend trend = Trend.of(RangeSeries.of(readings));
    GoalReading goal =
        new GoalReading(
            goal(GoalDefinition.Kind.BODY, "comfortable-flexion", Direction.INCREASE),
            Optional.of(
                new GoalReading.Target(
                    Amount.of(target, Unit.DEGREE),
                    GoalReading.Basis.MEASURED,
                    "other-side-flexion")),
            Optional.empty(),
            Optional.empty(),
            false);
    return new RangeCourse(
        goal, trend, Optional.of(Forecast.of(trend, target)), Plateau.find(trend), sources);
  }

  static Decision progress() {
    return new Builder(Verdict.PROGRESS, Reason.SETTLED).change(LOWER).inForce(STEP).decision();
  }

  static Decision warned() {
    return new Builder(Verdict.WITHHOLD, Reason.WARNING_OPEN, Reason.FLARE)
        .warnings(Warning.NIGHT_PAIN, Warning.CALF_SWELLING)
        .reviewAsked()
        .decision();
  }

  static Decision incomplete() {
    return new Builder(Verdict.INCOMPLETE, Reason.BASELINE_INCOMPLETE)
        .missing("gap|contact", "can-kneel")
        .decision();
  }

  static Builder maintain(Reason... reasons) {
    return new Builder(Verdict.MAINTAIN, reasons).inForce(STEP);
  }

  /** What the resource is once it has been stored and read again. */
  static <T extends Resource> T stored(Class<T> type, T resource) {
    return R4.newJsonParser()
        .parseResource(type, R4.newJsonParser().encodeResourceToString(resource));
  }

  /** A decision in the making. */
  static final class Builder {
    private final Verdict verdict;
    private final List<Reason> reasons;
    private Optional<Change> change = Optional.empty();
    private List<Prescription> inForce = List.of();
    private List<Prescription> proposal = List.of();
    private List<Change.Considered> considered = List.of();
    private Set<Warning> warnings = Set.of();
    private List<String> precautions = List.of();
    private List<String> missing = List.of();
    private boolean reviewAsked;
    private OffsetDateTime asOf = AS_OF;
    private Decision.Figures figures =
        new Decision.Figures(
            8,
            1,
            0.7996,
            0.80,
            0.20,
            1,
            0.958,
            0,
            Optional.of(PainScore.NONE),
            Optional.empty(),
            List.of());

    Builder(Verdict verdict, Reason... reasons) {
      this.verdict = verdict;
      this.reasons = List.of(reasons);
    }

    Builder change(Change made) {
      change = Optional.of(made);
      return this;
    }

    Builder inForce(Prescription... prescriptions) {
      inForce = List.of(prescriptions);
      return this;
    }

    Builder proposal(Prescription... prescriptions) {
      proposal = List.of(prescriptions);
      return this;
    }

    Builder considered(Change.Considered... weighed) {
      considered = List.of(weighed);
      return this;
    }

    Builder warnings(Warning... open) {
      warnings = Set.of(open);
      return this;
    }

    Builder precautions(String... words) {
      precautions = List.of(words);
      return this;
    }

    Builder missing(String... items) {
      missing = List.of(items);
      return this;
    }

    Builder figures(Decision.Figures other) {
      figures = other;
      return this;
    }

    Builder asOf(String time) {
      asOf = OffsetDateTime.parse(time);
      return this;
    }

    Builder reviewAsked() {
      reviewAsked = true;
      return this;
    }

    Decision decision() {
      return new Decision(
          asOf,
          verdict,
          reasons,
          change,
          change.isPresent() && !proposal.isEmpty(),
          inForce,
          proposal,
          considered,
          figures,
          List.of(new FactSource("Observation", "s1", 2), new FactSource("Observation", "base", 1)),
          warnings,
          precautions,
          missing,
          reviewAsked);
    }
  }
}
