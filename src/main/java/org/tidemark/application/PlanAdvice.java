package org.tidemark.application;

import io.quarkus.narayana.jta.QuarkusTransaction;
import jakarta.enterprise.context.ApplicationScoped;
import java.util.ArrayList;
import java.util.Collection;
import java.util.List;
import java.util.Locale;
import java.util.Optional;
import java.util.stream.Collectors;
import org.hl7.fhir.r4.model.Task;
import org.tidemark.audit.Visit;
import org.tidemark.decision.Decision;
import org.tidemark.decision.Verdict;
import org.tidemark.decision.Warning;
import org.tidemark.fhir.PlanText;
import org.tidemark.fhir.PrescriptionText;
import org.tidemark.fhir.Texts;

/** What the plans of a person need from a clinician, in words. */
@ApplicationScoped
public class PlanAdvice {
  private final PlanBook book;
  private final Records records;
  private final Languages languages;

  PlanAdvice(PlanBook book, Records records, Languages languages) {
    this.book = book;
    this.records = records;
    this.languages = languages;
  }

  /** What a plan needs, the most pressing first. */
  public enum Kind {
    /** A warning sign is open. */
    WARNED,
    /** Exercise is withheld for another reason. */
    WITHHELD,
    /** A clinician has put it on hold. */
    ON_HOLD,
    /** A review is asked for. */
    REVIEW,
    /** A proposal waits for a sign-off. */
    WAITING
  }

  /**
   * What a plan needs.
   *
   * @param plan the id of its CarePlan
   * @param title what it is called, with its side
   * @param kind what it is about
   * @param what the signs that are open, or what is proposed; none for the other kinds
   * @param told what the person was told to do about the signs
   * @param why the reasons, each in its sentence
   * @param task the Task that waits for the answer
   */
  public record Notice(
      String plan,
      String title,
      Kind kind,
      List<String> what,
      Optional<String> told,
      String why,
      Optional<Task> task) {}

  /**
   * What the plans of a person need.
   *
   * @param subjects the references under which plans of the person may be kept
   * @param language the language of the words
   */
  public List<Notice> of(Collection<String> subjects, Locale language) {
    subjects.forEach(Visit::about);
    return QuarkusTransaction.joiningExisting()
        .call(
            () ->
                subjects.stream()
                    .flatMap(subject -> book.ofSubject(subject).stream())
                    .filter(RunningPlan::open)
                    .flatMap(plan -> notices(plan, language).stream())
                    .filter(notice -> notice.kind() != Kind.ON_HOLD)
                    .toList());
  }

  private List<Notice> notices(RunningPlan plan, Locale language) {
    List<Notice> notices = new ArrayList<>(stopped(plan, language).stream().toList());
    Optional<Decision> last = plan.state().last();
    if (last.isEmpty()) {
      return notices;
    }
    if (notices.isEmpty() && plan.issued().review().isPresent()) {
      Optional<Task> task = task(plan.issued().review().get());
      notices.add(
          notice(plan, language, Kind.REVIEW, List.of(), Optional.empty(), last.get(), task));
    }
    plan.issued()
        .waiting()
        .ifPresent(waiting -> notices.add(waiting(plan, waiting, language, last.get())));
    return notices;
  }

  /** What stops a plan, if anything does. */
  Optional<Notice> stopped(RunningPlan plan, Locale language) {
    return plan.state().last().flatMap(last -> stopped(plan, last, language));
  }

  private Optional<Notice> stopped(RunningPlan plan, Decision last, Locale language) {
    Texts texts = Texts.of(language);
    if (!last.warnings().isEmpty()) {
      List<String> signs = last.warnings().stream().map(texts::warning).toList();
      Optional<String> told =
          last.warnings().stream()
              .map(Warning::urgency)
              .min(Warning.Urgency::compareTo)
              .map(texts::urgency);
      Optional<Task> task = plan.issued().concern().flatMap(concern -> task(concern.task()));
      return Optional.of(notice(plan, language, Kind.WARNED, signs, told, last, task));
    }
    boolean held = plan.status().equals("on-hold") || plan.state().control().held();
    if (!held && last.verdict() != Verdict.WITHHOLD) {
      return Optional.empty();
    }
    Kind kind = held ? Kind.ON_HOLD : Kind.WITHHELD;
    Optional<Task> task = plan.issued().review().flatMap(this::task);
    return Optional.of(notice(plan, language, kind, List.of(), Optional.empty(), last, task));
  }

  private Notice waiting(RunningPlan plan, Issued.Waiting waiting, Locale language, Decision last) {
    PrescriptionText words =
        new PrescriptionText(Texts.of(language), languages.in(language, plan).programme());
    List<String> proposed = new ArrayList<>();
    plan.state()
        .control()
        .awaiting()
        .ifPresent(wanted -> proposed.add(words.change(wanted.change())));
    waiting.proposals().forEach(order -> proposed.add(words.line(order.prescription())));
    return notice(
        plan, language, Kind.WAITING, proposed, Optional.empty(), last, task(waiting.task()));
  }

  private Notice notice(
      RunningPlan plan,
      Locale language,
      Kind kind,
      List<String> what,
      Optional<String> told,
      Decision last,
      Optional<Task> task) {
    Texts texts = Texts.of(language);
    String why = last.reasons().stream().map(texts::reason).collect(Collectors.joining(" "));
    return new Notice(plan.id(), title(plan, language), kind, what, told, why, task);
  }

  /** What a plan is called, with its side. */
  String title(RunningPlan plan, Locale language) {
    return PlanText.title(languages.in(language, plan));
  }

  private Optional<Task> task(String id) {
    return records.find(Task.class, id);
  }
}
