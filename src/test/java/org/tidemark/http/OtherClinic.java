package org.tidemark.http;

import jakarta.json.Json;
import jakarta.json.JsonArray;
import jakarta.json.JsonArrayBuilder;
import jakarta.json.JsonObject;
import jakarta.json.JsonObjectBuilder;
import jakarta.json.JsonValue;
import java.io.IOException;
import java.io.StringReader;
import java.io.UncheckedIOException;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.Base64;
import java.util.List;
import java.util.TreeSet;
import org.jose4j.jwk.EcJwkGenerator;
import org.jose4j.jwk.JsonWebKey.OutputControlLevel;
import org.jose4j.jwk.JsonWebKeySet;
import org.jose4j.jwk.PublicJsonWebKey;
import org.jose4j.jws.JsonWebSignature;
import org.jose4j.keys.EllipticCurves;
import org.jose4j.lang.JoseException;

/**
 * Another clinic, as the one under test sees it: its documents are ours under its own address,
 * signed with its own key. Its canonical JSON is made by another library than ours.
 */
final class OtherClinic {
  static final String BASE = "http://elsewhere.example/fhir";
  static final Path KEYS = Path.of("target/elsewhere.jwks.json");

  private static final PublicJsonWebKey KEY = key();

  private OtherClinic() {}

  private static PublicJsonWebKey key() {
    try {
      PublicJsonWebKey made = EcJwkGenerator.generateJwk(EllipticCurves.P384);
      made.setKeyId("elsewhere-1");
      Files.createDirectories(KEYS.getParent());
      Files.writeString(KEYS, new JsonWebKeySet(made).toJson(OutputControlLevel.PUBLIC_ONLY));
      return made;
    } catch (JoseException e) {
      throw new IllegalStateException(e);
    } catch (IOException e) {
      throw new UncheckedIOException(e);
    }
  }

  /** Where the public keys lie, which the first call makes. */
  static String keys() {
    return KEY.getKeyId() == null ? "" : KEYS.toString();
  }

  /** A document of ours as if this clinic had written it. */
  static String from(String ours) {
    return signed(ours.replace(PlanPerson.BASE, BASE));
  }

  /** A document with this clinic's signature. */
  static String signed(String document) {
    try {
      JsonObject content = json(document);
      JsonWebSignature jws = new JsonWebSignature();
      jws.setAlgorithmHeaderValue("ES384");
      jws.setKeyIdHeaderValue(KEY.getKeyId());
      jws.setKey(KEY.getPrivateKey());
      jws.setPayload(canonical(content));
      String data =
          Base64.getEncoder()
              .encodeToString(
                  jws.getDetachedContentCompactSerialization().getBytes(StandardCharsets.UTF_8));
      JsonObject signature =
          Json.createObjectBuilder(content.getJsonObject("signature")).add("data", data).build();
      return Json.createObjectBuilder(content).add("signature", signature).build().toString();
    } catch (JoseException e) {
      throw new IllegalStateException(e);
    }
  }

  static JsonObject json(String text) {
    try (var reader = Json.createReader(new StringReader(text))) {
      return reader.readObject();
    }
  }

  /** R4's canonical JSON of a document. */
  static String canonical(JsonObject document) {
    JsonObjectBuilder signed = Json.createObjectBuilder(document);
    List.of("id", "meta", "signature").forEach(signed::remove);
    return sorted(signed.build()).toString();
  }

  private static JsonValue sorted(JsonValue value) {
    if (value instanceof JsonObject object) {
      JsonObjectBuilder members = Json.createObjectBuilder();
      new TreeSet<>(object.keySet()).forEach(name -> members.add(name, sorted(object.get(name))));
      return members.build();
    } else if (value instanceof JsonArray array) {
      JsonArrayBuilder values = Json.createArrayBuilder();
      array.forEach(one -> values.add(sorted(one)));
      return values.build();
    }
    return value;
  }
}
