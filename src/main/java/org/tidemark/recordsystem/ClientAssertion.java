package org.tidemark.recordsystem;

import java.net.URI;
import java.time.Duration;
import java.time.Instant;
import java.util.UUID;
import org.jose4j.jwk.EllipticCurveJsonWebKey;
import org.jose4j.jwk.PublicJsonWebKey;
import org.jose4j.jwk.RsaJsonWebKey;
import org.jose4j.jws.AlgorithmIdentifiers;
import org.jose4j.jws.JsonWebSignature;
import org.jose4j.jwt.JwtClaims;
import org.jose4j.jwt.NumericDate;
import org.jose4j.keys.EllipticCurves;
import org.jose4j.lang.JoseException;

/**
 * What a client of SMART Backend Services shows a token endpoint instead of a secret: a JSON Web
 * Token signed with its key (RFC 7523), by RS384 or ES384, of use once and for a few minutes.
 */
final class ClientAssertion {
  /** Backend Services allow five minutes at most; some are left for clocks that run apart. */
  private static final Duration LIFE = Duration.ofMinutes(4);

  private final String client;
  private final URI tokenEndpoint;
  private final PublicJsonWebKey key;
  private final String algorithm;

  /**
   * @throws IllegalArgumentException for a key that cannot sign by RS384 or ES384, or has no kid
   */
  ClientAssertion(String client, URI tokenEndpoint, PublicJsonWebKey key) {
    if (key.getKeyId() == null) {
      throw new IllegalArgumentException("the key has no kid");
    }
    this.client = client;
    this.tokenEndpoint = tokenEndpoint;
    this.key = key;
    this.algorithm = algorithm(key);
  }

  private static String algorithm(PublicJsonWebKey key) {
    if (key.getPrivateKey() != null && key instanceof RsaJsonWebKey) {
      return AlgorithmIdentifiers.RSA_USING_SHA384;
    }
    if (key.getPrivateKey() != null
        && key instanceof EllipticCurveJsonWebKey curve
        && curve.getCurveName().equals(EllipticCurves.P_384)) {
      return AlgorithmIdentifiers.ECDSA_USING_P384_CURVE_AND_SHA384;
    }
    throw new IllegalArgumentException("the key is no private one of RSA or P-384");
  }

  /** A new one, never to be shown twice. */
  String at(Instant now) throws JoseException {
    JwtClaims claims = new JwtClaims();
    claims.setIssuer(client);
    claims.setSubject(client);
    claims.setAudience(tokenEndpoint.toString());
    claims.setJwtId(UUID.randomUUID().toString());
    claims.setExpirationTime(NumericDate.fromSeconds(now.plus(LIFE).getEpochSecond()));
    JsonWebSignature signed = new JsonWebSignature();
    signed.setHeader("typ", "JWT");
    signed.setKeyIdHeaderValue(key.getKeyId());
    signed.setAlgorithmHeaderValue(algorithm);
    signed.setKey(key.getPrivateKey());
    signed.setPayload(claims.toJson());
    return signed.getCompactSerialization();
  }
}
