package org.tidemark.signin;

import java.util.Optional;

/**
 * Where the issuer is asked for what.
 *
 * @param authorization where somebody signs in
 * @param token where a code becomes tokens
 * @param endSession where somebody signs out, if the issuer offers it
 * @param secretInBody whether the client's secret is sent as a parameter, not as a password of HTTP
 */
record Endpoints(
    String authorization, String token, Optional<String> endSession, boolean secretInBody) {}
