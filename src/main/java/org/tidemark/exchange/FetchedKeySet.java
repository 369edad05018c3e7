package org.tidemark.exchange;

import jakarta.enterprise.context.ApplicationScoped;
import java.io.IOException;
import java.net.InetAddress;
import java.net.URI;
import java.time.Duration;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import org.jose4j.jwk.JsonWebKey;
import org.jose4j.jwk.JsonWebKeySet;
import org.jose4j.lang.JoseException;
import org.tidemark.http.KeySetSource;

/**
 * Fetches keys. Where a setting says may lie in the clinic's own network; nowhere else is asked.
 */
@ApplicationScoped
class FetchedKeySet implements KeySetSource {
  private static final Duration PATIENCE = Duration.ofSeconds(10);
  private static final int OK = 200;

  private final Outgoing outgoing;

  FetchedKeySet(Outgoing outgoing) {
    this.outgoing = outgoing;
  }

  @Override
  public String read(URI at) throws IOException {
    return fetch(at).body();
  }

  /** A whole answer with a key set in it. */
  Outgoing.Answer fetch(URI at) throws IOException {
    return fetch(at, PATIENCE);
  }

  Outgoing.Answer fetch(URI at, Duration patience) throws IOException {
    Outgoing.Answer answer =
        outgoing.send(
            new Outgoing.Sent(
                "GET",
                at,
                List.of(InetAddress.getAllByName(at.getHost())),
                Map.of("Accept", "application/jwk-set+json, application/json"),
                Optional.empty(),
                patience));
    if (answer.status() != OK) {
      throw new IOException("the answer was " + answer.status());
    }
    if (keys(answer.body()).isEmpty()) {
      throw new IOException("the key set is empty");
    }
    return answer;
  }

  /** The library casts what it expects, so that JSON of another shape ends in any exception. */
  private static List<JsonWebKey> keys(String body) throws IOException {
    try {
      return new JsonWebKeySet(body).getJsonWebKeys();
    } catch (JoseException | RuntimeException e) {
      throw new IOException("the answer is no key set", e);
    }
  }
}
