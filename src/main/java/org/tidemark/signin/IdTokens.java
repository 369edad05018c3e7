package org.tidemark.signin;

import jakarta.enterprise.context.ApplicationScoped;
import java.nio.charset.StandardCharsets;
import java.security.GeneralSecurityException;
import java.security.MessageDigest;
import java.util.Arrays;
import java.util.Base64;
import java.util.List;
import java.util.Optional;
import java.util.stream.Stream;
import org.jose4j.jwa.AlgorithmConstraints.ConstraintType;
import org.jose4j.jwt.JwtClaims;
import org.jose4j.jwt.MalformedClaimException;
import org.jose4j.jwt.consumer.InvalidJwtException;
import org.jose4j.jwt.consumer.JwtConsumerBuilder;
import org.jose4j.jwt.consumer.JwtContext;
import org.jose4j.keys.resolvers.VerificationKeyResolver;
import org.tidemark.exchange.KeySets;
import org.tidemark.http.AccessSettings;
import org.tidemark.signin.SignInProblem.Kind;

/**
 * Verifies ID tokens (OpenID Connect Core 1.0, 3.1.3.7): signed by the issuer, for this client, not
 * expired, and made for this attempt and access token.
 */
@ApplicationScoped
class IdTokens {
  /** How far the issuer's clock and ours may be apart, seconds. */
  private static final int SKEW_SECONDS = 30;

  private static final int LONGEST_NAME = 200;
  private static final String JWKS = "tidemark.smart.jwks";

  private final AccessSettings access;
  private final SignInSettings settings;
  private final KeySets keySets;
  private volatile VerificationKeyResolver fromAddress;

  IdTokens(AccessSettings access, SignInSettings settings, KeySets keySets) {
    this.access = access;
    this.settings = settings;
    this.keySets = keySets;
  }

  /**
   * Who has signed in.
   *
   * @param subject as the issuer knows them
   * @param name as they are called; empty where the issuer does not say
   */
  record Person(String subject, String name) {}

  /**
   * Whom an ID token names.
   *
   * @param nonce what the attempt has sent; empty for a renewal, which need not repeat it
   * @param accessToken what came with it
   * @throws SignInProblem for whatever is wrong with it
   */
  Person verify(String token, Optional<String> nonce, String accessToken) throws SignInProblem {
    try {
      JwtContext read =
          new JwtConsumerBuilder()
              .setVerificationKeyResolver(keys())
              .setJwsAlgorithmConstraints(
                  ConstraintType.PERMIT, "RS256", "RS384", "RS512", "PS256", "ES256", "ES384")
              .setExpectedIssuer(access.issuer())
              .setExpectedAudience(settings.clientId())
              .setRequireSubject()
              .setRequireExpirationTime()
              .setRequireIssuedAt()
              .setAllowedClockSkewInSeconds(SKEW_SECONDS)
              .build()
              .process(token);
      JwtClaims claims = read.getJwtClaims();
      requireParty(claims);
      if (nonce.isPresent()) {
        require("nonce", Secret.isSame(text(claims, "nonce").orElse(""), nonce.get()));
      }
      String algorithm = read.getJoseObjects().get(0).getAlgorithmHeaderValue();
      Optional<String> hash = text(claims, "at_hash");
      require("at_hash", hash.isEmpty() || Secret.isSame(hash.get(), hash(accessToken, algorithm)));
      return new Person(claims.getSubject(), name(claims));
    } catch (InvalidJwtException | MalformedClaimException e) {
      throw new SignInProblem(Kind.NOT_TRUSTED, "The ID token is not good.", e);
    }
  }

  /** Keys in a file may have changed since; those at an address are looked up when needed. */
  private VerificationKeyResolver keys() {
    if (!access.jwks().startsWith("http")) {
      return keySets.at(access.jwks(), JWKS);
    }
    if (fromAddress == null) {
      fromAddress = keySets.at(access.jwks(), JWKS);
    }
    return fromAddress;
  }

  /** A token for several is for the one that it names as {@code azp}. */
  private void requireParty(JwtClaims claims) throws MalformedClaimException, SignInProblem {
    List<String> audience = claims.getAudience();
    Optional<String> party = text(claims, "azp");
    require("azp", party.map(settings.clientId()::equals).orElseGet(() -> audience.size() == 1));
  }

  private static void require(String claim, boolean right) throws SignInProblem {
    if (!right) {
      throw new SignInProblem(Kind.NOT_TRUSTED, "The ID token has another " + claim + ".");
    }
  }

  private static Optional<String> text(JwtClaims claims, String name) {
    return claims.getClaimValue(name) instanceof String text && !text.isBlank()
        ? Optional.of(text)
        : Optional.empty();
  }

  private static String name(JwtClaims claims) {
    String name =
        Stream.of("name", "preferred_username")
            .flatMap(claim -> text(claims, claim).stream())
            .findFirst()
            .orElse("");
    return name.substring(0, Math.min(LONGEST_NAME, name.length()));
  }

  /** The left half of the hash by the algorithm of the signature (3.1.3.6). */
  private static String hash(String accessToken, String algorithm) {
    try {
      byte[] whole =
          MessageDigest.getInstance("SHA-" + algorithm.substring(2))
              .digest(accessToken.getBytes(StandardCharsets.US_ASCII));
      return Base64.getUrlEncoder()
          .withoutPadding()
          .encodeToString(Arrays.copyOf(whole, whole.length / 2));
    } catch (GeneralSecurityException e) {
      throw new IllegalStateException("every Java has SHA-2", e);
    }
  }
}
