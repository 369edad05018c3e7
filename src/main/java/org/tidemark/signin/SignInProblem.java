package org.tidemark.signin;

import java.util.Locale;

/** Why somebody is not signed in, or does not see a page although they are. */
final class SignInProblem extends Exception {
  private static final long serialVersionUID = 1L;

  /** The reasons that are told; each has texts of its own. */
  enum Kind {
    /** The browser did not begin this sign-in, or too long ago. */
    STATE(400),
    /** Whoever signs in, or the issuer, did not agree. */
    DECLINED(403),
    /** The issuer says that something is wrong. */
    REFUSED(502),
    /** The issuer does not answer. */
    UNREACHABLE(503),
    /** What the issuer has sent is not what it must be. */
    NOT_TRUSTED(502),
    /** The access token is not one that lets in here. */
    TOKEN(403),
    /** The access token is for another clinic. */
    CLINIC(403),
    /** The access token names no clinician. */
    NO_CLINICIAN(403),
    /** The access token does not allow what the pages show. */
    RIGHTS(403),
    /** The service does not answer now. */
    BUSY(503);

    private final int status;

    Kind(int status) {
      this.status = status;
    }

    int status() {
      return status;
    }

    /** Where its texts are. */
    String key() {
      return "signin." + name().toLowerCase(Locale.ROOT).replace('_', '-');
    }
  }

  private final Kind kind;

  /**
   * A problem.
   *
   * @param why for the log; names nobody and nothing that lets in
   */
  SignInProblem(Kind kind, String why) {
    super(why);
    this.kind = kind;
  }

  SignInProblem(Kind kind, String why, Throwable cause) {
    super(why, cause);
    this.kind = kind;
  }

  Kind kind() {
    return kind;
  }
}
