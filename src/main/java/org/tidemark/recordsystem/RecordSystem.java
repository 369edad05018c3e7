package org.tidemark.recordsystem;

import java.net.URI;
import java.nio.file.Path;
import java.time.Instant;
import java.util.Optional;

/**
 * What is set for the record system of a clinic.
 *
 * @param base its FHIR endpoint, with a slash at the end
 * @param login how the service signs in there; empty where it need not
 * @param search what Observations must meet besides to be fetched, as search parameters; may be
 *     empty
 * @param from what was written there before is not fetched; empty for what was before the first
 *     time it was asked
 * @param isWrittenTo whether plans are written back to it
 */
record RecordSystem(
    URI base, Optional<Login> login, String search, Optional<Instant> from, boolean isWrittenTo) {

  /**
   * Client credentials of SMART Backend Services.
   *
   * @param clientId under which the service is registered there
   * @param tokenEndpoint where tokens are asked for
   * @param key the file of the private key, a JSON Web Key
   * @param scopes what is asked for
   */
  record Login(String clientId, URI tokenEndpoint, Path key, String scopes) {}

  /** The name under which its state is kept. */
  String source() {
    return base.toString();
  }
}
