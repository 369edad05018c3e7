package org.tidemark.application;

import io.quarkus.runtime.configuration.ConfigurationException;
import jakarta.inject.Singleton;
import java.net.URLEncoder;
import java.nio.charset.StandardCharsets;
import java.util.Optional;
import java.util.Set;
import org.eclipse.microprofile.config.inject.ConfigProperty;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.Bundle.HTTPVerb;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Resource;

/**
 * What an Observation is that is sent again under the identifier of one that is here, by a client
 * that does not say {@code If-None-Exist}: another one, or the same.
 */
@Singleton
public class Repeats {
  private final boolean same;

  Repeats(@ConfigProperty(name = "tidemark.repeated-identifier") String repeated) {
    if (!Set.of("another", "same").contains(repeated)) {
      throw new ConfigurationException("tidemark.repeated-identifier is another or same.");
    }
    this.same = repeated.equals("same");
  }

  /**
   * The condition under which an Observation is new, where that is set.
   *
   * @param resource what is sent to be created
   * @return a query as {@code If-None-Exist} has it; empty where any is new, or it has no
   *     identifier with a system
   */
  public Optional<String> condition(Resource resource) {
    return same && resource instanceof Observation observation
        ? observation.getIdentifier().stream()
            .filter(identifier -> identifier.hasSystem() && identifier.hasValue())
            .findFirst()
            .map(Searching::token)
            .map(token -> "identifier=" + URLEncoder.encode(token, StandardCharsets.UTF_8))
        : Optional.empty();
  }

  /** Gives each entry of a Bundle that is created without a condition that condition. */
  public void condition(Bundle bundle) {
    bundle.getEntry().stream()
        .filter(entry -> entry.getRequest().getMethod() == HTTPVerb.POST)
        .filter(entry -> !entry.getRequest().hasIfNoneExist())
        .forEach(
            entry -> condition(entry.getResource()).ifPresent(entry.getRequest()::setIfNoneExist));
  }
}
