package org.tidemark.http;

import com.github.benmanes.caffeine.cache.Cache;
import com.github.benmanes.caffeine.cache.Caffeine;
import io.smallrye.jwt.KeyFormat;
import io.smallrye.jwt.algorithm.SignatureAlgorithm;
import io.smallrye.jwt.auth.principal.DefaultJWTParser;
import io.smallrye.jwt.auth.principal.JWTAuthContextInfo;
import io.smallrye.jwt.auth.principal.ParseException;
import jakarta.enterprise.context.ApplicationScoped;
import jakarta.json.JsonString;
import java.nio.charset.StandardCharsets;
import java.security.MessageDigest;
import java.security.NoSuchAlgorithmException;
import java.time.Clock;
import java.time.Duration;
import java.util.Base64;
import java.util.Collection;
import java.util.Optional;
import java.util.Set;
import java.util.stream.Collectors;
import java.util.stream.Stream;
import org.eclipse.microprofile.jwt.JsonWebToken;
import org.jboss.logging.Logger;
import org.tidemark.access.Grants;
import org.tidemark.application.Caller;
import org.tidemark.clinic.Clinic;
import org.tidemark.clinic.Clinics;
import org.tidemark.fhir.Problem;

/**
 * Verifies access tokens: JWTs that the issuer has signed for this endpoint. A token that was found
 * good is known again by its hash for some minutes, at most until it expires, as the check of a
 * signature takes as long as a read.
 */
@ApplicationScoped
public class AccessTokens {
  private static final Logger LOG = Logger.getLogger(AccessTokens.class);

  /** How far the issuer's clock and ours may be apart, seconds. */
  private static final int SKEW_SECONDS = 30;

  /** A key that the issuer has taken back is trusted for no longer. */
  private static final Duration KNOWN_FOR = Duration.ofMinutes(5);

  private static final int MOST_KNOWN = 10_000;

  private final AccessSettings settings;
  private final IssuerKeys keys;
  private final Clinics clinics;
  private final Clock clock;
  private final Cache<String, Verified> known =
      Caffeine.newBuilder().maximumSize(MOST_KNOWN).expireAfterWrite(KNOWN_FOR).build();

  private volatile Parser parser;

  AccessTokens(AccessSettings settings, IssuerKeys keys, Clinics clinics, Clock clock) {
    this.clinics = clinics;
    this.settings = settings;
    this.keys = keys;
    this.clock = clock;
  }

  /**
   * What a good token says.
   *
   * @param grants what it grants
   * @param clinic the clinic that it is for
   * @param expires when it expires, seconds since 1970 UTC
   */
  public record Verified(Grants grants, Clinic clinic, long expires) {}

  /** A parser with the keys that it was made with. */
  private record Parser(String jwks, DefaultJWTParser parser) {}

  /**
   * Who a token lets in, and to which clinic.
   *
   * @param token the token as it was sent
   * @throws Problem when it is not good (401), or for no clinic that is served (403)
   */
  Caller verify(String token) {
    Verified verified = read(token);
    return Caller.with(verified.grants(), verified.clinic());
  }

  /**
   * What a token says.
   *
   * @param token the token as it was sent
   * @throws Problem when it is not good (401), or for no clinic that is served (403)
   */
  public Verified read(String token) {
    String hash = hash(token);
    Verified verified = known.getIfPresent(hash);
    if (verified == null) {
      verified = verified(token);
      known.put(hash, verified);
    }
    if (clock.instant().getEpochSecond() >= verified.expires() + SKEW_SECONDS) {
      throw notGood();
    }
    return verified;
  }

  private static String hash(String token) {
    try {
      byte[] text = token.getBytes(StandardCharsets.UTF_8);
      return Base64.getEncoder().encodeToString(MessageDigest.getInstance("SHA-256").digest(text));
    } catch (NoSuchAlgorithmException e) {
      throw new IllegalStateException("every Java has SHA-256", e);
    }
  }

  static Problem notGood() {
    return Problem.of(
        Problem.Kind.UNAUTHORIZED,
        "The access token is not valid: it must be a JWT that the issuer of this endpoint has signed"
            + " for it, and not have expired.");
  }

  private Verified verified(String token) {
    try {
      JsonWebToken read = parsed(token);
      return new Verified(
          Grants.of(scopes(read), text(read, "patient"), text(read, "fhirUser")).by(bearer(read)),
          clinic(read),
          read.getExpirationTime());
    } catch (ParseException notTrusted) {
      LOG.debugf("An access token was refused: %s", notTrusted.getCause());
      throw notGood();
    }
  }

  /** The clinic that a token names; where no claim is set for that, the one that is served. */
  private Clinic clinic(JsonWebToken token) {
    Clinic clinic =
        settings.clinicClaim().map(claim -> named(token, claim)).orElseGet(clinics::home);
    if (token.getAudience().stream().noneMatch(own -> isOf(clinic, own))) {
      throw notGood();
    }
    return clinic;
  }

  private Clinic named(JsonWebToken token, String claim) {
    return text(token, claim)
        .flatMap(clinics::find)
        .orElseThrow(
            () ->
                Problem.of(
                    Problem.Kind.FORBIDDEN,
                    "The token is for no clinic that is served here: its claim '"
                        + claim
                        + "' must name one."));
  }

  private static boolean isOf(Clinic clinic, String audience) {
    return (audience.endsWith("/") ? audience : audience + "/").equals(clinic.base());
  }

  private JsonWebToken parsed(String token) throws ParseException {
    String used = keys.now().orElseThrow(() -> new ParseException("there are no keys"));
    try {
      return parser(used).parse(token);
    } catch (ParseException notTrusted) {
      return parser(keys.other(used).orElseThrow(() -> notTrusted)).parse(token);
    }
  }

  /** A parser by some keys, which is made anew when they are others than before. */
  private DefaultJWTParser parser(String jwks) {
    Parser now = parser;
    if (now == null || !now.jwks().equals(jwks)) {
      now = new Parser(jwks, parserBy(jwks));
      parser = now;
    }
    return now.parser();
  }

  private DefaultJWTParser parserBy(String jwks) {
    JWTAuthContextInfo info = new JWTAuthContextInfo();
    info.setIssuedBy(settings.issuer());
    info.setExpectedAudience(
        clinics.all().stream()
            .map(AccessSettings::audience)
            .flatMap(base -> Stream.of(base, base + "/"))
            .collect(Collectors.toSet()));
    info.setSignatureAlgorithm(
        Set.of(
            SignatureAlgorithm.RS256,
            SignatureAlgorithm.RS384,
            SignatureAlgorithm.ES256,
            SignatureAlgorithm.ES384));
    info.setClockSkew(SKEW_SECONDS);
    info.setRequireNamedPrincipal(false);
    info.setKeyFormat(KeyFormat.JWK);
    info.setPublicKeyContent(jwks);
    return new DefaultJWTParser(info);
  }

  /**
   * Who uses a token: the {@code client_id} (RFC 9068) or {@code azp} (OpenID Connect), and the
   * {@code sub}, which is the client itself where there is no user.
   */
  private static Grants.Bearer bearer(JsonWebToken token) {
    String subject = text(token, "sub").orElse("");
    String client = text(token, "client_id").or(() -> text(token, "azp")).orElse(subject);
    return new Grants.Bearer(client, subject.equals(client) ? "" : subject);
  }

  /** The scopes, in one text or one by one. */
  private static String scopes(JsonWebToken token) {
    Object scope = token.getClaim("scope");
    if (scope instanceof Collection<?> each) {
      return each.stream().map(AccessTokens::plain).collect(Collectors.joining(" "));
    }
    return scope == null ? "" : plain(scope);
  }

  private static Optional<String> text(JsonWebToken token, String claim) {
    return Optional.ofNullable(token.<Object>getClaim(claim)).map(AccessTokens::plain);
  }

  private static String plain(Object value) {
    return value instanceof JsonString text ? text.getString() : value.toString();
  }
}
