/**
 * Talks with other record systems: what is told to them and what is handed over when a person
 * changes clinic. May use {@code application} and {@code fhir}; never decides anything, and never
 * sees the clinical core.
 */
package org.tidemark.exchange;
