package org.tidemark.exchange;

import jakarta.enterprise.context.ApplicationScoped;
import java.util.HashMap;
import java.util.Map;
import java.util.Optional;
import org.jose4j.keys.resolvers.VerificationKeyResolver;
import org.tidemark.clinic.Clinic;
import org.tidemark.clinic.Clinics;

/**
 * The clinics whose documents each clinic that is served takes, with where its public keys (a JSON
 * Web Key Set) are: an address, which is read when a key is needed that is not known, or a file.
 */
@ApplicationScoped
class TrustedClinics {
  private static final String SETTING = "tidemark.handover.trusted";

  private final Clinics clinics;
  private final Map<String, Map<String, VerificationKeyResolver>> keys = new HashMap<>();

  TrustedClinics(KeySets keySets, Clinics clinics) {
    this.clinics = clinics;
    for (Clinic clinic : clinics.all()) {
      Map<String, VerificationKeyResolver> trusted = new HashMap<>();
      keySets
          .of(clinic.trusted(), SETTING)
          .forEach((base, known) -> trusted.put(withoutSlash(base), known));
      keys.put(clinic.id(), trusted);
    }
  }

  /** The keys of another clinic; empty when the one that is acted for does not trust it. */
  Optional<VerificationKeyResolver> keysOf(String issuer) {
    return Optional.ofNullable(keys.get(clinics.acting().id()).get(withoutSlash(issuer)));
  }

  private static String withoutSlash(String address) {
    return address.endsWith("/") ? address.substring(0, address.length() - 1) : address;
  }
}
