/**
 * The audit trail: what each request did, the chain of it, and its form as {@code AuditEvent}s of
 * IHE's Basic Audit Log Patterns.
 *
 * <p>May use {@code fhir} and {@code store}. Never sees what a token allows, and never the records
 * themselves: others tell it what was done.
 */
package org.tidemark.audit;
