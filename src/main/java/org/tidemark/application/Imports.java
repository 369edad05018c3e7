package org.tidemark.application;

import io.quarkus.narayana.jta.QuarkusTransaction;
import jakarta.enterprise.context.ApplicationScoped;
import java.time.Clock;
import java.time.Duration;
import java.time.Instant;
import java.util.ArrayList;
import java.util.Comparator;
import java.util.List;
import java.util.Set;
import org.eclipse.microprofile.config.inject.ConfigProperty;
import org.tidemark.access.Action;
import org.tidemark.fhir.Problem;
import org.tidemark.store.ImportStore;
import org.tidemark.store.ImportStore.File;
import org.tidemark.store.ImportStore.Job;
import org.tidemark.store.ImportStore.Refusal;
import org.tidemark.store.ResourceStore;

/** Imports of many records at once: asked for here, carried out in the background. */
@ApplicationScoped
public class Imports {
  /** Subscriptions would send what is here to endpoints that nobody here has chosen. */
  private static final Set<String> LEFT_OUT = Set.of("Subscription");

  private static final int MOST_FILES = 1_000;
  private static final int MOST_REFUSALS = 500;

  private final ImportStore store;
  private final Guard guard;
  private final EndpointGuard endpoints;
  private final Clock clock;
  private final Duration keep;

  Imports(
      ImportStore store,
      Guard guard,
      EndpointGuard endpoints,
      Clock clock,
      @ConfigProperty(name = "tidemark.import.keep") Duration keep) {
    this.store = store;
    this.guard = guard;
    this.endpoints = endpoints;
    this.clock = clock;
    this.keep = keep;
  }

  /**
   * A file to import.
   *
   * @param type the type of its records
   * @param url where it is
   */
  public record Input(String type, String url) {}

  /**
   * Begins an import.
   *
   * @param format the format of the files, empty for the only one there is
   * @param source the base of the server that the records come from
   * @param inputs its files; they are taken in the order in which their types rest on each other
   * @return the import's id
   * @throws Problem when a type is not imported here, an address cannot be reached, or the caller
   *     may not write all records of a type
   */
  public String start(String format, String source, List<Input> inputs) {
    guard.requireClinic();
    if (!format.isEmpty()) {
      Exports.requireFormat(format, element("inputFormat"));
    }
    if (inputs.isEmpty() || inputs.size() > MOST_FILES) {
      throw Problem.of(
          Problem.Kind.MISSING, "An import has 1 to " + MOST_FILES + " files.", element("input"));
    }
    String base = source.endsWith("/") ? source : source + "/";
    requireEndpoint(base, "inputSource");
    for (Input input : inputs) {
      requireImported(input.type());
      guard.requireAll(Action.CREATE, input.type());
      guard.requireAll(Action.UPDATE, input.type());
      requireEndpoint(input.url(), "input");
    }
    List<Input> inOrder = new ArrayList<>(inputs);
    inOrder.sort(Comparator.comparingInt(input -> Transaction.rank(input.type())));
    List<File> files = new ArrayList<>();
    for (Input input : inOrder) {
      files.add(new File(files.size() + 1, input.type(), input.url(), 0, 0, 0, 0, false));
    }
    long now = clock.millis();
    Job job = new Job(ResourceStore.newId(), base, now, now + keep.toMillis(), false, 0, "");
    QuarkusTransaction.requiringNew().run(() -> store.add(job, files));
    return job.id();
  }

  private static void requireImported(String type) {
    if (!Types.WRITTEN.contains(type) || LEFT_OUT.contains(type)) {
      throw Problem.of(
          Problem.Kind.BAD_REQUEST,
          "Records of the type '%s' are not imported here.".formatted(type),
          element("input"));
    }
  }

  private void requireEndpoint(String address, String parameter) {
    endpoints
        .find(address)
        .refusal()
        .ifPresent(
            why -> {
              throw Problem.of(Problem.Kind.BAD_REQUEST, why, element(parameter));
            });
  }

  private static String element(String parameter) {
    return "Parameters.parameter.where(name='" + parameter + "')";
  }

  /**
   * How an import stands.
   *
   * @param job the import
   * @param at when it was asked for
   * @param files its files
   * @param refused lines that could not be taken, the first of them
   */
  public record Standing(Job job, Instant at, List<File> files, List<Refusal> refused) {}

  /**
   * How an import stands.
   *
   * @throws Problem when there is none of this id, or no more (404)
   */
  public Standing standing(String id) {
    guard.requireClinic();
    return QuarkusTransaction.joiningExisting()
        .call(
            () ->
                store
                    .find(id)
                    .map(
                        job ->
                            new Standing(
                                job,
                                Instant.ofEpochMilli(job.atMs()),
                                store.files(id),
                                store.refusals(id, MOST_REFUSALS)))
                    .orElseThrow(
                        () ->
                            Problem.of(
                                Problem.Kind.NOT_FOUND,
                                "There is no import of this id, or no more.")));
  }

  /**
   * Cancels an import, or forgets one that is done; what it has written stays.
   *
   * @throws Problem when there is none of this id (404)
   */
  public void cancel(String id) {
    standing(id).files().forEach(file -> guard.requireAll(Action.UPDATE, file.type()));
    QuarkusTransaction.requiringNew().run(() -> store.drop(id));
  }
}
