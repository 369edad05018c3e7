/**
 * For which clinic a thread works, which clinics the service serves, and what each has set for
 * itself. Whoever keeps or finds something asks here whose it is.
 *
 * <p>May use the configuration and nothing else of the service.
 */
package org.tidemark.clinic;
