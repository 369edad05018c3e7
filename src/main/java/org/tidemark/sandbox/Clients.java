package org.tidemark.sandbox;

import io.quarkus.narayana.jta.QuarkusTransaction;
import jakarta.enterprise.context.ApplicationScoped;
import java.util.List;
import java.util.Optional;
import java.util.function.Supplier;
import org.jose4j.jwa.AlgorithmConstraints;
import org.jose4j.jwk.JsonWebKey;
import org.jose4j.jwk.JsonWebKeySet;
import org.jose4j.jwk.PublicJsonWebKey;
import org.jose4j.jwt.JwtClaims;
import org.jose4j.jwt.MalformedClaimException;
import org.jose4j.jwt.consumer.InvalidJwtException;
import org.jose4j.jwt.consumer.JwtConsumerBuilder;
import org.jose4j.jwt.consumer.JwtContext;
import org.jose4j.jwx.JsonWebStructure;
import org.jose4j.lang.JoseException;
import org.tidemark.access.Scope;
import org.tidemark.application.Assertions;
import org.tidemark.clinic.ActingClinic;
import org.tidemark.clinic.Clinic;
import org.tidemark.clinic.Clinics;
import org.tidemark.http.AccessSettings;
import org.tidemark.sandbox.TokenProblem.Kind;
import org.tidemark.store.SandboxStore;

/**
 * The clients that are registered, and how one shows who it is: by a JWT that it has signed, which
 * counts once (SMART App Launch 2.2, "Client authentication: asymmetric"; RFC 7523).
 */
@ApplicationScoped
class Clients {
  /** "This time SHALL be no more than five minutes in the future." */
  private static final int LONGEST_MINUTES = 5;

  /** How far the client's clock and ours may be apart, seconds. */
  private static final int SKEW_SECONDS = 10;

  private static final int LONGEST_ID = 200;
  private static final int LONGEST_JTI = 255;
  private static final int LEAST_RSA_BITS = 2048;

  private final SandboxStore store;
  private final AccessSettings settings;
  private final Clinics clinics;
  private final Assertions assertions;

  Clients(SandboxStore store, AccessSettings settings, Clinics clinics, Assertions assertions) {
    this.clinics = clinics;
    this.store = store;
    this.settings = settings;
    this.assertions = assertions;
  }

  /**
   * A client that has shown who it is.
   *
   * @param scopes what it may ask for
   * @param clinic the clinic that it gets tokens for
   */
  record Known(String id, List<String> scopes, Clinic clinic) {}

  /**
   * Registers a client, or what it is from now on.
   *
   * @param jwks its public keys, each with a {@code kid}
   * @param scopes what it may ask for: scopes of {@code system/}, separated by spaces
   * @param clinic the clinic that it gets tokens for
   * @throws IllegalArgumentException when something about it is wrong
   */
  void register(String id, String jwks, String scopes, String clinic) {
    require(id.matches("[\\x21-\\x7e]{1," + LONGEST_ID + "}"), "The id is no word of ASCII.");
    for (String scope : scopes.split(" ")) {
      require(
          Scope.parse(scope).filter(s -> s.context() == Scope.Context.SYSTEM).isPresent(),
          "'" + scope + "' is no scope such as system/*.rs.");
    }
    require(clinics.find(clinic).isPresent(), "The clinic '" + clinic + "' is not served here.");
    SandboxStore.Client client = new SandboxStore.Client(publicOnly(jwks), scopes, clinic);
    inSandbox(
        () -> {
          QuarkusTransaction.requiringNew().run(() -> store.register(id, client));
          return clinic;
        });
  }

  /** The sandbox's own rows belong to the clinic that the service is set up for. */
  private <T> T inSandbox(Supplier<T> work) {
    return ActingClinic.call(clinics.home().id(), work);
  }

  /** The keys without private parts, which are nobody's business. */
  private static String publicOnly(String jwks) {
    try {
      List<JsonWebKey> keys = new JsonWebKeySet(jwks).getJsonWebKeys();
      require(!keys.isEmpty(), "The file has no key.");
      for (JsonWebKey key : keys) {
        require(key.getKeyId() != null, "Each key needs a kid.");
        require(key instanceof PublicJsonWebKey, "The keys must be of the types RSA or EC.");
        require(
            !(key.getKey() instanceof java.security.interfaces.RSAKey rsa)
                || rsa.getModulus().bitLength() >= LEAST_RSA_BITS,
            "An RSA key needs 2048 bits.");
      }
      return new JsonWebKeySet(keys).toJson(JsonWebKey.OutputControlLevel.PUBLIC_ONLY);
    } catch (JoseException e) {
      throw new IllegalArgumentException("The file is no JWK Set.", e);
    }
  }

  private static void require(boolean right, String otherwise) {
    if (!right) {
      throw new IllegalArgumentException(otherwise);
    }
  }

  /**
   * Who an assertion proves to send it.
   *
   * @throws TokenProblem {@code invalid_client} for whatever is wrong with it
   */
  Known authenticate(String assertion) throws TokenProblem {
    try {
      JwtContext read =
          new JwtConsumerBuilder()
              .setSkipAllValidators()
              .setSkipSignatureVerification()
              .setDisableRequireSignature()
              .build()
              .process(assertion);
      String id = read.getJwtClaims().getIssuer();
      SandboxStore.Client client = known(id).orElseThrow(() -> notKnown("is not registered"));
      JwtClaims claims = verified(assertion, id, key(client, read.getJoseObjects().get(0)));
      takeOnce(id, claims);
      Clinic clinic =
          clinics
              .find(client.actsFor())
              .orElseThrow(() -> notKnown("is of a clinic that is not served"));
      return new Known(id, List.of(client.scopes().split(" ")), clinic);
    } catch (InvalidJwtException | MalformedClaimException e) {
      throw notKnown(
          "has sent an assertion that is not right: iss and sub are the client's id, aud is "
              + settings.tokenEndpoint()
              + ", exp at most five minutes ahead, jti is there, and it is signed by RS384 or ES384");
    }
  }

  private static TokenProblem notKnown(String why) {
    return new TokenProblem(Kind.INVALID_CLIENT, "The client " + why + ".");
  }

  private Optional<SandboxStore.Client> known(String id) {
    return id == null || id.length() > LONGEST_ID
        ? Optional.empty()
        : inSandbox(() -> QuarkusTransaction.requiringNew().call(() -> store.find(id)));
  }

  /** "The single key where the kid matches, and the kty is consistent with the algorithm." */
  private static JsonWebKey key(SandboxStore.Client client, JsonWebStructure header)
      throws TokenProblem {
    String algorithm = String.valueOf(header.getAlgorithmHeaderValue());
    String type = algorithm.startsWith("ES") ? "EC" : "RSA";
    try {
      List<JsonWebKey> keys =
          new JsonWebKeySet(client.jwks())
              .findJsonWebKeys(header.getKeyIdHeaderValue(), type, null, null);
      if (keys.size() != 1 || header.getKeyIdHeaderValue() == null) {
        throw notKnown("has signed with a key (kid) that is not registered");
      }
      return keys.get(0);
    } catch (JoseException e) {
      throw new IllegalStateException("keys that were registered cannot be read", e);
    }
  }

  private JwtClaims verified(String assertion, String id, JsonWebKey key)
      throws InvalidJwtException {
    return new JwtConsumerBuilder()
        .setVerificationKey(key.getKey())
        .setJwsAlgorithmConstraints(AlgorithmConstraints.ConstraintType.PERMIT, "RS384", "ES384")
        .setExpectedIssuer(id)
        .setExpectedSubject(id)
        .setExpectedAudience(settings.tokenEndpoint())
        .setRequireExpirationTime()
        .setMaxFutureValidityInMinutes(LONGEST_MINUTES)
        .setAllowedClockSkewInSeconds(SKEW_SECONDS)
        .setRequireJwtId()
        .build()
        .processToClaims(assertion);
  }

  private void takeOnce(String id, JwtClaims claims) throws MalformedClaimException, TokenProblem {
    String jti = claims.getJwtId();
    if (jti.isEmpty() || jti.length() > LONGEST_JTI) {
      throw notKnown("has sent a jti that is empty or too long");
    }
    long until = claims.getExpirationTime().getValueInMillis() + SKEW_SECONDS * 1000L;
    if (!inSandbox(() -> assertions.take(id, jti, until))) {
      throw notKnown("has sent this assertion (jti) before");
    }
  }
}
