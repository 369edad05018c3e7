/**
 * Placement and review: what is asked of the person next, and why. A fold over facts in clinical
 * order; no clock, no database, no FHIR, no framework, no JSON, no logging. May use all other parts
 * of the core and a statistics library.
 */
package org.tidemark.decision;
