/**
 * Signs clinicians in on the pages, by OpenID Connect: authorization code with PKCE at the issuer
 * whose access tokens the service takes. A browser holds a secret and no token; what was given for
 * it is kept in the database, sealed by that secret, so that any instance knows it and a sign-out
 * ends it. Whatever the browser asks for is then judged by the access token, as any client's is.
 *
 * <p>May use {@code http} for what each request needs and for the pages' looks, {@code application}
 * for who is asking, {@code exchange} to ask the issuer, and {@code store} for its own table; never
 * sees a record.
 */
package org.tidemark.signin;
