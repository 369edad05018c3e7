package org.tidemark.application;

import io.quarkus.narayana.jta.QuarkusTransaction;
import io.quarkus.scheduler.Scheduled;
import jakarta.enterprise.context.ApplicationScoped;
import java.time.Duration;
import java.time.LocalDate;
import java.time.OffsetDateTime;
import java.util.ArrayList;
import java.util.Date;
import java.util.List;
import java.util.Optional;
import java.util.concurrent.atomic.AtomicInteger;
import java.util.stream.Stream;
import org.eclipse.microprofile.config.inject.ConfigProperty;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.Task;
import org.jboss.logging.Logger;
import org.tidemark.application.Matters.Due;
import org.tidemark.clinic.ActingClinic;
import org.tidemark.clinic.Clinics;
import org.tidemark.fhir.Matter;
import org.tidemark.store.LostRace;
import org.tidemark.store.SweepStore;

/**
 * Looks at every plan that runs once a day, for what only the clock brings about: silence,
 * precautions that have ended, answers that are overdue. It decides nothing; each of these becomes
 * a Task. Run again it raises nothing twice, and several instances share the plans.
 */
@ApplicationScoped
public class Sweep {
  private static final Logger LOG = Logger.getLogger(Sweep.class);
  private static final int AT_ONCE = 5;

  /** Plans that an instance has taken and not looked at by then are another's. */
  private static final Duration LEASE = Duration.ofMinutes(5);

  private final SweepStore shares;
  private final PlanBook book;
  private final Matters matters;
  private final Caseload caseload;
  private final Records records;
  private final Languages languages;
  private final ClinicClock clock;
  private final Clinics clinics;
  private final int silenceDays;
  private final int overdueDays;

  Sweep(
      SweepStore shares,
      PlanBook book,
      Matters matters,
      Caseload caseload,
      Records records,
      Languages languages,
      ClinicClock clock,
      Clinics clinics,
      @ConfigProperty(name = "tidemark.sweep.silence-days") int silenceDays,
      @ConfigProperty(name = "tidemark.sweep.overdue-days") int overdueDays) {
    this.shares = shares;
    this.book = book;
    this.matters = matters;
    this.caseload = caseload;
    this.records = records;
    this.languages = languages;
    this.clock = clock;
    this.clinics = clinics;
    this.silenceDays = silenceDays;
    this.overdueDays = overdueDays;
  }

  /** Sweeps by the clinic's clock. */
  @Scheduled(
      identity = "daily-sweep",
      cron = "{tidemark.sweep.cron}",
      timeZone = "{tidemark.time-zone}",
      concurrentExecution = Scheduled.ConcurrentExecution.SKIP)
  void daily() {
    clinics.each(
        () -> {
          OffsetDateTime now = clock.now();
          list(() -> shares.begin(now.toLocalDate()));
          LOG.infof(
              "The daily sweep has raised %d matters of the clinic %s.",
              shareOf(now), ActingClinic.current());
        });
  }

  /** Whoever lists plans at the same moment lists the same. */
  private static void list(Runnable work) {
    try {
      QuarkusTransaction.requiringNew().run(work);
    } catch (RuntimeException e) {
      if (!LostRace.isLostRace(e)) {
        throw e;
      }
    }
  }

  /**
   * Sweeps all plans of all clinics as of a time.
   *
   * @param now the time
   * @return how many matters it raised
   */
  public int run(OffsetDateTime now) {
    AtomicInteger raised = new AtomicInteger();
    clinics.each(
        () -> {
          list(shares::listAll);
          raised.addAndGet(shareOf(now));
        });
    return raised.get();
  }

  /** Takes some plans after the other, until none is left that nobody has taken. */
  private int shareOf(OffsetDateTime now) {
    int raised = 0;
    List<String> some = take();
    while (!some.isEmpty()) {
      for (String id : some) {
        raised += one(id, now);
      }
      List<String> seen = some;
      QuarkusTransaction.requiringNew().run(() -> shares.done(seen));
      some = take();
    }
    return raised;
  }

  private List<String> take() {
    long now = clock.now().toInstant().toEpochMilli();
    return QuarkusTransaction.requiringNew()
        .call(() -> shares.take(now, now + LEASE.toMillis(), AT_ONCE));
  }

  /** One plan that cannot be looked at does not keep the others from it. */
  private int one(String planId, OffsetDateTime now) {
    LOG.debugf("looks at CarePlan/%s", planId);
    try {
      Optional<RunningPlan> plan = QuarkusTransaction.requiringNew().call(() -> seen(planId, now));
      return plan.map(RunningPlan::subject)
          .map(subject -> records.inTurn(subject, () -> raise(planId, now)))
          .orElse(0);
    } catch (RuntimeException e) {
      LOG.warnf("The daily sweep could not look at CarePlan/%s.", planId);
      if (Faults.outage(e).isEmpty()) {
        Faults.log(e);
      }
      return 0;
    }
  }

  /** The plan, when something is to be raised. */
  private Optional<RunningPlan> seen(String planId, OffsetDateTime now) {
    return book.find(planId)
        .filter(RunningPlan::open)
        .filter(plan -> !matters.fresh(plan, due(plan, now)).isEmpty());
  }

  /** In the person's turn: what was seen may have been raised, or may have ended, since. */
  private int raise(String planId, OffsetDateTime now) {
    Optional<RunningPlan> plan = seen(planId, now);
    if (plan.isEmpty()) {
      return 0;
    }
    List<Due> fresh = matters.fresh(plan.get(), due(plan.get(), now));
    fresh.forEach(matter -> matters.raise(plan.get(), matter, now));
    caseload.keep(plan.get());
    return fresh.size();
  }

  private List<Due> due(RunningPlan plan, OffsetDateTime now) {
    if (plan.state().enrolment().isEmpty()) {
      return List.of();
    }
    List<Due> due = new ArrayList<>();
    silence(plan, now).ifPresent(due::add);
    LocalDate today = now.atZoneSameInstant(clock.zone()).toLocalDate();
    due.addAll(Matters.precautions(plan, today, clock.zone()));
    Matters.tasks(plan).forEach(task -> overdue(task, now).ifPresent(due::add));
    return due;
  }

  /**
   * Nothing was reported for some days; what was prescribed anew meanwhile is given as many days.
   */
  private Optional<Due> silence(RunningPlan plan, OffsetDateTime now) {
    OffsetDateTime heard = Matters.heard(plan);
    OffsetDateTime limit = now.minusDays(silenceDays);
    if (!Matters.isPrescribed(plan) || heard.isAfter(limit)) {
      return Optional.empty();
    }
    Stream<Resource> orders =
        plan.issued().orders().stream()
            .flatMap(order -> records.find("ServiceRequest", order.id()).stream());
    boolean newer = orders.anyMatch(order -> written(order).after(Date.from(limit.toInstant())));
    return newer
        ? Optional.empty()
        : Optional.of(
            new Due(
                Matter.SILENCE,
                "",
                "CarePlan/" + plan.id(),
                heard,
                languages
                    .texts()
                    .of("matter.silence.heard", languages.texts().day(heard.toLocalDate()))));
  }

  private Optional<Due> overdue(String id, OffsetDateTime now) {
    Task task = records.find(Task.class, id).orElseThrow();
    OffsetDateTime asked = written(task).toInstant().atZone(clock.zone()).toOffsetDateTime();
    boolean waits = Issuing.OPEN.contains(task.getStatus());
    return waits && !asked.isAfter(now.minusDays(overdueDays))
        ? Optional.of(
            new Due(Matter.OVERDUE, id, "Task/" + id, asked, task.getCode().getText() + "."))
        : Optional.empty();
  }

  private static Date written(Resource resource) {
    return resource.getMeta().getLastUpdated();
  }
}
