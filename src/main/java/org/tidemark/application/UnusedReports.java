package org.tidemark.application;

import io.quarkus.narayana.jta.QuarkusTransaction;
import jakarta.enterprise.context.ApplicationScoped;
import java.time.LocalDate;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import org.hl7.fhir.r4.model.Task;
import org.tidemark.audit.Visit;
import org.tidemark.fhir.Codes;

/** Reports that were stored and could not be used, until a clinician has sorted them out. */
@ApplicationScoped
public class UnusedReports {
  /** What the Tasks ask for, as a search for them gives it. */
  private static final String SORT_OUT = Codes.CLINICIAN_TASK + "|sort-out";

  private final Records records;
  private final Caseload caseload;
  private final PlanBook book;
  private final ClinicClock clock;

  UnusedReports(Records records, Caseload caseload, PlanBook book, ClinicClock clock) {
    this.clock = clock;
    this.records = records;
    this.caseload = caseload;
    this.book = book;
  }

  /**
   * A report that waits to be sorted out.
   *
   * @param task the Task that asks for it
   * @param since the day it came, in the clinic's zone
   * @param person the person's name; the id where there is none
   * @param planId a plan of the person that runs, if one does
   */
  public record Unused(Task task, LocalDate since, String person, Optional<String> planId) {}

  /**
   * The newest of everyone.
   *
   * @param most how many at the most
   */
  public List<Unused> newest(int most) {
    return QuarkusTransaction.joiningExisting()
        .call(
            () ->
                records
                    .newest(Task.class, Map.of("code", SORT_OUT, "status", "requested"), most)
                    .stream()
                    .filter(UnusedReports::isWhole)
                    .map(this::unused)
                    .toList());
  }

  /** Those of one person, oldest first. */
  List<Task> about(String subject) {
    return records
        .list(Task.class, Map.of("code", SORT_OUT, "status", "requested", "subject", subject))
        .stream()
        .filter(UnusedReports::isWhole)
        .toList();
  }

  /** A Task that a client has written by itself may lack what the service writes. */
  private static boolean isWhole(Task task) {
    return task.getFor().hasReference()
        && task.hasAuthoredOn()
        && task.hasDescription()
        && task.getText().hasDiv();
  }

  private Unused unused(Task task) {
    String subject = task.getFor().getReference();
    Visit.about(subject);
    Optional<String> plan =
        book.ofSubject(subject).stream().filter(RunningPlan::open).map(RunningPlan::id).findFirst();
    LocalDate since = task.getAuthoredOn().toInstant().atZone(clock.zone()).toLocalDate();
    return new Unused(task, since, caseload.person(subject), plan);
  }
}
