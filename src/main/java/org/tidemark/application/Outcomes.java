package org.tidemark.application;

import io.quarkus.narayana.jta.QuarkusTransaction;
import jakarta.enterprise.context.ApplicationScoped;
import java.time.LocalDate;
import java.time.ZoneOffset;
import java.util.ArrayList;
import java.util.Date;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.stream.Collectors;
import java.util.stream.Stream;
import org.hl7.fhir.r4.model.BaseDateTimeType;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.CarePlan.CarePlanStatus;
import org.hl7.fhir.r4.model.Extension;
import org.hl7.fhir.r4.model.Goal;
import org.hl7.fhir.r4.model.Goal.GoalLifecycleStatus;
import org.hl7.fhir.r4.model.MeasureReport;
import org.tidemark.fhir.Codes;
import org.tidemark.fhir.OutcomeReportWriter;
import org.tidemark.fhir.Problem;
import org.tidemark.response.Response;
import org.tidemark.store.OutcomeStore;
import org.tidemark.store.OutcomeStore.Count;
import org.tidemark.trend.OutcomeFigures;
import org.tidemark.trend.OutcomeFigures.Period;

/** Tells how the plans of the clinic have gone in a period. */
@ApplicationScoped
public class Outcomes {
  /** Before any plan. */
  private static final LocalDate BEGINNING = LocalDate.of(1900, 1, 1);

  private static final int AT_ONCE = 100;

  private final OutcomeStore store;
  private final Records records;
  private final Guard guard;
  private final ClinicClock clock;

  Outcomes(OutcomeStore store, Records records, Guard guard, ClinicClock clock) {
    this.store = store;
    this.records = records;
    this.guard = guard;
    this.clock = clock;
  }

  /**
   * How the plans of the clinic have gone. The CarePlans and Goals of all are read for it: some
   * milliseconds each.
   *
   * @param from the first day; empty for all up to the last
   * @param through the last day, today at the latest; empty for today
   * @throws Problem when the caller may not know of everyone, or the first day comes after the last
   */
  public MeasureReport report(Optional<LocalDate> from, Optional<LocalDate> through) {
    guard.requireClinic();
    LocalDate today = clock.now().toLocalDate();
    Period period =
        new Period(
            from.orElse(BEGINNING), through.filter(day -> day.isBefore(today)).orElse(today));
    if (period.from().isAfter(period.through())) {
      throw Problem.of(
          Problem.Kind.BAD_REQUEST,
          "The period ends before it begins.",
          "Parameters.parameter.where(name='periodStart')");
    }
    return OutcomeReportWriter.write(
        OutcomeFigures.of(period, plans(period)),
        period,
        from.isEmpty(),
        "Organization/" + Issuing.ORGANISATION,
        Date.from(clock.now().toInstant()));
  }

  /** What was counted, and when what was asked for. */
  private record Kept(
      Map<String, List<Count>> counts, Map<String, List<OutcomeStore.Asked>> asked) {}

  private List<OutcomeFigures.Plan> plans(Period period) {
    Kept kept =
        QuarkusTransaction.joiningExisting()
            .call(
                () ->
                    new Kept(
                        store.counts(period.from(), period.through()).stream()
                            .collect(Collectors.groupingBy(Count::planId)),
                        store.asked(period.through()).stream()
                            .collect(Collectors.groupingBy(OutcomeStore.Asked::planId))));
    List<OutcomeFigures.Plan> plans = new ArrayList<>();
    List<String> some = ids("");
    while (!some.isEmpty()) {
      List<String> ids = some;
      QuarkusTransaction.joiningExisting()
          .run(() -> ids.forEach(id -> plan(id, kept).ifPresent(plans::add)));
      some = ids(some.get(some.size() - 1));
    }
    return plans;
  }

  private List<String> ids(String after) {
    return QuarkusTransaction.joiningExisting().call(() -> store.plans(after, AT_ONCE));
  }

  private Optional<OutcomeFigures.Plan> plan(String id, Kept kept) {
    return records
        .find(CarePlan.class, id)
        .filter(plan -> plan.getStatus() != CarePlanStatus.ENTEREDINERROR)
        .map(
            plan ->
                plan(
                    plan,
                    kept.counts().getOrDefault(id, List.of()),
                    kept.asked().getOrDefault(id, List.of())));
  }

  private OutcomeFigures.Plan plan(
      CarePlan plan, List<Count> counts, List<OutcomeStore.Asked> asked) {
    return new OutcomeFigures.Plan(
        sum(counts.stream().filter(count -> !count.response().equals(Response.PENDING.code()))),
        sum(counts.stream().filter(count -> count.response().equals(Response.FLARED.code()))),
        sum(counts.stream().filter(Count::leading)),
        asked.stream()
            .map(entry -> new OutcomeFigures.Asked(entry.from(), entry.perWeek()))
            .toList(),
        ended(plan),
        plan.getGoal().stream()
            .flatMap(reference -> records.find(reference).stream())
            .map(Goal.class::cast)
            .flatMap(goal -> goal(goal).stream())
            .toList());
  }

  private static int sum(Stream<Count> counts) {
    return counts.mapToInt(Count::sessions).sum();
  }

  /** A plan that is over ended on the last day of its period, or else when that was written. */
  private static Optional<LocalDate> ended(CarePlan plan) {
    if (plan.getStatus() != CarePlanStatus.COMPLETED
        && plan.getStatus() != CarePlanStatus.REVOKED) {
      return Optional.empty();
    }
    return day(plan.getPeriod().getEndElement())
        .or(
            () ->
                Optional.of(
                    plan.getMeta()
                        .getLastUpdated()
                        .toInstant()
                        .atOffset(ZoneOffset.UTC)
                        .toLocalDate()));
  }

  private static Optional<OutcomeFigures.Goal> goal(Goal goal) {
    Optional<LocalDate> start =
        goal.hasStartDateType() ? day(goal.getStartDateType()) : Optional.empty();
    Extension code = goal.getExtensionByUrl(Codes.structure("goal-code"));
    boolean counts =
        goal.getLifecycleStatus() != GoalLifecycleStatus.ENTEREDINERROR
            && goal.getLifecycleStatus() != GoalLifecycleStatus.REJECTED;
    if (start.isEmpty() || code == null || !counts) {
      return Optional.empty();
    }
    Extension reached = goal.getExtensionByUrl(Codes.GOAL_REACHED);
    return Optional.of(
        new OutcomeFigures.Goal(
            code.getValue().primitiveValue(),
            start.get(),
            reached == null ? Optional.empty() : day((BaseDateTimeType) reached.getValue())));
  }

  /** The day of a time, as it is written; empty where it says only a month or a year. */
  private static Optional<LocalDate> day(BaseDateTimeType time) {
    String text = time.getValueAsString();
    return text == null || text.length() < "2026-01-01".length()
        ? Optional.empty()
        : Optional.of(LocalDate.parse(text.substring(0, "2026-01-01".length())));
  }
}
