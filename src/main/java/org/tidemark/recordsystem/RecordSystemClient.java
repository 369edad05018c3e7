package org.tidemark.recordsystem;

import ca.uhn.fhir.context.FhirContext;
import ca.uhn.fhir.parser.DataFormatException;
import com.fasterxml.jackson.core.JacksonException;
import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.ObjectMapper;
import jakarta.enterprise.context.ApplicationScoped;
import java.io.IOException;
import java.io.InputStream;
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
import org.eclipse.microprofile.config.inject.ConfigProperty;
import org.hl7.fhir.r4.model.Resource;
import org.tidemark.exchange.Outgoing;

/** Reads from a record system, and writes to it. */
@ApplicationScoped
class RecordSystemClient {
  /** A full server's is some two megabytes. */
  private static final int LONGEST_STATEMENT = 1 << 24;

  private static final String STATEMENT = "CapabilityStatement";
  private static final ObjectMapper JSON = new ObjectMapper();

  private final Outgoing outgoing;
  private final Places places;
  private final BackendTokens tokens;
  private final FhirContext context;
  private final Duration patience;

  RecordSystemClient(
      Outgoing outgoing,
      Places places,
      BackendTokens tokens,
      FhirContext context,
      @ConfigProperty(name = "tidemark.record-system.patience") Duration patience) {
    this.outgoing = outgoing;
    this.places = places;
    this.tokens = tokens;
    this.context = context;
    this.patience = patience;
  }

  /**
   * What time it is there.
   *
   * @throws RecordSystemProblem when it does not say
   */
  Instant now(RecordSystem system) throws RecordSystemProblem {
    Outgoing.Answer answer = send(system, reading(system.base().resolve("metadata")));
    requireGood(answer.status());
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
    Outgoing.Answer answer = send(system, reading(at));
    if (answer.status() == 404 || answer.status() == 410) {
      return Optional.empty();
    }
    requireGood(answer.status());
    return Optional.of(parsed(answer, type));
  }

  /**
   * What the record system says that it can do.
   *
   * @throws RecordSystemProblem when it does not say
   */
  Statement statement(RecordSystem system) throws RecordSystemProblem {
    Request request = reading(system.base().resolve("metadata"));
    try {
      Outgoing.Opened opened = outgoing.open(sent(system, request));
      if (opened.status() == 401 && system.login().isPresent()) {
        opened.body().close();
        tokens.drop(system.login().get());
        opened = outgoing.open(sent(system, request));
      }
      try (InputStream body = opened.body()) {
        if (opened.status() >= 500 || opened.status() == 429) {
          throw RecordSystemProblem.down(
              "The record system answered " + opened.status() + ".", null);
        }
        byte[] read = body.readNBytes(LONGEST_STATEMENT);
        requireGood(opened.status());
        JsonNode json = JSON.readTree(read);
        if (!json.path("resourceType").asText().equals(STATEMENT)) {
          throw new RecordSystemProblem(told(STATEMENT));
        }
        return Statement.of(json);
      }
    } catch (JacksonException noJson) {
      throw new RecordSystemProblem(told(STATEMENT), noJson);
    } catch (IOException unreachable) {
      throw lost(unreachable);
    }
  }

  private static RecordSystemProblem lost(IOException why) {
    return RecordSystemProblem.down(
        why instanceof SocketTimeoutException
            ? "The record system did not answer in time."
            : "The record system could not be reached.",
        why);
  }

  /**
   * Writes a record, or what a transaction holds.
   *
   * @param method POST or PUT
   * @param at where to
   * @param condition a header under which it is written, such as {@code If-Match}; may be empty
   * @return what was answered, with a status of 200 or 201
   * @throws RecordSystemProblem when it was not written
   */
  Outgoing.Answer write(
      RecordSystem system, String method, URI at, Map<String, String> condition, Resource body)
      throws RecordSystemProblem {
    Map<String, String> headers = new LinkedHashMap<>(condition);
    headers.put("Content-Type", "application/fhir+json; charset=utf-8");
    Outgoing.Answer answer =
        send(
            system,
            new Request(
                method,
                at,
                headers,
                Optional.of(context.newJsonParser().encodeResourceToString(body))));
    if (answer.status() == 409 || answer.status() == 412) {
      throw new RecordSystemProblem(
          "A record was changed in the record system meanwhile; it is looked at the next time.");
    }
    if (answer.status() != 200 && answer.status() != 201) {
      throw new RecordSystemProblem(
          "The record system answered %d to the writing of a %s."
              .formatted(answer.status(), body.fhirType()));
    }
    return answer;
  }

  /**
   * The resource in an answer.
   *
   * @throws RecordSystemProblem when it is another, or none
   */
  <T extends Resource> T parsed(Outgoing.Answer answer, Class<T> type) throws RecordSystemProblem {
    try {
      return context.newJsonParser().parseResource(type, answer.body());
    } catch (DataFormatException | ClassCastException other) {
      throw new RecordSystemProblem(told(type.getSimpleName()), other);
    }
  }

  /** What is asked of a record system. */
  private record Request(
      String method, URI at, Map<String, String> headers, Optional<String> body) {}

  private static Request reading(URI at) {
    return new Request("GET", at, Map.of(), Optional.empty());
  }

  private static String told(String expected) {
    return "The record system did not answer with a %s.".formatted(expected);
  }

  private static void requireGood(int status) throws RecordSystemProblem {
    if (status != 200) {
      throw new RecordSystemProblem("The record system answered " + status + ".");
    }
  }

  private Outgoing.Answer send(RecordSystem system, Request request) throws RecordSystemProblem {
    Outgoing.Answer answer = once(system, request);
    if (answer.status() == 401 && system.login().isPresent()) {
      tokens.drop(system.login().get());
      answer = once(system, request);
    }
    return answer;
  }

  private Outgoing.Answer once(RecordSystem system, Request request) throws RecordSystemProblem {
    try {
      Outgoing.Answer answer = outgoing.send(sent(system, request));
      if (answer.status() >= 500 || answer.status() == 429) {
        throw RecordSystemProblem.down("The record system answered " + answer.status() + ".", null);
      }
      return answer;
    } catch (IOException unreachable) {
      throw lost(unreachable);
    }
  }

  private Outgoing.Sent sent(RecordSystem system, Request request) throws RecordSystemProblem {
    Map<String, String> headers = new LinkedHashMap<>(request.headers());
    headers.put("Accept", "application/fhir+json");
    if (system.login().isPresent()) {
      headers.put("Authorization", "Bearer " + tokens.get(system.login().get()));
    }
    return new Outgoing.Sent(
        request.method(), request.at(), places.of(request.at()), headers, request.body(), patience);
  }
}
