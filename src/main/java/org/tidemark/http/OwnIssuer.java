package org.tidemark.http;

/** The authorization server of the sandbox, which the service is itself. */
public interface OwnIssuer {
  /** The public keys of its tokens, as a JWK Set. */
  String jwks();
}
