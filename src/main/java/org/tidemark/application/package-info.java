/**
 * The use cases: what happens to records when a client or the engine writes or reads them, each in
 * one transaction.
 *
 * <p>May use {@code access}, {@code audit}, {@code fhir}, the core, {@code report} and {@code
 * store}; reads the clock and gives out ids. Never sees a servlet or an HTTP client.
 */
package org.tidemark.application;
