package org.tidemark.exchange;

import jakarta.enterprise.context.ApplicationScoped;
import java.nio.charset.StandardCharsets;
import java.util.Date;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Signature;
import org.jose4j.jwa.AlgorithmConstraints;
import org.jose4j.jwa.AlgorithmConstraints.ConstraintType;
import org.jose4j.jwk.PublicJsonWebKey;
import org.jose4j.jws.JsonWebSignature;
import org.jose4j.keys.resolvers.VerificationKeyResolver;
import org.jose4j.lang.JoseException;
import org.jose4j.lang.UnresolvableKeyException;
import org.tidemark.fhir.CanonicalJson;
import org.tidemark.fhir.DocumentText;
import org.tidemark.fhir.Problem;

/**
 * Signs documents and checks the signatures of other clinics, as R4 tells it: a detached JWS (RFC
 * 7515, appendix F) over the canonical JSON of the document, in {@code Bundle.signature}.
 */
@ApplicationScoped
class DocumentSignature {
  private static final String JOSE = "application/jose";
  private static final String SIGNED_FORM =
      "application/fhir+json;canonicalization=" + CanonicalJson.DOCUMENT;

  /** "Verification Signature" of ASTM E1762, R4's value set signature-type. */
  private static final String PURPOSES = "urn:iso-astm:E1762-95:2013";

  private static final String VERIFICATION = "1.2.840.10065.1.12.1.5";

  private static final AlgorithmConstraints ALGORITHMS =
      new AlgorithmConstraints(
          ConstraintType.PERMIT, "ES256", "ES384", "ES512", "PS256", "RS256", "RS384");

  private final SigningKey key;
  private final TrustedClinics trusted;

  DocumentSignature(SigningKey key, TrustedClinics trusted) {
    this.key = key;
    this.trusted = trusted;
  }

  /** A signature over a document, in the name of an organisation. */
  Signature sign(DocumentText document, String organisation) {
    PublicJsonWebKey own = key.get();
    JsonWebSignature jws = new JsonWebSignature();
    jws.setKey(own.getPrivateKey());
    jws.setKeyIdHeaderValue(own.getKeyId());
    jws.setAlgorithmHeaderValue(own.getAlgorithm());
    jws.setPayload(document.canonical());
    try {
      Signature signature = new Signature();
      signature
          .addType()
          .setSystem(PURPOSES)
          .setCode(VERIFICATION)
          .setDisplay("Verification Signature");
      signature.setWhenElement(
          new org.hl7.fhir.r4.model.InstantType((Date) document.head().getTimestamp().clone()));
      signature.setWho(new Reference(organisation));
      signature.setTargetFormat(SIGNED_FORM);
      signature.setSigFormat(JOSE);
      signature.setData(
          jws.getDetachedContentCompactSerialization().getBytes(StandardCharsets.UTF_8));
      return signature;
    } catch (JoseException e) {
      throw new IllegalStateException("the key of the clinic does not sign", e);
    }
  }

  /**
   * Requires that the clinic which issues a document has signed it as it is, and is trusted.
   *
   * @param document the document
   * @param json the document as it was sent
   * @throws Problem when it has not, or is not
   */
  void require(Bundle document, String json) {
    if (!document.getSignature().hasData()
        || !JOSE.equals(document.getSignature().getSigFormat())) {
      throw Problem.of(
          Problem.Kind.MISSING,
          "A document from another clinic is signed: a detached JWS, application/jose.",
          "Bundle.signature");
    }
    String issuer = document.getIdentifier().getSystem();
    VerificationKeyResolver keys =
        trusted
            .keysOf(issuer == null ? "" : issuer)
            .orElseThrow(
                () ->
                    Problem.of(
                        Problem.Kind.NOT_TRUSTED,
                        "This clinic takes no documents from " + issuer + ".",
                        "Bundle.identifier.system"));
    String signed = CanonicalJson.document(json);
    if (!verifies(document.getSignature(), signed, keys)) {
      throw Problem.of(
          Problem.Kind.NOT_TRUSTED,
          "The document is not what " + issuer + " has signed.",
          "Bundle.signature.data");
    }
  }

  private static boolean verifies(
      Signature signature, String signed, VerificationKeyResolver keys) {
    String[] parts = new String(signature.getData(), StandardCharsets.UTF_8).split("\\.", -1);
    if (parts.length != 3 || !parts[1].isEmpty()) {
      return false;
    }
    try {
      JsonWebSignature jws = new JsonWebSignature();
      jws.setAlgorithmConstraints(ALGORITHMS);
      jws.setCompactSerialization(String.join(".", parts));
      jws.setPayload(signed);
      jws.setKey(keys.resolveKey(jws, java.util.List.of()));
      return jws.verifySignature();
    } catch (UnresolvableKeyException unknown) {
      throw Problem.of(
          Problem.Kind.NOT_TRUSTED,
          "The key of the signature is not among the keys of the clinic.",
          "Bundle.signature.data");
    } catch (JoseException broken) {
      return false;
    }
  }
}
