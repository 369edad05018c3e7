package org.tidemark.recordsystem;

import ca.uhn.fhir.context.FhirContext;
import io.quarkus.narayana.jta.QuarkusTransaction;
import io.quarkus.scheduler.Scheduled;
import jakarta.enterprise.context.ApplicationScoped;
import java.net.URI;
import java.net.URLEncoder;
import java.nio.charset.StandardCharsets;
import java.time.Clock;
import java.time.Duration;
import java.time.Instant;
import java.util.Date;
import java.util.HashMap;
import java.util.HashSet;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.OptionalLong;
import java.util.Set;
import java.util.concurrent.ThreadLocalRandom;
import org.eclipse.microprofile.config.inject.ConfigProperty;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.Identifier;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Patient;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Resource;
import org.tidemark.application.Condition;
import org.tidemark.application.Records;
import org.tidemark.application.Stopping;
import org.tidemark.clinic.Clinics;
import org.tidemark.fhir.Outcomes;
import org.tidemark.fhir.Problem;
import org.tidemark.store.PullStore;
import org.tidemark.store.PullStore.Refused;
import org.tidemark.store.PullStore.State;

/**
 * Fetches the Observations of people whom the clinic knows from its record system, where that
 * cannot push them: what was written there since the last time, with an overlap, as servers make
 * records visible in another order than they stamp them. An Observation is taken as one that a
 * client sends. In which version it was taken is kept with it, so that what is seen twice is taken
 * once; one instance at a time fetches for a clinic.
 */
@ApplicationScoped
public class Pulling {
  private static final Duration LEASE = Duration.ofMinutes(5);
  private static final Duration LONGEST_PAUSE = Duration.ofHours(1);
  private static final int MOST_DOUBLINGS = 16;

  private final RecordSystems systems;
  private final RecordSystemClient client;
  private final PullStore store;
  private final Records records;
  private final Clinics clinics;
  private final Stopping stopping;
  private final Clock clock;
  private final FhirContext context;
  private final Duration pause;
  private final Duration overlap;
  private final int pageSize;

  Pulling(
      RecordSystems systems,
      RecordSystemClient client,
      PullStore store,
      Records records,
      Clinics clinics,
      Stopping stopping,
      Clock clock,
      FhirContext context,
      @ConfigProperty(name = "tidemark.record-system.pull.pause") Duration pause,
      @ConfigProperty(name = "tidemark.record-system.pull.overlap") Duration overlap,
      @ConfigProperty(name = "tidemark.record-system.pull.page") int pageSize) {
    this.systems = systems;
    this.client = client;
    this.store = store;
    this.records = records;
    this.clinics = clinics;
    this.stopping = stopping;
    this.clock = clock;
    this.context = context;
    this.pause = pause;
    this.overlap = overlap;
    this.pageSize = pageSize;
  }

  /** Fetches what is new for each clinic. */
  @Scheduled(
      every = "{tidemark.record-system.pull.every}",
      concurrentExecution = Scheduled.ConcurrentExecution.SKIP)
  public void pull() {
    clinics.each(() -> systems.find().ifPresent(this::attempt));
  }

  private void attempt(RecordSystem system) {
    try {
      if (!stopping.begun()) {
        pull(system);
      }
    } catch (RuntimeException failed) {
      stopping.log(failed);
    }
  }

  private void pull(RecordSystem system) {
    String source = system.source();
    long now = clock.millis();
    Optional<State> known = QuarkusTransaction.requiringNew().call(() -> store.find(source));
    int failures = known.map(State::failures).orElse(0);
    try {
      if (known.isEmpty()) {
        long from = system.from().map(Instant::toEpochMilli).orElse(PullStore.NOWHERE);
        QuarkusTransaction.requiringNew().run(() -> store.begin(source, from));
      }
      boolean mine =
          stopping.unlessBegun(
              () ->
                  QuarkusTransaction.requiringNew()
                      .call(() -> store.claim(source, now, now + LEASE.toMillis())));
      if (mine) {
        new Round(system).run();
        release(source, 0, "");
      }
    } catch (RecordSystemProblem problem) {
      release(source, failures + 1, problem.getMessage());
    } catch (RuntimeException failed) {
      stopping.log(failed);
      release(source, failures + 1, "What it gave could not be stored; the log says why.");
    }
  }

  /** Lets the source go; after failures for a pause that doubles, of some length around it. */
  private void release(String source, int failures, String problem) {
    double doubled = pause.toMillis() * Math.pow(2, Math.min(failures - 1, MOST_DOUBLINGS));
    double around = ThreadLocalRandom.current().nextDouble(0.8, 1.2);
    long wait = failures == 0 ? 0 : (long) (Math.min(doubled, LONGEST_PAUSE.toMillis()) * around);
    QuarkusTransaction.requiringNew()
        .run(() -> store.release(source, clock.millis() + wait, failures, problem));
  }

  /** One time of asking. */
  private final class Round {
    private final RecordSystem system;
    private final Map<String, Optional<Reference>> people = new HashMap<>();

    Round(RecordSystem system) {
      this.system = system;
    }

    void run() throws RecordSystemProblem {
      State state =
          QuarkusTransaction.requiringNew()
              .call(() -> store.find(system.source()))
              .orElseThrow(() -> new IllegalStateException("fetching has begun"));
      long reached =
          state.reachedMs() == PullStore.NOWHERE
              ? client.now(system).toEpochMilli()
              : state.reachedMs();
      Optional<URI> page = Optional.of(first(reached));
      Set<URI> seen = new HashSet<>();
      while (page.isPresent() && !stopping.begun()) {
        URI at = page.get();
        if (!seen.add(at)) {
          throw new RecordSystemProblem("The record system gives the same page again.");
        }
        Bundle bundle =
            client
                .read(system, at, Bundle.class)
                .orElseThrow(
                    () -> new RecordSystemProblem("The record system has no Observations."));
        for (Bundle.BundleEntryComponent entry : bundle.getEntry()) {
          if (entry.getResource() instanceof Observation observation) {
            take(observation);
            reached = Math.max(reached, lastUpdated(observation));
          }
        }
        QuarkusTransaction.requiringNew()
            .run(() -> store.hold(system.source(), clock.millis() + LEASE.toMillis()));
        page = next(bundle);
      }
      // Only now: not every server gives the pages in the order that was asked for.
      if (page.isEmpty()) {
        long seenUntil = reached;
        QuarkusTransaction.requiringNew().run(() -> store.reach(system.source(), seenUntil));
      }
    }

    private URI first(long reachedMs) {
      String since = Instant.ofEpochMilli(reachedMs).minus(overlap).toString();
      String search = system.search().isEmpty() ? "" : system.search() + "&";
      return system
          .base()
          .resolve(
              "Observation?%s_lastUpdated=%s&_sort=_lastUpdated&_count=%d"
                  .formatted(
                      search, URLEncoder.encode("ge" + since, StandardCharsets.UTF_8), pageSize));
    }

    /** Never anywhere else, as the token would go along. */
    private Optional<URI> next(Bundle bundle) throws RecordSystemProblem {
      String link =
          Optional.ofNullable(bundle.getLink("next"))
              .map(Bundle.BundleLinkComponent::getUrl)
              .orElse("");
      if (link.isEmpty()) {
        return Optional.empty();
      }
      try {
        URI next = system.base().resolve(link);
        if (system.base().getScheme().equals(next.getScheme())
            && system.base().getRawAuthority().equals(next.getRawAuthority())) {
          return Optional.of(next);
        }
      } catch (IllegalArgumentException wrong) {
        throw new RecordSystemProblem("The next page has no address.", wrong);
      }
      throw new RecordSystemProblem("The next page lies at another address.");
    }

    private long lastUpdated(Observation observation) throws RecordSystemProblem {
      Date updated = observation.getMeta().getLastUpdated();
      if (updated == null || observation.getIdElement().getIdPart() == null) {
        throw new RecordSystemProblem(
            "The record system gives Observations without an id or meta.lastUpdated.");
      }
      return updated.getTime();
    }

    private void take(Observation observation) throws RecordSystemProblem {
      lastUpdated(observation);
      PulledObservation pulled = new PulledObservation(system.base(), observation);
      String identifier = token(pulled.identifier());
      List<Observation> kept =
          QuarkusTransaction.requiringNew()
              .call(() -> records.list(Observation.class, Map.of("identifier", identifier)));
      boolean done =
          pulled.isKept(kept)
              || QuarkusTransaction.requiringNew()
                  .call(() -> store.isRefused(system.source(), pulled.id(), pulled.version()));
      Optional<Reference> person = done ? Optional.empty() : person(observation.getSubject());
      if (person.isPresent()) {
        try {
          records.updateMatching(
              pulled.about(person.get()),
              Condition.read(
                  "identifier=" + URLEncoder.encode(identifier, StandardCharsets.UTF_8),
                  "Observation.identifier"),
              version(kept));
          QuarkusTransaction.requiringNew().run(() -> store.accept(system.source(), pulled.id()));
        } catch (Problem refused) {
          QuarkusTransaction.requiringNew().run(() -> refuse(pulled, refused));
        }
      }
    }

    /** The version that is replaced; none where nothing is, or where it cannot be told which. */
    private static OptionalLong version(List<Observation> kept) {
      return kept.size() == 1
          ? OptionalLong.of(Long.parseLong(kept.get(0).getMeta().getVersionId()))
          : OptionalLong.empty();
    }

    private void refuse(PulledObservation pulled, Problem problem) {
      store.refuse(
          system.source(),
          new Refused(
              pulled.id(),
              pulled.version(),
              clock.millis(),
              context.newJsonParser().encodeResourceToString(Outcomes.of(problem))));
    }

    /** Our record of a person; empty for one whom the clinic does not know. */
    private Optional<Reference> person(Reference subject) throws RecordSystemProblem {
      if (subject.hasIdentifier()) {
        Optional<Reference> known = known(List.of(subject.getIdentifier()));
        if (known.isPresent()) {
          return known;
        }
      }
      String there = subject.getReference() == null ? "" : subject.getReference();
      String base = system.base().toString();
      String local = there.startsWith(base) ? there.substring(base.length()) : there;
      if (!local.matches("Patient/[A-Za-z0-9\\-.]{1,64}")) {
        return Optional.empty();
      }
      if (!people.containsKey(local)) {
        Optional<Patient> patient =
            client.read(system, system.base().resolve(local), Patient.class);
        people.put(local, patient.flatMap(one -> known(one.getIdentifier())));
      }
      return people.get(local);
    }

    /** The one person here who has one of the identifiers; several are no match. */
    private Optional<Reference> known(List<Identifier> identifiers) {
      Set<String> ids = new HashSet<>();
      for (Identifier identifier : identifiers) {
        if (identifier.hasSystem() && identifier.hasValue()) {
          QuarkusTransaction.requiringNew()
              .call(() -> records.list("Patient", Map.of("identifier", token(identifier))))
              .stream()
              .map(Resource::getIdPart)
              .forEach(ids::add);
        }
      }
      return ids.size() == 1
          ? Optional.of(new Reference("Patient/" + ids.iterator().next()))
          : Optional.empty();
    }
  }

  /** As it is searched for. */
  static String token(Identifier identifier) {
    return escaped(identifier.getSystem()) + "|" + escaped(identifier.getValue());
  }

  private static String escaped(String text) {
    return text.replaceAll("([\\\\,|$])", "\\\\$1");
  }
}
