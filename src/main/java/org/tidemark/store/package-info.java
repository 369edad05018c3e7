/**
 * Where records are kept: every version as JSON text, and the values that it can be found by.
 *
 * <p>May use Hibernate, Flyway and JDBC; the tables come from the Flyway migrations alone. Never
 * sees FHIR's model, the clinical core, or HTTP: to this package a record is text with a key.
 */
package org.tidemark.store;
