package org.tidemark.sandbox;

import io.quarkus.narayana.jta.QuarkusTransaction;
import jakarta.enterprise.context.ApplicationScoped;
import java.util.Optional;
import java.util.UUID;
import org.jose4j.jwk.EcJwkGenerator;
import org.jose4j.jwk.JsonWebKey.OutputControlLevel;
import org.jose4j.jwk.JsonWebKeySet;
import org.jose4j.jwk.PublicJsonWebKey;
import org.jose4j.keys.EllipticCurves;
import org.jose4j.lang.JoseException;
import org.tidemark.clinic.ActingClinic;
import org.tidemark.clinic.Clinics;
import org.tidemark.http.OwnIssuer;
import org.tidemark.store.LostRace;
import org.tidemark.store.SandboxStore;

/**
 * The key that signs the sandbox's tokens. It is made once and kept, so that all instances have it,
 * among the rows of the clinic that the service is set up for.
 */
@ApplicationScoped
class SandboxKey implements OwnIssuer {
  private final SandboxStore store;
  private final Clinics clinics;
  private volatile PublicJsonWebKey known;

  SandboxKey(SandboxStore store, Clinics clinics) {
    this.store = store;
    this.clinics = clinics;
  }

  /** The key with its private part. */
  PublicJsonWebKey key() {
    if (known == null) {
      known = ActingClinic.call(clinics.home().id(), () -> kept().orElseGet(this::made));
    }
    return known;
  }

  @Override
  public String jwks() {
    return new JsonWebKeySet(key()).toJson(OutputControlLevel.PUBLIC_ONLY);
  }

  private Optional<PublicJsonWebKey> kept() {
    return QuarkusTransaction.requiringNew().call(store::key).map(SandboxKey::read);
  }

  private static PublicJsonWebKey read(String jwk) {
    try {
      return PublicJsonWebKey.Factory.newPublicJwk(jwk);
    } catch (JoseException e) {
      throw new IllegalStateException("the key that was kept cannot be read", e);
    }
  }

  private PublicJsonWebKey made() {
    try {
      PublicJsonWebKey made = EcJwkGenerator.generateJwk(EllipticCurves.P384);
      made.setKeyId(UUID.randomUUID().toString());
      made.setAlgorithm("ES384");
      QuarkusTransaction.requiringNew()
          .run(() -> store.keep(made.toJson(OutputControlLevel.INCLUDE_PRIVATE)));
      return made;
    } catch (JoseException e) {
      throw new IllegalStateException("every Java has the curve P-384", e);
    } catch (RuntimeException another) {
      if (!LostRace.isLostRace(another)) {
        throw another;
      }
      return kept().orElseThrow(() -> another);
    }
  }
}
