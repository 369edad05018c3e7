package org.tidemark.exchange;

import jakarta.enterprise.context.ApplicationScoped;
import java.io.IOException;
import java.io.UncheckedIOException;
import java.net.URI;
import java.nio.file.Files;
import java.nio.file.Path;
import java.time.Duration;
import java.util.Collection;
import java.util.HashMap;
import java.util.List;
import java.util.Locale;
import java.util.Map;
import java.util.Optional;
import org.jose4j.http.SimpleResponse;
import org.jose4j.jwk.HttpsJwks;
import org.jose4j.jwk.JsonWebKeySet;
import org.jose4j.keys.resolvers.HttpsJwksVerificationKeyResolver;
import org.jose4j.keys.resolvers.JwksVerificationKeyResolver;
import org.jose4j.keys.resolvers.VerificationKeyResolver;
import org.jose4j.lang.JoseException;
import org.tidemark.http.AccessSettings;

/** The public keys of others (JSON Web Key Sets), where a setting says that they are. */
@ApplicationScoped
public class KeySets {
  /** Who names a key that is not known makes us ask no more often than so. */
  private static final Duration AGAIN = Duration.ofSeconds(10);

  private final FetchedKeySet fetched;

  KeySets(FetchedKeySet fetched) {
    this.fetched = fetched;
  }

  /**
   * The keys at a place.
   *
   * @param place an address, which is read when a key is needed that is not known, or a file, which
   *     is read now
   * @param setting the setting that names it
   * @throws IllegalStateException when it is an address that is not safe, or no key set
   */
  public VerificationKeyResolver at(String place, String setting) {
    if (place.startsWith("https://") || place.startsWith("http://")) {
      requireSafe(URI.create(place), setting);
      HttpsJwks keys = new HttpsJwks(place);
      keys.setSimpleHttpGet(address -> new Read(fetched.fetch(URI.create(address))));
      keys.setRefreshReprieveThreshold(AGAIN.toMillis());
      return new HttpsJwksVerificationKeyResolver(keys);
    }
    try {
      return new JwksVerificationKeyResolver(
          new JsonWebKeySet(Files.readString(Path.of(place))).getJsonWebKeys());
    } catch (IOException e) {
      throw new UncheckedIOException(setting + ": " + place + " cannot be read", e);
    } catch (JoseException e) {
      throw new IllegalStateException(setting + ": " + place + " is no JSON Web Key Set", e);
    }
  }

  /**
   * The keys of those who are trusted.
   *
   * @param trusted each as {@code name|address or file of its keys}
   * @param setting the setting that names them
   * @return by name, as it is written
   */
  Map<String, VerificationKeyResolver> of(List<String> trusted, String setting) {
    Map<String, VerificationKeyResolver> keys = new HashMap<>();
    for (String one : trusted) {
      int bar = one.indexOf('|');
      if (bar < 1) {
        throw new IllegalStateException(
            setting + " is a list of 'address|JWKS address or file', not " + one);
      }
      keys.put(one.substring(0, bar).strip(), at(one.substring(bar + 1).strip(), setting));
    }
    return keys;
  }

  /** Keys that came over an open line could be anybody's. */
  private static void requireSafe(URI place, String setting) {
    String host = Optional.ofNullable(place.getHost()).orElse("");
    if (!"https".equals(place.getScheme()) && !AccessSettings.isLoopback(host)) {
      throw new IllegalStateException(
          setting + ": keys are read by https or from a file, not from " + place);
    }
  }

  /** What was read, as the library for keys takes it. */
  private record Read(Outgoing.Answer answer) implements SimpleResponse {
    @Override
    public int getStatusCode() {
      return answer.status();
    }

    @Override
    public String getStatusMessage() {
      return "";
    }

    @Override
    public Collection<String> getHeaderNames() {
      return answer.headers().keySet();
    }

    @Override
    public List<String> getHeaderValues(String name) {
      return Optional.ofNullable(answer.headers().get(name.toLowerCase(Locale.ROOT))).stream()
          .toList();
    }

    @Override
    public String getBody() {
      return answer.body();
    }
  }
}
