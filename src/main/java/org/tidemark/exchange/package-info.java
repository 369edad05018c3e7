/**
 * Talks with other record systems: what is told to them and what is handed over when a person
 * changes clinic. May use {@code application}, {@code fhir} and what {@code http} does for every
 * request; never decides anything, and never sees the clinical core.
 *
 * <p>{@code HandoverOperations} hands plans over to other clinics and takes theirs, as documents
 * that are signed; {@code KeySetServlet} gives the public keys.
 *
 * <p>{@code Notifier} sends what subscriptions wait for.
 *
 * <p>{@code HooksServlet} offers decision support by CDS Hooks 2.0. Where access needs tokens,
 * {@code http.AccessFilter} asks for one that may see everyone, or for the JWT by which the
 * specification lets a caller say who it is, which {@code TrustedCallers} verifies.
 */
package org.tidemark.exchange;
