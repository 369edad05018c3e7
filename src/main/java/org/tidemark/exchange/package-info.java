/**
 * Talks with other record systems: what is told to them and what is handed over when a person
 * changes clinic. May use {@code application}, {@code fhir} and what {@code http} does for every
 * request; never decides anything, and never sees the clinical core.
 *
 * <p>{@code HooksServlet} offers decision support by CDS Hooks 2.0. Who calls is not checked yet:
 * the specification asks for a signed JWT with each call, and until that is checked the service
 * listens on the loopback address only.
 */
package org.tidemark.exchange;
