package org.tidemark.fhir.offender;

import java.sql.Connection;

/**
 * Readers and writers know no database. This one does, so that the rule against it is seen to bite.
 */
final class Offender {
  private final Connection forbidden;

  Offender(Connection forbidden) {
    this.forbidden = forbidden;
  }

  @Override
  public String toString() {
    return String.valueOf(forbidden);
  }
}
