package org.tidemark.recordsystem;

import ca.uhn.fhir.context.FhirContext;
import ca.uhn.fhir.parser.DataFormatException;
import jakarta.enterprise.context.ApplicationScoped;
import java.io.IOException;
import java.net.SocketTimeoutException;
import java.net.URI;
import java.time.Duration;
import java.time.Instant;
import java.time.ZonedDateTime;
import java.time.format.DateTimeFormatter;
import java.time.format.DateTimeParseException;
import java.util.LinkedHashMap;
import java.util.Map;
import java.util.Optional;
import org.hl7.fhir.r4.model.Resource;
import org.tidemark.exchange.Outgoing;

/** Reads from a record system. */
@ApplicationScoped
class RecordSystemClient {
  private static final Duration PATIENCE = Duration.ofSeconds(30);

  private final Outgoing outgoing;
  private final Places places;
  private final BackendTokens tokens;
  private final FhirContext context;

  RecordSystemClient(Outgoing outgoing, Places places, BackendTokens tokens, FhirContext context) {
    this.outgoing = outgoing;
    this.places = places;
    this.tokens = tokens;
    this.context = context;
  }

  /**
   * What time it is there.
   *
   * @throws RecordSystemProblem when it does not say
   */
  Instant now(RecordSystem system) throws RecordSystemProblem {
    Outgoing.Answer answer = send(system, system.base().resolve("metadata"));
    requireGood(answer);
    try {
      return ZonedDateTime.parse(
              answer.headers().getOrDefault("date", ""), DateTimeFormatter.RFC_1123_DATE_TIME)
          .toInstant();
    } catch (DateTimeParseException unsaid) {
      throw new RecordSystemProblem("The record system does not say what time it is.", unsaid);
    }
  }

  /**
   * Reads what is at an address.
   *
   * @param type the type that is expected
   * @return the resource; empty where there is none
   * @throws RecordSystemProblem when the answer is another
   */
  <T extends Resource> Optional<T> read(RecordSystem system, URI at, Class<T> type)
      throws RecordSystemProblem {
    Outgoing.Answer answer = send(system, at);
    if (answer.status() == 404 || answer.status() == 410) {
      return Optional.empty();
    }
    requireGood(answer);
    try {
      return Optional.of(context.newJsonParser().parseResource(type, answer.body()));
    } catch (DataFormatException | ClassCastException other) {
      throw new RecordSystemProblem(
          "The record system did not answer with a %s.".formatted(type.getSimpleName()), other);
    }
  }

  private static void requireGood(Outgoing.Answer answer) throws RecordSystemProblem {
    if (answer.status() != 200) {
      throw new RecordSystemProblem("The record system answered " + answer.status() + ".");
    }
  }

  private Outgoing.Answer send(RecordSystem system, URI at) throws RecordSystemProblem {
    Outgoing.Answer answer = once(system, at);
    if (answer.status() == 401 && system.login().isPresent()) {
      tokens.drop(system.login().get());
      answer = once(system, at);
    }
    return answer;
  }

  private Outgoing.Answer once(RecordSystem system, URI at) throws RecordSystemProblem {
    Map<String, String> headers = new LinkedHashMap<>();
    headers.put("Accept", "application/fhir+json");
    if (system.login().isPresent()) {
      headers.put("Authorization", "Bearer " + tokens.get(system.login().get()));
    }
    try {
      return outgoing.send(
          new Outgoing.Sent("GET", at, places.of(at), headers, Optional.empty(), PATIENCE));
    } catch (SocketTimeoutException late) {
      throw new RecordSystemProblem("The record system did not answer in time.", late);
    } catch (IOException unreachable) {
      throw new RecordSystemProblem("The record system could not be reached.", unreachable);
    }
  }
}
