/**
 * FHIR R4 to what the core computes with, and back: one reader or writer for each resource, codes,
 * units, and problems named by the FHIRPath of their element. Pure: the same resource gives the
 * same values. May use the core and HAPI's model; never sees the database, HTTP or the clock.
 */
package org.tidemark.fhir;
