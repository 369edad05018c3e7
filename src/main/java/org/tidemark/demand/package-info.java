/**
 * How much one setting of an exercise asks of a person beside another: the body's segments, the
 * statics of a movement, and a ratio with its band. It orders settings of one person; it never says
 * that one is safe. May use {@code quantity} and {@code programme}; never sees FHIR, the database,
 * a framework or the clock.
 */
package org.tidemark.demand;
