/**
 * What is put before people's eyes: pages, charts and handouts drawn from a plan. May use the core
 * and {@code fhir}; never sees {@code store}.
 */
package org.tidemark.report;
