/**
 * The record system of each clinic, another FHIR server: Observations are fetched from it, where it
 * cannot push them.
 *
 * <p>May use {@code application}, {@code clinic}, {@code exchange}, {@code fhir}, {@code store},
 * and of {@code http} what marks operations.
 */
package org.tidemark.recordsystem;
