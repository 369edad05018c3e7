package org.tidemark.recordsystem;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertNotEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.ObjectMapper;
import java.net.URI;
import java.nio.charset.StandardCharsets;
import java.security.Signature;
import java.time.Instant;
import java.util.Base64;
import org.jose4j.jwk.EcJwkGenerator;
import org.jose4j.jwk.PublicJsonWebKey;
import org.jose4j.jwk.RsaJwkGenerator;
import org.jose4j.keys.EllipticCurves;
import org.junit.jupiter.api.Test;

/**
 * What SMART App Launch 2.x, "Client Authentication: Asymmetric", asks of the token, its signature
 * verified by the JDK, not by the library that signs.
 */
class ClientAssertionTest {
  private static final Instant NOW = Instant.parse("2026-11-02T08:00:00Z");
  private static final URI TOKEN = URI.create("https://record.example/token");

  private static PublicJsonWebKey named(PublicJsonWebKey key) {
    key.setKeyId("k1");
    return key;
  }

  private static ClientAssertion by(PublicJsonWebKey key) {
    return new ClientAssertion("tidemark-north", TOKEN, key);
  }

  private static JsonNode part(String token, int part) throws Exception {
    return new ObjectMapper().readTree(Base64.getUrlDecoder().decode(token.split("\\.")[part]));
  }

  private static boolean verified(String token, PublicJsonWebKey key, String algorithm)
      throws Exception {
    int last = token.lastIndexOf('.');
    Signature check = Signature.getInstance(algorithm);
    check.initVerify(key.getPublicKey());
    check.update(token.substring(0, last).getBytes(StandardCharsets.US_ASCII));
    return check.verify(Base64.getUrlDecoder().decode(token.substring(last + 1)));
  }

  @Test
  void curveSignsByEs384() throws Exception {
    PublicJsonWebKey key = named(EcJwkGenerator.generateJwk(EllipticCurves.P384));
    String token = by(key).at(NOW);
    assertEquals("{\"typ\":\"JWT\",\"kid\":\"k1\",\"alg\":\"ES384\"}", part(token, 0).toString());
    assertTrue(verified(token, key, "SHA384withECDSAinP1363Format"));
  }

  @Test
  void rsaSignsByRs384() throws Exception {
    PublicJsonWebKey key = named(RsaJwkGenerator.generateJwk(2048));
    String token = by(key).at(NOW);
    assertEquals("RS384", part(token, 0).get("alg").textValue());
    assertTrue(verified(token, key, "SHA384withRSA"));
  }

  @Test
  void claimsNameTheClientTheEndpointAndAnEndWithinFiveMinutes() throws Exception {
    PublicJsonWebKey key = named(EcJwkGenerator.generateJwk(EllipticCurves.P384));
    JsonNode first = part(by(key).at(NOW), 1);
    assertEquals("tidemark-north", first.get("iss").textValue());
    assertEquals("tidemark-north", first.get("sub").textValue());
    assertEquals("https://record.example/token", first.get("aud").textValue());
    long life = first.get("exp").longValue() - NOW.getEpochSecond();
    assertTrue(life > 0 && life <= 300, "lives " + life + " s");
    assertNotEquals(first.get("jti"), part(by(key).at(NOW), 1).get("jti"));
  }

  @Test
  void otherKeysAreRefused() throws Exception {
    PublicJsonWebKey small = named(EcJwkGenerator.generateJwk(EllipticCurves.P256));
    assertThrows(IllegalArgumentException.class, () -> by(small));
    PublicJsonWebKey whole = named(EcJwkGenerator.generateJwk(EllipticCurves.P384));
    PublicJsonWebKey open = PublicJsonWebKey.Factory.newPublicJwk(whole.toJson());
    assertThrows(IllegalArgumentException.class, () -> by(open));
    PublicJsonWebKey unnamed = EcJwkGenerator.generateJwk(EllipticCurves.P384);
    assertThrows(IllegalArgumentException.class, () -> by(unnamed));
  }
}
