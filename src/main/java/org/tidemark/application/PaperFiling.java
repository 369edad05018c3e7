package org.tidemark.application;

import io.quarkus.narayana.jta.QuarkusTransaction;
import io.quarkus.scheduler.Scheduled;
import jakarta.enterprise.context.ApplicationScoped;
import java.time.Clock;
import java.time.Duration;
import java.util.Date;
import java.util.EnumMap;
import java.util.Map;
import java.util.Optional;
import org.hl7.fhir.r4.model.Binary;
import org.hl7.fhir.r4.model.DocumentReference;
import org.hl7.fhir.r4.model.Enumerations.DocumentReferenceStatus;
import org.jboss.logging.Logger;
import org.tidemark.clinic.Clinics;
import org.tidemark.fhir.PaperWriter;
import org.tidemark.fhir.PlanIdentity;
import org.tidemark.store.PaperStore;

/**
 * Keeps each plan's papers with its record. Whoever changes what is in force marks the plan, in the
 * transaction that decides; the papers are made soon after, outside of it, as a PDF takes longer
 * than a decision. The mark goes in the transaction that stores them: a paper that was made twice,
 * or for a mark that is gone, is not stored.
 */
@ApplicationScoped
public class PaperFiling {
  private static final Logger LOG = Logger.getLogger(PaperFiling.class);

  /**
   * After this a paper is tried again that could not be made, or that an instance has claimed and
   * not filed.
   */
  private static final Duration AGAIN = Duration.ofMinutes(10);

  /**
   * After a plan's papers the work rests for so many times as long as they took, so that reports
   * which change many plans at once are not slowed down by their papers.
   */
  private static final int REST = 4;

  private final PaperStore store;
  private final PlanBook book;
  private final Papers papers;
  private final Languages languages;
  private final Records records;
  private final Stopping stopping;
  private final Clock clock;
  private final Clinics clinics;

  PaperFiling(
      PaperStore store,
      PlanBook book,
      Papers papers,
      Languages languages,
      Records records,
      Stopping stopping,
      Clock clock,
      Clinics clinics) {
    this.stopping = stopping;
    this.store = store;
    this.book = book;
    this.papers = papers;
    this.languages = languages;
    this.records = records;
    this.clock = clock;
    this.clinics = clinics;
  }

  /** Makes the papers of the plans that are marked, in turns; several instances share them. */
  @Scheduled(
      every = "{tidemark.papers-every}",
      concurrentExecution = Scheduled.ConcurrentExecution.SKIP)
  public void file() {
    clinics.inTurns(this::next);
  }

  /** Makes the papers of one plan, and says whether there was one. */
  private boolean next() {
    return stopping.unlessBegun(this::fileNext);
  }

  private boolean fileNext() {
    long began = System.nanoTime();
    Optional<PaperStore.Due> due = claim();
    try {
      due.ifPresent(this::file);
    } catch (RuntimeException failed) {
      stopping.log(failed);
    }
    if (due.isPresent()) {
      stopping.rest(Duration.ofNanos(REST * (System.nanoTime() - began)));
    }
    return due.isPresent();
  }

  private Optional<PaperStore.Due> claim() {
    long now = clock.millis();
    return QuarkusTransaction.requiringNew().call(() -> store.claim(now, now + AGAIN.toMillis()));
  }

  private void file(PaperStore.Due due) {
    LOG.debugf("makes the papers of CarePlan/%s", due.planId());
    PlanIdentity plan =
        QuarkusTransaction.requiringNew()
            .call(() -> languages.forPerson(book.find(due.planId()).orElseThrow()));
    Map<PaperWriter.Kind, byte[]> made = new EnumMap<>(PaperWriter.Kind.class);
    made.put(PaperWriter.Kind.HANDOUT, pdf(Papers.Kind.HANDOUT, plan));
    made.put(PaperWriter.Kind.PROGRESS_REPORT, pdf(Papers.Kind.PROGRESS_REPORT, plan));
    records.inTurn(
        plan.subject(),
        () -> {
          if (store.take(due)) {
            made.forEach((kind, pdf) -> keep(plan, kind, pdf));
          }
        });
  }

  private byte[] pdf(Papers.Kind kind, PlanIdentity plan) {
    return papers.pdf(kind, plan.planId(), plan.language(), Papers.Size.A4);
  }

  private void keep(PlanIdentity plan, PaperWriter.Kind kind, byte[] pdf) {
    Optional<DocumentReference> former =
        records
            .list(
                DocumentReference.class,
                Map.of("related", plan.reference(), "type", kind.loinc(), "status", "current"))
            .stream()
            .findFirst();
    Binary binary = (Binary) records.put(PaperWriter.binary(plan, pdf));
    records.put(PaperWriter.reference(plan, kind, binary, former, Date.from(clock.instant())));
    former.ifPresent(known -> records.put(known.setStatus(DocumentReferenceStatus.SUPERSEDED)));
  }
}
