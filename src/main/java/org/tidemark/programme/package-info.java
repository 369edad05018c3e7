/**
 * What is prescribed: the programme with its stages and exercise variations, the variables that
 * grade them, a person's settings, dose, equipment and precautions. A programme is data; nothing
 * here names one. May use {@code quantity}; never sees FHIR, the database, a framework or the
 * clock.
 */
package org.tidemark.programme;
