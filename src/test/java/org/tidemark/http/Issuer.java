package org.tidemark.http;

import java.util.List;
import java.util.Map;
import org.jose4j.jwk.EcJwkGenerator;
import org.jose4j.jwk.JsonWebKey;
import org.jose4j.jwk.JsonWebKeySet;
import org.jose4j.jwk.PublicJsonWebKey;
import org.jose4j.jwk.RsaJwkGenerator;
import org.jose4j.jws.JsonWebSignature;
import org.jose4j.jwt.JwtClaims;
import org.jose4j.keys.EllipticCurves;
import org.jose4j.lang.JoseException;

/** An authorization server of the tests: keys that are made now, and tokens that they sign. */
final class Issuer {
  static final String NAME = "https://id.example";
  static final String AUDIENCE = PlanPerson.BASE;

  final PublicJsonWebKey key;
  private final String algorithm;

  Issuer(String algorithm, String kid) {
    this.algorithm = algorithm;
    this.key = key(algorithm);
    key.setKeyId(kid);
  }

  private static PublicJsonWebKey key(String algorithm) {
    try {
      return switch (algorithm) {
        case "ES256" -> EcJwkGenerator.generateJwk(EllipticCurves.P256);
        case "ES384" -> EcJwkGenerator.generateJwk(EllipticCurves.P384);
        default -> RsaJwkGenerator.generateJwk(2048);
      };
    } catch (JoseException e) {
      throw new IllegalStateException(e);
    }
  }

  static String jwks(Issuer... issuers) {
    return new JsonWebKeySet(List.of(issuers).stream().map(issuer -> issuer.key).toList())
        .toJson(JsonWebKey.OutputControlLevel.PUBLIC_ONLY);
  }

  /** Claims of a good token. */
  static JwtClaims claims(String scopes, String patient) {
    JwtClaims claims = new JwtClaims();
    claims.setIssuer(NAME);
    claims.setAudience(AUDIENCE);
    claims.setSubject("someone");
    claims.setIssuedAtToNow();
    claims.setExpirationTimeMinutesInTheFuture(5);
    claims.setGeneratedJwtId();
    claims.setClaim("scope", scopes);
    if (patient != null) {
      claims.setClaim("patient", patient);
    }
    return claims;
  }

  String token(String scopes, String patient) {
    return sign(claims(scopes, patient));
  }

  String token(String scopes, Map<String, Object> more) {
    JwtClaims claims = claims(scopes, null);
    more.forEach(claims::setClaim);
    return sign(claims);
  }

  String sign(JwtClaims claims) {
    return sign(claims, algorithm, key);
  }

  static String sign(JwtClaims claims, String algorithm, PublicJsonWebKey key) {
    JsonWebSignature signed = new JsonWebSignature();
    signed.setPayload(claims.toJson());
    signed.setAlgorithmHeaderValue(algorithm);
    signed.setKeyIdHeaderValue(key.getKeyId());
    signed.setKey(key.getPrivateKey());
    try {
      return signed.getCompactSerialization();
    } catch (JoseException e) {
      throw new IllegalStateException(e);
    }
  }
}
