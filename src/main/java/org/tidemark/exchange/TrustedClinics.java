package org.tidemark.exchange;

import jakarta.enterprise.context.ApplicationScoped;
import java.util.HashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import org.jose4j.keys.resolvers.VerificationKeyResolver;
import org.tidemark.clinic.Clinics;

/**
 * The clinics whose documents each clinic that is served takes, with where its public keys (a JSON
 * Web Key Set) are: an address, which is read when a key is needed that is not known, or a file.
 */
@ApplicationScoped
class TrustedClinics {
  private static final String SETTING = "tidemark.handover.trusted";

  private final KeySets keySets;
  private final Clinics clinics;
  private final Map<String, Map<String, VerificationKeyResolver>> keys = new HashMap<>();

  TrustedClinics(KeySets keySets, Clinics clinics) {
    this.keySets = keySets;
    this.clinics = clinics;
    clinics.all().forEach(one -> keys.put(one.id(), keys(one.trusted())));
  }

  private Map<String, VerificationKeyResolver> keys(List<String> trusted) {
    Map<String, VerificationKeyResolver> keys = new HashMap<>();
    for (String clinic : trusted) {
      int bar = clinic.indexOf('|');
      if (bar < 1) {
        throw new IllegalStateException(
            SETTING + " is a list of 'base address|JWKS address or file', not " + clinic);
      }
      keys.put(
          withoutSlash(clinic.substring(0, bar).strip()),
          keySets.at(clinic.substring(bar + 1).strip(), SETTING));
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
}
