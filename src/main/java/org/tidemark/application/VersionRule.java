package org.tidemark.application;

import io.quarkus.runtime.configuration.ConfigurationException;
import jakarta.inject.Singleton;
import java.util.Optional;
import java.util.OptionalLong;
import java.util.Set;
import org.eclipse.microprofile.config.inject.ConfigProperty;
import org.hl7.fhir.r4.model.Resource;
import org.tidemark.fhir.Problem;

/** Holds a client that changes a record to the version that it read. */
@Singleton
public class VersionRule {
  private final boolean asked;

  VersionRule(@ConfigProperty(name = "tidemark.if-match") String rule) {
    if (!Set.of("optional", "required").contains(rule)) {
      throw new ConfigurationException("tidemark.if-match is optional or required.");
    }
    this.asked = rule.equals("required");
  }

  /** Whether each change of a record must say which version it was made from. */
  public boolean isAsked() {
    return asked;
  }

  /**
   * Requires that a change was made from the version that stands.
   *
   * @param former the record as it stands, if there is one
   * @param ifMatch the version that the client read, when it says so
   * @param incoming the record as it would be
   * @throws Problem when the record has moved on (412), or when the client does not say what it
   *     read and must (428)
   */
  void require(Optional<Resource> former, OptionalLong ifMatch, Resource incoming) {
    if (asked && former.isPresent() && ifMatch.isEmpty()) {
      throw Problem.of(
          Problem.Kind.VERSION_NEEDED,
          "If-Match must name the version that was read; the record is at version "
              + Records.version(former.get())
              + ".",
          incoming.fhirType() + ".meta.versionId");
    }
    long current = former.map(Records::version).orElse(0L);
    if (ifMatch.isPresent() && ifMatch.getAsLong() != current) {
      throw Problem.of(
          Problem.Kind.VERSION_CONFLICT,
          former.isEmpty()
              ? "There is no such record to match."
              : "The record is at version " + current + ", not " + ifMatch.getAsLong() + ".",
          incoming.fhirType() + ".meta.versionId");
    }
  }
}
