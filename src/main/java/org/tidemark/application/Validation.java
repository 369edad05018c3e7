package org.tidemark.application;

import ca.uhn.fhir.context.FhirContext;
import io.quarkus.vertx.http.HttpServerStart;
import jakarta.enterprise.context.ApplicationScoped;
import jakarta.enterprise.event.ObservesAsync;
import java.util.List;
import java.util.Optional;
import org.eclipse.microprofile.config.inject.ConfigProperty;
import org.hl7.fhir.r4.model.Basic;
import org.hl7.fhir.r4.model.MetadataResource;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Resource;
import org.tidemark.fhir.NarrativeCheck;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.RecordCheck;

/**
 * Whether records are valid R4 and fit the profiles that they claim.
 *
 * <p>On the way in, an Observation that claims no profile known here is let through: its structure
 * has been checked already, its answers are read with complaints of their own, and the whole check
 * would take several times as long as storing it and deciding by it.
 */
@ApplicationScoped
public class Validation {
  /** No more complaints than these are given; the rest would only repeat them. */
  private static final int MOST = 20;

  /** What is done with records that clients write. */
  public enum OnWrite {
    /** A record with an error is refused. */
    ERRORS,
    /** Nothing is checked beyond structure. */
    OFF
  }

  private final FhirContext context;
  private final OnWrite onWrite;
  private RecordCheck check;
  private volatile boolean ready;

  Validation(FhirContext context, @ConfigProperty(name = "tidemark.validation") OnWrite onWrite) {
    this.context = context;
    this.onWrite = onWrite;
  }

  /** Begins to read R4's definitions once requests can be answered, without waiting for it. */
  void prepare(@ObservesAsync HttpServerStart start) {
    if (onWrite == OnWrite.ERRORS) {
      Thread thread = new Thread(this::check, "FHIR definitions");
      thread.setDaemon(true);
      thread.start();
    }
  }

  /**
   * Requires that what a client writes is valid, and in any case that its narrative does nothing.
   *
   * @param resource what is about to be stored
   * @throws Problem with each error
   */
  void requireValid(Resource resource) {
    NarrativeCheck.require(resource);
    if (onWrite == OnWrite.OFF || (resource instanceof Observation && !isClaiming(resource))) {
      return;
    }
    List<Problem> errors =
        check(resource, Optional.empty()).stream()
            .filter(RecordCheck.Finding::isError)
            .limit(MOST)
            .map(error -> Problem.of(Problem.Kind.NOT_VALID, error.text(), error.expression()))
            .toList();
    if (!errors.isEmpty()) {
      throw Problem.all(errors);
    }
  }

  private boolean isClaiming(Resource resource) {
    return resource.getMeta().hasProfile() && check().claimsKnownProfile(resource);
  }

  /**
   * Checks a resource.
   *
   * @param resource the resource
   * @param profile a profile that it must fit beside those that it claims
   * @return all that was found, warnings and hints too
   * @throws Problem when the profile is not known here
   */
  List<RecordCheck.Finding> check(Resource resource, Optional<String> profile) {
    if (profile.isPresent() && !check().isKnown(profile.get())) {
      throw Problem.of(
          Problem.Kind.NOT_FOUND, "The profile " + profile.get() + " is not known here.");
    }
    return check().check(resource, profile);
  }

  /** Whether a write that is checked need not wait for R4's definitions. */
  boolean isReady() {
    return onWrite == OnWrite.OFF || ready;
  }

  /** The check, made and run once the first time that it is needed, which takes seconds. */
  private synchronized RecordCheck check() {
    if (check == null) {
      RecordCheck made =
          new RecordCheck(
              context,
              ShippedFiles.read(Types.PUBLISHED).stream()
                  .map(text -> (MetadataResource) context.newJsonParser().parseResource(text))
                  .toList());
      Basic any = new Basic();
      any.getCode().setText("any");
      made.check(any, Optional.empty());
      check = made;
      ready = true;
    }
    return check;
  }
}
