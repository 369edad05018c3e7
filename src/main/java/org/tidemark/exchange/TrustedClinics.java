package org.tidemark.exchange;

import jakarta.enterprise.context.ApplicationScoped;
import java.io.IOException;
import java.io.UncheckedIOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.HashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import org.jose4j.jwk.HttpsJwks;
import org.jose4j.jwk.JsonWebKeySet;
import org.jose4j.keys.resolvers.HttpsJwksVerificationKeyResolver;
import org.jose4j.keys.resolvers.JwksVerificationKeyResolver;
import org.jose4j.keys.resolvers.VerificationKeyResolver;
import org.jose4j.lang.JoseException;
import org.tidemark.clinic.Clinics;

/**
 * The clinics whose documents each clinic that is served takes, with where its public keys (a JSON
 * Web Key Set) are: an address, which is read when a key is needed that is not known, or a file.
 */
@ApplicationScoped
class TrustedClinics {
  private final Clinics clinics;
  private final Map<String, Map<String, VerificationKeyResolver>> keys = new HashMap<>();

  TrustedClinics(Clinics clinics) {
    this.clinics = clinics;
    clinics.all().forEach(one -> keys.put(one.id(), keys(one.trusted())));
  }

  private static Map<String, VerificationKeyResolver> keys(List<String> trusted) {
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

  private static String withoutSlash(String address) {
    return address.endsWith("/") ? address.substring(0, address.length() - 1) : address;
  }

  private static VerificationKeyResolver at(String place) {
    if (place.startsWith("https://") || place.startsWith("http://")) {
      return new HttpsJwksVerificationKeyResolver(new HttpsJwks(place));
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
