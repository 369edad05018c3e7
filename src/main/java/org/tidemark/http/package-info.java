/**
 * The FHIR endpoint: HAPI's server as a servlet, its resource providers, and the one place where
 * problems become HTTP statuses.
 *
 * <p>A request brings an access token, or a browser does for whom has signed in ({@code PageDoor},
 * which {@code signin} is).
 *
 * <p>May use {@code access}, {@code application}, {@code audit} and {@code fhir}. Never sees {@code
 * store}, and decides nothing clinical.
 */
package org.tidemark.http;
