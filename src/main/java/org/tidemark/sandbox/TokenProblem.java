package org.tidemark.sandbox;

/** Why no token is given, by the names of RFC 6749, section 5.2. */
final class TokenProblem extends Exception {
  private static final long serialVersionUID = 1L;

  /** The errors that are told. */
  enum Kind {
    /** A parameter is missing, is there twice, or cannot be read. */
    INVALID_REQUEST(400),
    /** The client is not known, or has not shown who it is. */
    INVALID_CLIENT(401),
    /** Tokens are not given in this way. */
    UNSUPPORTED_GRANT_TYPE(400),
    /** The client may not have what it asks for. */
    INVALID_SCOPE(400);

    private final int status;

    Kind(int status) {
      this.status = status;
    }
  }

  private final Kind kind;

  TokenProblem(Kind kind, String description) {
    super(description);
    this.kind = kind;
  }

  int status() {
    return kind.status;
  }

  String code() {
    return kind.name().toLowerCase(java.util.Locale.ROOT);
  }
}
