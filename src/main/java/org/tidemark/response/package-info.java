/**
 * What the knee, or whatever the programme is for, said: a session, the morning after, and the
 * policy that calls the two settled, stirred, flared or pending. May use {@code quantity} and
 * {@code programme}; never sees FHIR, the database, a framework or the clock.
 */
package org.tidemark.response;
