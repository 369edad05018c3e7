package org.tidemark.load;

import java.io.IOException;
import java.net.URI;
import java.net.http.HttpClient;
import java.net.http.HttpRequest;
import java.net.http.HttpRequest.BodyPublishers;
import java.net.http.HttpResponse;
import java.net.http.HttpResponse.BodyHandlers;
import java.nio.file.Files;
import java.nio.file.Path;
import java.time.Duration;
import java.time.Instant;
import java.time.ZonedDateTime;
import java.time.format.DateTimeFormatter;
import java.time.format.DateTimeParseException;
import java.util.Optional;

/** The endpoint that is sent to. */
final class Endpoint {
  private static final String FHIR = "application/fhir+json";
  private static final Duration CONNECT = Duration.ofSeconds(10);
  private static final Duration ANSWER = Duration.ofMinutes(10);
  private static final long PAUSE_MS = 1_000;

  private final HttpClient client =
      HttpClient.newBuilder().version(HttpClient.Version.HTTP_1_1).connectTimeout(CONNECT).build();
  private final URI base;
  private final Optional<Path> token;

  /**
   * An endpoint.
   *
   * @param base its base address
   * @param token a file with an access token, read anew for each request, so that whoever renews it
   *     need not stop the loading
   */
  Endpoint(String base, Optional<Path> token) {
    this.base = URI.create(base.endsWith("/") ? base.substring(0, base.length() - 1) : base);
    this.token = token;
  }

  /** An answer. */
  record Answer(int status, String body, Optional<String> retryAfter) {

    boolean isGood() {
      return status >= 200 && status < 300;
    }

    /** How long to wait before it is asked again: as Retry-After says (RFC 9110, 10.2.3). */
    long pauseMs(Instant now) {
      if (retryAfter.isEmpty()) {
        return PAUSE_MS;
      }
      String text = retryAfter.get().strip();
      if (text.matches("\\d{1,9}")) {
        return Long.parseLong(text) * 1_000;
      }
      try {
        Instant then = ZonedDateTime.parse(text, DateTimeFormatter.RFC_1123_DATE_TIME).toInstant();
        return Math.max(0, Duration.between(now, then).toMillis());
      } catch (DateTimeParseException neither) {
        return PAUSE_MS;
      }
    }
  }

  /**
   * Asks what the service is, and what time it has there.
   *
   * @return that time, in milliseconds, the second begun
   * @throws Stop when nothing that speaks FHIR answers there
   */
  long greet() {
    try {
      HttpResponse<String> answer =
          client.send(to(URI.create(base + "/metadata")).GET().build(), BodyHandlers.ofString());
      if (answer.statusCode() != 200 || !answer.body().contains("\"CapabilityStatement\"")) {
        throw new Stop(base + "/metadata is no FHIR endpoint: it answers " + answer.statusCode());
      }
      return answer
          .headers()
          .firstValue("Date")
          .map(date -> ZonedDateTime.parse(date, DateTimeFormatter.RFC_1123_DATE_TIME))
          .map(date -> date.toInstant().toEpochMilli())
          .orElseGet(() -> System.currentTimeMillis() / 1_000 * 1_000);
    } catch (IOException e) {
      throw new Stop("nothing answers at " + base, e);
    } catch (InterruptedException e) {
      Thread.currentThread().interrupt();
      throw new Stop("interrupted");
    }
  }

  /**
   * Posts a Bundle.
   *
   * @throws IOException when no answer comes; whether it was carried out is not known then
   */
  Answer post(String bundle) throws IOException {
    try {
      HttpResponse<String> answer =
          client.send(
              to(base)
                  .header("Content-Type", FHIR)
                  .header("Prefer", "return=minimal")
                  .POST(BodyPublishers.ofString(bundle))
                  .build(),
              BodyHandlers.ofString());
      return new Answer(
          answer.statusCode(), answer.body(), answer.headers().firstValue("Retry-After"));
    } catch (InterruptedException e) {
      Thread.currentThread().interrupt();
      throw new Stop("interrupted");
    }
  }

  private HttpRequest.Builder to(URI address) {
    HttpRequest.Builder request =
        HttpRequest.newBuilder(address).timeout(ANSWER).header("Accept", FHIR);
    token.ifPresent(file -> request.header("Authorization", "Bearer " + read(file)));
    return request;
  }

  private static String read(Path token) {
    try {
      return Files.readString(token).strip();
    } catch (IOException e) {
      throw new Stop("the access token cannot be read", e);
    }
  }
}
