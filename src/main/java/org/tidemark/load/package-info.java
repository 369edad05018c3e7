/**
 * Brings what was before into a service: reads files of records and sends them to its endpoint, as
 * any client would.
 *
 * <p>Runs beside the service, in a process of its own, and uses none of its other packages.
 */
package org.tidemark.load;
