/**
 * The FHIR endpoint: HAPI's server as a servlet, its resource providers, and the one place where
 * problems become HTTP statuses.
 *
 * <p>May use {@code access}, {@code application}, {@code audit} and {@code fhir}. Never sees {@code
 * store}, and decides nothing clinical.
 */
package org.tidemark.http;
