package org.tidemark.exchange;

import io.quarkus.runtime.configuration.ConfigurationException;
import jakarta.enterprise.context.ApplicationScoped;
import jakarta.servlet.http.HttpServletRequest;
import java.net.URI;
import java.util.HashMap;
import java.util.Map;
import java.util.Optional;
import org.jboss.logging.Logger;
import org.jose4j.jwa.AlgorithmConstraints.ConstraintType;
import org.jose4j.jws.JsonWebSignature;
import org.jose4j.jwt.JwtClaims;
import org.jose4j.jwt.MalformedClaimException;
import org.jose4j.jwt.consumer.InvalidJwtException;
import org.jose4j.jwt.consumer.JwtConsumerBuilder;
import org.jose4j.jwt.consumer.JwtContext;
import org.jose4j.keys.resolvers.VerificationKeyResolver;
import org.jose4j.lang.UnresolvableKeyException;
import org.tidemark.application.Assertions;
import org.tidemark.application.Caller;
import org.tidemark.application.Guard;
import org.tidemark.clinic.ActingClinic;
import org.tidemark.clinic.Clinic;
import org.tidemark.clinic.Clinics;
import org.tidemark.fhir.Problem;
import org.tidemark.http.AccessSettings;
import org.tidemark.http.HookClients;

/**
 * The systems that call each clinic's hooks and say who they are by a JWT of their own (CDS Hooks
 * 2.0, "Trusting CDS Clients"). Their keys are where the setting says; an address in the token
 * itself ({@code jku}) is not asked.
 */
@ApplicationScoped
class TrustedCallers implements HookClients {
  private static final Logger LOG = Logger.getLogger(TrustedCallers.class);

  private static final String SETTING = "tidemark.hooks.trusted";

  /** How far the caller's clock and ours may be apart, seconds. */
  private static final int SKEW_SECONDS = 30;

  /** So long each token is remembered at most, so that it counts once. */
  private static final int LONGEST_MINUTES = 60;

  private static final int LONGEST_NAME = 200;
  private static final int LONGEST_JTI = 255;

  private final Assertions assertions;
  private final Map<String, Map<String, VerificationKeyResolver>> keys = new HashMap<>();

  TrustedCallers(KeySets keySets, Clinics clinics, AccessSettings access, Assertions assertions) {
    this.assertions = assertions;
    for (Clinic clinic : clinics.all()) {
      Map<String, VerificationKeyResolver> known = keySets.of(clinic.hookClients(), SETTING);
      known.keySet().forEach(name -> requireName(name, access));
      keys.put(clinic.id(), known);
    }
  }

  private static void requireName(String name, AccessSettings access) {
    if (name.length() > LONGEST_NAME) {
      throw new ConfigurationException(SETTING + ": an issuer has 200 characters at the most.");
    }
    if (access.smart() && name.equals(access.issuer())) {
      throw new ConfigurationException(
          SETTING + ": " + name + " issues access tokens, by which its clients are known already.");
    }
  }

  @Override
  public void check() {
    keys.size();
  }

  @Override
  public Optional<Caller> find(String token, HttpServletRequest request, Clinic clinic) {
    Map<String, VerificationKeyResolver> known = keys.get(clinic.id());
    if (known.isEmpty()) {
      return Optional.empty();
    }
    Optional<String> issuer = claimed(token).filter(known::containsKey);
    issuer.ifPresent(
        name -> require(token, name, known.get(name), endpoints(request, clinic), clinic));
    return issuer.map(name -> Guard.cardReader(name, clinic));
  }

  /** Who a token says that it is from, which proves nothing. */
  private static Optional<String> claimed(String token) {
    try {
      JwtContext read =
          new JwtConsumerBuilder()
              .setSkipAllValidators()
              .setSkipSignatureVerification()
              .setDisableRequireSignature()
              .build()
              .process(token);
      return Optional.ofNullable(read.getJwtClaims().getIssuer());
    } catch (InvalidJwtException | MalformedClaimException noJwt) {
      return Optional.empty();
    }
  }

  /**
   * "This value MUST be the URL of the CDS Service endpoint being invoked." What is told of the
   * cards of a service may name the service too.
   */
  private static String[] endpoints(HttpServletRequest request, Clinic clinic) {
    String called =
        URI.create(clinic.base()).resolve(request.getRequestURI()).toString().replaceAll("/$", "");
    return new String[] {called, called + "/", called.replaceAll("/feedback$", "")};
  }

  private void require(
      String token,
      String issuer,
      VerificationKeyResolver issuerKeys,
      String[] endpoints,
      Clinic clinic) {
    try {
      JwtContext read =
          new JwtConsumerBuilder()
              .setVerificationKeyResolver(
                  (signed, nesting) -> {
                    requireHeader(signed);
                    return issuerKeys.resolveKey(signed, nesting);
                  })
              .setJwsAlgorithmConstraints(
                  ConstraintType.PERMIT, "ES384", "RS384", "ES512", "RS512", "PS384", "PS512")
              .setExpectedIssuer(issuer)
              .setExpectedAudience(endpoints)
              .setRequireExpirationTime()
              .setMaxFutureValidityInMinutes(LONGEST_MINUTES)
              .setRequireIssuedAt()
              .setIssuedAtRestrictions(0, Integer.MAX_VALUE)
              .setRequireJwtId()
              .setAllowedClockSkewInSeconds(SKEW_SECONDS)
              .build()
              .process(token);
      takeOnce(issuer, read.getJwtClaims(), clinic);
    } catch (InvalidJwtException | MalformedClaimException e) {
      LOG.debugf("A call of a hook was refused: %s", e.getMessage());
      throw notGood();
    }
  }

  /** What the header must have besides what the signature asks of it. */
  private static void requireHeader(JsonWebSignature signed) throws UnresolvableKeyException {
    if (signed.getKeyIdHeaderValue() == null) {
      throw new UnresolvableKeyException("there is no kid");
    }
    if (!"JWT".equalsIgnoreCase(signed.getHeader("typ"))) {
      throw new UnresolvableKeyException("the typ is not JWT");
    }
  }

  private void takeOnce(String issuer, JwtClaims claims, Clinic clinic)
      throws MalformedClaimException {
    String jti = claims.getJwtId();
    long until = claims.getExpirationTime().getValueInMillis() + SKEW_SECONDS * 1_000L;
    boolean taken =
        !jti.isEmpty()
            && jti.length() <= LONGEST_JTI
            && ActingClinic.call(clinic.id(), () -> assertions.take(issuer, jti, until));
    if (!taken) {
      throw notGood();
    }
  }

  private static Problem notGood() {
    return Problem.of(
        Problem.Kind.UNAUTHORIZED,
        "The token of the CDS client is not valid: it is signed by a key of the client's key set"
            + " (ES384 or RS384), its header has typ JWT and the kid, aud is the address of this"
            + " service, exp at most an hour ahead, iat has passed, and the jti was not sent before.");
  }
}
