package org.tidemark.signin;

import jakarta.enterprise.context.ApplicationScoped;
import java.util.List;
import java.util.Optional;
import org.tidemark.application.Guard;
import org.tidemark.clinic.Clinic;
import org.tidemark.fhir.Problem;
import org.tidemark.http.AccessTokens;
import org.tidemark.signin.SignInProblem.Kind;

/**
 * Lets in who has signed in: the access token passes what any client's passes, is for the clinic
 * whose pages were asked for, and names a clinician.
 */
@ApplicationScoped
class Admitting {
  private final AccessTokens tokens;
  private final IdTokens idTokens;
  private final Guard guard;

  Admitting(AccessTokens tokens, IdTokens idTokens, Guard guard) {
    this.tokens = tokens;
    this.idTokens = idTokens;
    this.guard = guard;
  }

  /**
   * The session of somebody who comes from the issuer.
   *
   * @param given what the issuer has given
   * @param nonce what the attempt has sent
   * @param at the clinic whose pages were asked for
   * @throws SignInProblem when they are not let in
   */
  Session admit(Issuer.Tokens given, String nonce, Clinic at) throws SignInProblem {
    String id =
        given.id().orElseThrow(() -> new SignInProblem(Kind.NOT_TRUSTED, "There is no ID token."));
    IdTokens.Person person = idTokens.verify(id, Optional.of(nonce), given.access());
    return session(given, id, person, at);
  }

  /**
   * The session with what the issuer has given to renew it.
   *
   * @throws SignInProblem when they are not let in any more, or it is for somebody else
   */
  Session renew(Session session, Issuer.Tokens given, Clinic at) throws SignInProblem {
    if (given.id().isPresent()) {
      IdTokens.Person person = idTokens.verify(given.id().get(), Optional.empty(), given.access());
      requireSame(person.subject(), session.subject());
    }
    Issuer.Tokens all =
        new Issuer.Tokens(given.access(), given.id(), given.refresh().or(session::refresh));
    IdTokens.Person before = new IdTokens.Person(session.subject(), session.name());
    Session renewed = session(all, given.id().orElse(session.id()), before, at);
    requireSame(renewed.user(), session.user());
    requireSame(renewed.clinic(), session.clinic());
    return renewed;
  }

  private static void requireSame(String now, String before) throws SignInProblem {
    if (!now.equals(before)) {
      throw new SignInProblem(Kind.NOT_TRUSTED, "The issuer has renewed it for somebody else.");
    }
  }

  private Session session(Issuer.Tokens given, String id, IdTokens.Person person, Clinic at)
      throws SignInProblem {
    AccessTokens.Verified verified = verified(given.access());
    if (!SignInSettings.origin(verified.clinic()).equals(SignInSettings.origin(at))) {
      throw new SignInProblem(Kind.CLINIC, "The access token is for another clinic.");
    }
    return new Session(
        given.access(),
        verified.expires(),
        given.refresh(),
        id,
        person.subject(),
        person.name(),
        clinician(verified),
        verified.clinic().id());
  }

  private AccessTokens.Verified verified(String token) throws SignInProblem {
    try {
      return tokens.read(token);
    } catch (Problem refused) {
      Kind kind = refused.status() == Problem.Kind.UNAUTHORIZED.status() ? Kind.TOKEN : Kind.CLINIC;
      throw new SignInProblem(kind, refused.getMessage(), refused);
    }
  }

  private String clinician(AccessTokens.Verified verified) throws SignInProblem {
    return guard
        .clinician(verified.grants())
        .orElseThrow(
            () -> new SignInProblem(Kind.NO_CLINICIAN, "The access token names no clinician."));
  }

  /** The scopes that a token lacks for the pages; none where it is not good at all. */
  List<String> missing(String token) {
    AccessTokens.Verified verified = tokens.read(token);
    return guard.missing(verified.grants());
  }
}
