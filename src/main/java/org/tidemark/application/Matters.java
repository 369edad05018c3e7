package org.tidemark.application;

import jakarta.enterprise.context.ApplicationScoped;
import java.nio.charset.StandardCharsets;
import java.time.Instant;
import java.time.LocalDate;
import java.time.OffsetDateTime;
import java.time.ZoneId;
import java.util.ArrayList;
import java.util.List;
import java.util.Optional;
import java.util.UUID;
import java.util.stream.Stream;
import org.hl7.fhir.r4.model.Task;
import org.tidemark.fhir.Matter;
import org.tidemark.fhir.MatterWriter;
import org.tidemark.programme.Precaution;
import org.tidemark.response.Morning;
import org.tidemark.store.CaseloadStore;
import org.tidemark.store.StoredMatter;

/**
 * What the daily sweep has raised about plans: each matter of a plan has one Task, and ends when it
 * holds no longer. Whether it still holds is told from the plan alone, without the clock, so that
 * the report which ends it also closes its Task.
 */
@ApplicationScoped
class Matters {
  private final CaseloadStore store;
  private final Records records;
  private final Languages languages;

  Matters(CaseloadStore store, Records records, Languages languages) {
    this.store = store;
    this.languages = languages;
    this.records = records;
  }

  /**
   * Something to raise.
   *
   * @param kind what it is
   * @param of what tells it from others of its kind in the plan, empty when there is one at most
   * @param focus what to look at
   * @param since since when it is so
   * @param detail what it is about, in sentences
   */
  record Due(Matter kind, String of, String focus, OffsetDateTime since, String detail) {
    String key() {
      return kind.code() + ":" + of;
    }
  }

  /** Which kind of matter a row is. */
  static Matter kind(StoredMatter row) {
    String code = row.matter().substring(0, row.matter().indexOf(':'));
    return Stream.of(Matter.values())
        .filter(matter -> matter.code().equals(code))
        .findFirst()
        .orElseThrow(() -> new IllegalStateException("no matter is called " + code));
  }

  /** The matters of a plan that have not been raised yet. */
  List<Due> fresh(RunningPlan plan, List<Due> due) {
    List<String> known = store.matters(plan.id()).stream().map(StoredMatter::matter).toList();
    return due.stream().filter(matter -> !known.contains(matter.key())).toList();
  }

  /** Raises a matter with its Task. */
  void raise(RunningPlan plan, Due due, OffsetDateTime now) {
    Task task =
        MatterWriter.task(languages.forClinic(plan), due.kind(), due.focus(), due.detail(), now);
    records.put(task);
    store.raise(
        new StoredMatter(
            plan.id(),
            due.key(),
            task.getIdElement().getIdPart(),
            due.since().toInstant().toEpochMilli(),
            false));
  }

  /**
   * Ends the matters of a plan that hold no longer, and closes their Tasks.
   *
   * @return those that still hold and wait for an answer
   */
  List<StoredMatter> settle(RunningPlan plan) {
    List<StoredMatter> waiting = new ArrayList<>();
    for (StoredMatter row : store.matters(plan.id())) {
      if (!holds(plan, row)) {
        close(row);
        store.end(row);
      } else if (!row.answered()) {
        waiting.add(row);
      }
    }
    return waiting;
  }

  /** Takes in that a Task is over; the matter is not raised again while it holds. */
  Optional<StoredMatter> answer(Task task) {
    Optional<StoredMatter> row =
        Issuing.OPEN.contains(task.getStatus())
            ? Optional.empty()
            : store.matterOfTask(task.getIdElement().getIdPart()).filter(m -> !m.answered());
    row.ifPresent(
        m -> store.update(new StoredMatter(m.planId(), m.matter(), m.task(), m.sinceMs(), true)));
    return row;
  }

  private void close(StoredMatter row) {
    Task task = records.find(Task.class, row.task()).orElseThrow();
    if (Issuing.OPEN.contains(task.getStatus())) {
      records.put(task.setStatus(Task.TaskStatus.CANCELLED));
    }
  }

  private static boolean holds(RunningPlan plan, StoredMatter row) {
    if (!plan.open()) {
      return false;
    }
    String of = row.matter().substring(row.matter().indexOf(':') + 1);
    return switch (kind(row)) {
      case SILENCE ->
          isPrescribed(plan)
              && !heard(plan).toInstant().isAfter(Instant.ofEpochMilli(row.sinceMs()));
      case OVERDUE -> tasks(plan).contains(of);
      case PRECAUTION_ENDED, CLEARANCE_DUE ->
          plan.state().person().precautions().stream().map(Matters::name).anyMatch(of::equals);
    };
  }

  // ---- what a plan says of itself ----

  /** Whether the person has been asked to exercise. */
  static boolean isPrescribed(RunningPlan plan) {
    return plan.status().equals("active") && !plan.state().inForce().isEmpty();
  }

  /** When something was last heard of the person: a report, a measurement, or the start. */
  static OffsetDateTime heard(RunningPlan plan) {
    var state = plan.state();
    Stream<OffsetDateTime> sessions = state.diary().lastSession().stream();
    Stream<OffsetDateTime> mornings = state.diary().mornings().stream().map(Morning::at);
    Stream<OffsetDateTime> angles =
        state.person().angles().values().stream()
            .flatMap(List::stream)
            .map(angle -> angle.reading().when());
    Stream<OffsetDateTime> starts =
        Stream.concat(
            state.person().baselineAt().stream(),
            state.enrolment().stream().map(enrolment -> enrolment.at()));
    return Stream.of(sessions, mornings, angles, starts)
        .flatMap(times -> times)
        .max(OffsetDateTime.timeLineOrder())
        .orElseThrow();
  }

  /** The Tasks of a plan that wait for a clinician. */
  static List<String> tasks(RunningPlan plan) {
    return Stream.of(
            plan.issued().concern().map(Issued.Concern::task),
            plan.issued().review(),
            plan.issued().waiting().map(Issued.Waiting::task))
        .flatMap(Optional::stream)
        .toList();
  }

  /** The precautions whose last day lies before a day and not before the plan began. */
  static List<Due> precautions(RunningPlan plan, LocalDate today, ZoneId zone) {
    LocalDate began =
        plan.state().enrolment().orElseThrow().at().atZoneSameInstant(zone).toLocalDate();
    List<Due> due = new ArrayList<>();
    for (Precaution precaution : plan.state().person().precautions()) {
      Optional<LocalDate> last = precaution.until().filter(day -> !day.isBefore(began));
      if (last.isEmpty() || !last.get().isBefore(today)) {
        continue;
      }
      if (!precaution.needsClearance() || !precaution.lifted()) {
        due.add(
            new Due(
                precaution.needsClearance() ? Matter.CLEARANCE_DUE : Matter.PRECAUTION_ENDED,
                name(precaution),
                "CarePlan/" + plan.id(),
                last.get().plusDays(1).atStartOfDay(zone).toOffsetDateTime(),
                precaution.text()));
      }
    }
    return due;
  }

  /** A short name of a precaution: another as soon as anything about it changes. */
  private static String name(Precaution precaution) {
    return UUID.nameUUIDFromBytes(precaution.toString().getBytes(StandardCharsets.UTF_8))
        .toString();
  }
}
