package org.tidemark.recordsystem;

import ca.uhn.fhir.context.FhirContext;
import ca.uhn.fhir.parser.DataFormatException;
import io.quarkus.narayana.jta.QuarkusTransaction;
import io.quarkus.scheduler.Scheduled;
import jakarta.enterprise.context.ApplicationScoped;
import java.io.BufferedInputStream;
import java.io.ByteArrayOutputStream;
import java.io.IOException;
import java.io.InputStream;
import java.net.SocketTimeoutException;
import java.net.URI;
import java.nio.charset.StandardCharsets;
import java.time.Clock;
import java.time.Duration;
import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.function.BooleanSupplier;
import org.eclipse.microprofile.config.inject.ConfigProperty;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.Resource;
import org.tidemark.application.Limits;
import org.tidemark.application.Records;
import org.tidemark.application.Stopping;
import org.tidemark.clinic.Clinics;
import org.tidemark.exchange.Outgoing;
import org.tidemark.fhir.BodyCheck;
import org.tidemark.fhir.Outcomes;
import org.tidemark.fhir.Problem;
import org.tidemark.store.ImportStore;
import org.tidemark.store.ImportStore.File;
import org.tidemark.store.ImportStore.Job;
import org.tidemark.store.ImportStore.Refusal;
import org.tidemark.store.LostRace;

/**
 * Carries out imports: reads their files line by line and stores some lines at a time, each time
 * together with how far it has come. Whoever goes on after a break reads the file anew and leaves
 * out as many lines. What cannot be taken together is taken in parts, down to single lines; a line
 * that cannot be taken is kept with the reason and holds nothing else up.
 */
@ApplicationScoped
public class Importing {
  private static final Duration LEASE = Duration.ofMinutes(10);
  private static final Duration LONGEST_PAUSE = Duration.ofMinutes(10);
  private static final int MOST_FAILURES = 20;
  private static final int AT_ONCE = 50;
  private static final int AT_ONCE_BYTES = 1 << 20;

  private final ImportStore store;
  private final Records records;
  private final RecordSystems systems;
  private final BackendTokens tokens;
  private final Places places;
  private final Outgoing outgoing;
  private final Clinics clinics;
  private final Stopping stopping;
  private final Clock clock;
  private final FhirContext context;
  private final BodyCheck check;
  private final long longestLine;
  private final Duration patience;
  private final Duration pause;

  Importing(
      ImportStore store,
      Records records,
      RecordSystems systems,
      BackendTokens tokens,
      Places places,
      Outgoing outgoing,
      Clinics clinics,
      Stopping stopping,
      Clock clock,
      FhirContext context,
      Limits limits,
      @ConfigProperty(name = "tidemark.import.patience") Duration patience,
      @ConfigProperty(name = "tidemark.import.pause") Duration pause) {
    this.store = store;
    this.records = records;
    this.systems = systems;
    this.tokens = tokens;
    this.places = places;
    this.outgoing = outgoing;
    this.clinics = clinics;
    this.stopping = stopping;
    this.clock = clock;
    this.context = context;
    this.check = new BodyCheck(context, limits.depth());
    this.longestLine = limits.bodyBytes();
    this.patience = patience;
    this.pause = pause;
  }

  /** Carries out the imports that wait for it, and forgets those that have ended. */
  @Scheduled(
      every = "{tidemark.import.every}",
      concurrentExecution = Scheduled.ConcurrentExecution.SKIP)
  public void work() {
    clinics.each(() -> attempt(() -> stopping.unlessBegun(this::forget)));
    clinics.inTurns(() -> attempt(this::next));
  }

  /** Does a piece of work, which says whether there was any; false when it failed. */
  private boolean attempt(BooleanSupplier work) {
    try {
      return work.getAsBoolean();
    } catch (RuntimeException failed) {
      stopping.log(failed);
      return false;
    }
  }

  private boolean forget() {
    List<String> ended = QuarkusTransaction.requiringNew().call(() -> store.ended(clock.millis()));
    QuarkusTransaction.requiringNew().run(() -> ended.forEach(store::drop));
    return !ended.isEmpty();
  }

  /** Carries out one import, and says whether there was one. */
  private boolean next() {
    long now = clock.millis();
    Optional<Job> next =
        stopping.claim(
            () ->
                QuarkusTransaction.requiringNew()
                    .call(() -> store.claim(now, now + LEASE.toMillis())));
    next.ifPresent(this::carryOut);
    return next.isPresent();
  }

  private void carryOut(Job job) {
    try {
      for (File file : QuarkusTransaction.requiringNew().call(() -> store.files(job.id()))) {
        if (!file.done() && !stopping.begun()) {
          new Reading(job, file).run();
        }
      }
      boolean done = !stopping.begun();
      release(job, done, clock.millis(), 0, "");
    } catch (RecordSystemProblem problem) {
      fail(job, problem.getMessage());
    } catch (LostRace cancelled) {
      // Nothing is left to do for it, or somebody else does it.
    } catch (RuntimeException failed) {
      stopping.log(failed);
      fail(job, "What it gave could not be stored; the log says why.");
    }
  }

  /** It is tried again later, after a pause that doubles, and given up after many times. */
  private void fail(Job job, String problem) {
    int failures =
        1
            + QuarkusTransaction.requiringNew()
                .call(() -> store.find(job.id()))
                .map(Job::failures)
                .orElse(0);
    double wait = pause.toMillis() * Math.pow(2, failures - 1);
    release(
        job,
        failures >= MOST_FAILURES,
        clock.millis() + (long) Math.min(wait, LONGEST_PAUSE.toMillis()),
        failures,
        problem);
  }

  private void release(Job job, boolean done, long dueMs, int failures, String problem) {
    QuarkusTransaction.requiringNew()
        .run(() -> store.release(job.id(), done, dueMs, failures, problem));
  }

  /** A line of a file, with its number from 1, and whether its end was seen. */
  private record Line(long number, byte[] bytes, boolean whole) {}

  /** The reading of one file. */
  private final class Reading {
    private final Job job;
    private File file;
    private long read;

    Reading(Job job, File file) {
      this.job = job;
      this.file = file;
    }

    void run() throws RecordSystemProblem {
      try (InputStream body = new BufferedInputStream(open())) {
        List<Line> some = some(body);
        while (!some.isEmpty() && !stopping.begun()) {
          take(some);
          some = some(body);
        }
        if (some.isEmpty()) {
          File end = file;
          note(
              new File(
                  end.number(),
                  end.type(),
                  end.url(),
                  end.line(),
                  end.written(),
                  end.known(),
                  end.refused(),
                  true));
        }
      } catch (IOException broken) {
        throw new RecordSystemProblem(told("could not be read to its end"), broken);
      }
    }

    private String told(String what) {
      return "The file " + file.number() + " " + what + ".";
    }

    private InputStream open() throws RecordSystemProblem, IOException {
      URI at = URI.create(file.url());
      Map<String, String> headers = new LinkedHashMap<>();
      headers.put("Accept", "application/fhir+ndjson");
      Optional<RecordSystem.Login> login =
          systems
              .find()
              .filter(system -> file.url().startsWith(system.source()))
              .flatMap(RecordSystem::login);
      if (login.isPresent()) {
        headers.put("Authorization", "Bearer " + tokens.get(login.get()));
      }
      Outgoing.Opened opened = asked(at, headers);
      if (opened.status() != 200) {
        opened.body().close();
        if (opened.status() == 401) {
          login.ifPresent(tokens::drop);
        }
        throw new RecordSystemProblem(told("was answered with " + opened.status()));
      }
      return opened.body();
    }

    private Outgoing.Opened asked(URI at, Map<String, String> headers) throws RecordSystemProblem {
      Outgoing.Sent sent =
          new Outgoing.Sent("GET", at, places.of(at), headers, Optional.empty(), patience);
      try {
        return outgoing.open(sent);
      } catch (SocketTimeoutException late) {
        throw new RecordSystemProblem(told("did not come in time"), late);
      } catch (IOException unreachable) {
        throw new RecordSystemProblem(told("could not be reached"), unreachable);
      }
    }

    /** The next lines; none at the end. Those that were taken before are left out. */
    private List<Line> some(InputStream body) throws IOException, RecordSystemProblem {
      List<Line> some = new ArrayList<>();
      int bytes = 0;
      while (some.size() < AT_ONCE && bytes < AT_ONCE_BYTES) {
        Optional<Line> line = line(body);
        if (line.isEmpty()) {
          return some;
        }
        read++;
        if (read > file.line()) {
          some.add(line.get());
          bytes += line.get().bytes().length;
        }
      }
      return some;
    }

    private Optional<Line> line(InputStream body) throws IOException, RecordSystemProblem {
      ByteArrayOutputStream line = new ByteArrayOutputStream();
      int next = body.read();
      if (next < 0) {
        return Optional.empty();
      }
      while (next >= 0 && next != '\n') {
        line.write(next);
        if (line.size() > longestLine) {
          throw new RecordSystemProblem(told("has a line that is too long: " + (read + 1)));
        }
        next = body.read();
      }
      return Optional.of(new Line(read + 1, line.toByteArray(), next >= 0));
    }

    private void take(List<Line> lines) throws RecordSystemProblem {
      Bundle bundle = new Bundle().setType(Bundle.BundleType.TRANSACTION);
      Line last = lines.get(lines.size() - 1);
      int known = 0;
      try {
        for (Line line : lines) {
          known += add(line, bundle);
        }
        File after = taken(last, bundle.getEntry().size(), known, 0);
        records.transact(bundle, () -> advance(after));
        file = after;
      } catch (Problem refused) {
        if (refused.status() >= 500) {
          throw refused;
        }
        if (lines.size() == 1) {
          requireWhole(last, refused);
          refuse(last, refused);
          return;
        }
        take(lines.subList(0, lines.size() / 2));
        take(lines.subList(lines.size() / 2, lines.size()));
      }
    }

    /** An answer that says nothing of its length may have been cut off within its last line. */
    private void requireWhole(Line line, Problem refused) throws RecordSystemProblem {
      if (!line.whole() && refused.issues().get(0).kind() == Problem.Kind.MALFORMED) {
        throw new RecordSystemProblem(told("could not be read to its end"), refused);
      }
    }

    /** Adds a line to what is written, unless it is empty or known; says whether it is known. */
    private int add(Line line, Bundle bundle) {
      if (new String(line.bytes(), StandardCharsets.UTF_8).isBlank()) {
        return 0;
      }
      ImportedRecord record = ImportedRecord.of(job.source(), parsed(line));
      Optional<Resource> here =
          QuarkusTransaction.requiringNew().call(() -> records.find(file.type(), record.id()));
      if (record.isKnown(here)) {
        return 1;
      }
      here.ifPresent(record::requireChangeable);
      Bundle.BundleEntryComponent entry =
          bundle.addEntry().setResource(record.kept(record.id(), this::local));
      entry.getRequest().setMethod(Bundle.HTTPVerb.PUT).setUrl(file.type() + "/" + record.id());
      here.ifPresent(
          one -> entry.getRequest().setIfMatch("W/\"" + one.getMeta().getVersionId() + "\""));
      return 0;
    }

    private String local(String reference) {
      return reference.startsWith(job.source())
          ? reference.substring(job.source().length())
          : reference;
    }

    private Resource parsed(Line line) {
      String type = check.check(line.bytes(), false);
      if (!type.equals(file.type())) {
        throw Problem.of(
            Problem.Kind.MISMATCH,
            "The record is of the type %s; the file has those of %s.".formatted(type, file.type()),
            type);
      }
      try {
        Resource parsed =
            (Resource)
                context
                    .newJsonParser()
                    .parseResource(new String(line.bytes(), StandardCharsets.UTF_8));
        if (!parsed.hasId()) {
          throw Problem.of(
              Problem.Kind.MISSING, "A record that is imported has an id.", type + ".id");
        }
        return parsed;
      } catch (DataFormatException wrong) {
        throw Problem.of(Problem.Kind.MALFORMED, "The line cannot be read.", type);
      }
    }

    private void refuse(Line line, Problem problem) {
      File after = taken(line, 0, 0, 1);
      String outcome = context.newJsonParser().encodeResourceToString(Outcomes.of(problem));
      QuarkusTransaction.requiringNew()
          .run(
              () -> {
                advance(after);
                store.refuse(job.id(), new Refusal(file.number(), line.number(), outcome));
              });
      file = after;
    }

    private void note(File after) {
      QuarkusTransaction.requiringNew().run(() -> advance(after));
      file = after;
    }

    private void advance(File after) {
      store.advance(job.id(), file, after, clock.millis() + LEASE.toMillis());
    }

    private File taken(Line last, int written, int known, int refused) {
      return new File(
          file.number(),
          file.type(),
          file.url(),
          last.number(),
          file.written() + written,
          file.known() + known,
          file.refused() + refused,
          false);
    }
  }
}
