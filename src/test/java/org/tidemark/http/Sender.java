package org.tidemark.http;

import java.io.IOException;
import java.net.URI;
import java.net.http.HttpClient;
import java.net.http.HttpRequest;
import java.net.http.HttpResponse;
import java.util.Optional;

/** Sends requests with one access token, by plain HTTP. */
final class Sender {
  private static final HttpClient CLIENT = HttpClient.newHttpClient();

  private final Optional<String> token;

  Sender(String token) {
    this.token = Optional.ofNullable(token);
  }

  /** What came back. */
  record Answer(int status, String body, HttpResponse<String> whole) {
    String header(String name) {
      return whole.headers().firstValue(name).orElse("");
    }

    /** The number of matches that a search tells. */
    int total() {
      return PlanPerson.CONTEXT
          .newJsonParser()
          .parseResource(org.hl7.fhir.r4.model.Bundle.class, body)
          .getTotal();
    }
  }

  Answer get(String path) {
    return send("GET", path, null);
  }

  Answer send(String method, String path, String body, String... headers) {
    HttpRequest.Builder request =
        HttpRequest.newBuilder(URI.create("http://localhost:8081" + path.replace("|", "%7C")))
            .method(
                method,
                body == null
                    ? HttpRequest.BodyPublishers.noBody()
                    : HttpRequest.BodyPublishers.ofString(body));
    token.ifPresent(text -> request.header("Authorization", "Bearer " + text));
    boolean typed = false;
    for (int i = 0; i < headers.length; i += 2) {
      request.header(headers[i], headers[i + 1]);
      typed |= headers[i].equals("Content-Type");
    }
    if (body != null && !typed) {
      request.header("Content-Type", "application/fhir+json");
    }
    try {
      HttpResponse<String> answer =
          CLIENT.send(request.build(), HttpResponse.BodyHandlers.ofString());
      return new Answer(answer.statusCode(), answer.body(), answer);
    } catch (IOException e) {
      throw new java.io.UncheckedIOException(e);
    } catch (InterruptedException e) {
      throw new IllegalStateException(e);
    }
  }
}
