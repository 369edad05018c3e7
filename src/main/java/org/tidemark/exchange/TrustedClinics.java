package org.tidemark.exchange;

import jakarta.enterprise.context.ApplicationScoped;
import java.io.IOException;
import java.io.UncheckedIOException;
import java.net.InetAddress;
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
import org.tidemark.clinic.Clinics;
import org.tidemark.http.AccessSettings;

/**
 * The clinics whose documents each clinic that is served takes, with where its public keys (a JSON
 * Web Key Set) are: an address, which is read when a key is needed that is not known, or a file.
 */
@ApplicationScoped
class TrustedClinics {
  private static final Duration PATIENCE = Duration.ofSeconds(10);

  private final Outgoing outgoing;
  private final Clinics clinics;
  private final Map<String, Map<String, VerificationKeyResolver>> keys = new HashMap<>();

  TrustedClinics(Outgoing outgoing, Clinics clinics) {
    this.outgoing = outgoing;
    this.clinics = clinics;
    clinics.all().forEach(one -> keys.put(one.id(), keys(one.trusted())));
  }

  private Map<String, VerificationKeyResolver> keys(List<String> trusted) {
    Map<String, VerificationKeyResolver> keys = new HashMap<>();
    for (String clinic : trusted) {
      int bar = clinic.indexOf('|');
      if (bar < 1) {
        throw new IllegalStateException(
            "tidemark.handover.trusted is a list of 'base address|JWKS address or file', not "
                + clinic);
      }
      keys.put(
          withoutSlash(clinic.substring(0, bar).strip()), at(clinic.substring(bar + 1).strip()));
    }
    return keys;
  }

  /** The keys of another clinic; empty when the one that is acted for does not trust it. */
  Optional<VerificationKeyResolver> keysOf(String issuer) {
    return Optional.ofNullable(keys.get(clinics.acting().id()).get(withoutSlash(issuer)));
  }

  /** Keys that came over an open line could be anybody's. */
  private static void requireSafe(URI place) {
    String host = Optional.ofNullable(place.getHost()).orElse("");
    if (!"https".equals(place.getScheme()) && !AccessSettings.isLoopback(host)) {
      throw new IllegalStateException(
          "tidemark.handover.trusted: keys are read by https or from a file, not from " + place);
    }
  }

  /** Reads keys where a setting says, which may lie in the clinic's own network. */
  private SimpleResponse read(String place) throws IOException {
    URI at = URI.create(place);
    Outgoing.Answer answer =
        outgoing.send(
            new Outgoing.Sent(
                "GET",
                at,
                List.of(InetAddress.getAllByName(at.getHost())),
                Map.of("Accept", "application/jwk-set+json, application/json"),
                Optional.empty(),
                PATIENCE));
    return new Read(answer);
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

  private static String withoutSlash(String address) {
    return address.endsWith("/") ? address.substring(0, address.length() - 1) : address;
  }

  private VerificationKeyResolver at(String place) {
    if (place.startsWith("https://") || place.startsWith("http://")) {
      requireSafe(URI.create(place));
      HttpsJwks keys = new HttpsJwks(place);
      keys.setSimpleHttpGet(this::read);
      return new HttpsJwksVerificationKeyResolver(keys);
    }
    try {
      return new JwksVerificationKeyResolver(
          new JsonWebKeySet(Files.readString(Path.of(place))).getJsonWebKeys());
    } catch (IOException e) {
      throw new UncheckedIOException("the keys of a trusted clinic cannot be read", e);
    } catch (JoseException e) {
      throw new IllegalStateException(place + " is no JSON Web Key Set", e);
    }
  }
}
