package org.tidemark.signin;

import java.util.Map;
import java.util.Optional;
import javax.crypto.spec.SecretKeySpec;
import org.jose4j.json.JsonUtil;
import org.jose4j.jwa.AlgorithmConstraints;
import org.jose4j.jwa.AlgorithmConstraints.ConstraintType;
import org.jose4j.jwe.ContentEncryptionAlgorithmIdentifiers;
import org.jose4j.jwe.JsonWebEncryption;
import org.jose4j.jwe.KeyManagementAlgorithmIdentifiers;
import org.jose4j.lang.JoseException;

/**
 * What the issuer has given for somebody who has signed in.
 *
 * @param access the access token, by which all that the browser asks for is judged
 * @param expires when it expires, seconds since 1970 UTC
 * @param refresh what gets the next one; empty where it was not given
 * @param id the ID token, by which the issuer knows whom to sign out
 * @param subject who it is, as the issuer knows them
 * @param name what they are called; may be empty
 * @param user the reference to the clinician
 * @param clinic the id of the clinic that the access token is for
 */
record Session(
    String access,
    long expires,
    Optional<String> refresh,
    String id,
    String subject,
    String name,
    String user,
    String clinic) {
  private static final String PURPOSE = "seal";

  /** What is shown of who has signed in. */
  String shown() {
    return name.isEmpty() ? user : name;
  }

  /** The session as it is kept: only the secret of the browser opens it (a JWE, A256GCM). */
  String sealed(Secret secret) {
    Map<String, Object> told =
        Map.of(
            "access", access,
            "expires", expires,
            "refresh", refresh.orElse(""),
            "id", id,
            "subject", subject,
            "name", name,
            "user", user,
            "clinic", clinic);
    JsonWebEncryption seal = seal(secret);
    seal.setPayload(JsonUtil.toJson(told));
    seal.setAlgorithmHeaderValue(KeyManagementAlgorithmIdentifiers.DIRECT);
    seal.setEncryptionMethodHeaderParameter(ContentEncryptionAlgorithmIdentifiers.AES_256_GCM);
    try {
      return seal.getCompactSerialization();
    } catch (JoseException e) {
      throw new IllegalStateException("every Java has AES-GCM", e);
    }
  }

  /**
   * Opens what was kept.
   *
   * @throws IllegalStateException when it was not sealed by this secret, or has been changed
   */
  static Session opened(String sealed, Secret secret) {
    JsonWebEncryption seal = seal(secret);
    try {
      seal.setCompactSerialization(sealed);
      Map<String, Object> told = JsonUtil.parseJson(seal.getPayload());
      String refresh = (String) told.get("refresh");
      return new Session(
          (String) told.get("access"),
          ((Number) told.get("expires")).longValue(),
          refresh.isEmpty() ? Optional.empty() : Optional.of(refresh),
          (String) told.get("id"),
          (String) told.get("subject"),
          (String) told.get("name"),
          (String) told.get("user"),
          (String) told.get("clinic"));
    } catch (JoseException e) {
      throw new IllegalStateException("a session that was kept cannot be opened", e);
    }
  }

  private static JsonWebEncryption seal(Secret secret) {
    JsonWebEncryption seal = new JsonWebEncryption();
    seal.setAlgorithmConstraints(
        new AlgorithmConstraints(ConstraintType.PERMIT, KeyManagementAlgorithmIdentifiers.DIRECT));
    seal.setContentEncryptionAlgorithmConstraints(
        new AlgorithmConstraints(
            ConstraintType.PERMIT, ContentEncryptionAlgorithmIdentifiers.AES_256_GCM));
    seal.setKey(new SecretKeySpec(secret.bytes(PURPOSE), "AES"));
    return seal;
  }

  /** Tells no token. */
  @Override
  public String toString() {
    return "the session of " + user;
  }
}
