package org.tidemark.bench;

import java.io.IOException;
import java.nio.charset.StandardCharsets;
import java.util.List;
import java.util.concurrent.atomic.AtomicInteger;
import org.apache.hc.client5.http.impl.classic.HttpClients;
import org.apache.hc.client5.http.impl.classic.MinimalHttpClient;
import org.apache.hc.client5.http.impl.io.PoolingHttpClientConnectionManager;
import org.apache.hc.core5.http.ClassicHttpRequest;
import org.apache.hc.core5.http.ContentType;
import org.apache.hc.core5.http.io.entity.EntityUtils;
import org.apache.hc.core5.http.io.entity.StringEntity;
import org.apache.hc.core5.http.io.support.ClassicRequestBuilder;

/**
 * Sends requests to a service that is measured, from the thread of the caller, over connections
 * that stay open. It takes little of the processor, which the service has to share with it.
 */
final class BenchClient {
  private static final int CONNECTIONS = 64;
  private static final ContentType FHIR =
      ContentType.create("application/fhir+json", StandardCharsets.UTF_8);

  private final List<String> bases;
  private final AtomicInteger turn = new AtomicInteger();
  private final MinimalHttpClient client;

  /**
   * A client of one service.
   *
   * @param base what addresses begin with; of several instances, which are asked in turns, with
   *     commas between
   */
  BenchClient(String base) {
    this.bases = List.of(base.split(","));
    PoolingHttpClientConnectionManager connections = new PoolingHttpClientConnectionManager();
    connections.setMaxTotal(CONNECTIONS);
    connections.setDefaultMaxPerRoute(CONNECTIONS);
    client = HttpClients.createMinimal(connections);
  }

  String get(String path) throws IOException {
    return send("GET", path, "");
  }

  String post(String path, String body) throws IOException {
    return send("POST", path, body);
  }

  String put(String path, String body) throws IOException {
    return send("PUT", path, body);
  }

  /**
   * Sends a request and waits for its answer.
   *
   * @param path what follows the base and a slash, empty for the base itself
   * @param body a record as JSON, empty for none
   * @return the body of the answer
   * @throws IOException also when the answer tells of no success
   */
  private String send(String method, String path, String body) throws IOException {
    String base = bases.get(Math.floorMod(turn.getAndIncrement(), bases.size()));
    ClassicRequestBuilder request =
        ClassicRequestBuilder.create(method)
            .setUri(path.isEmpty() ? base : base + "/" + path)
            .addHeader("Accept", "application/fhir+json");
    if (!body.isEmpty()) {
      request.setEntity(new StringEntity(body, FHIR));
    }
    ClassicHttpRequest built = request.build();
    return client.execute(
        built,
        answer -> {
          String text = EntityUtils.toString(answer.getEntity(), StandardCharsets.UTF_8);
          if (answer.getCode() >= 300) {
            throw new IOException(method + " " + path + ": " + answer.getCode() + " " + text);
          }
          return text;
        });
  }
}
