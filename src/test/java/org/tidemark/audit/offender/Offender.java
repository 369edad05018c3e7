package org.tidemark.audit.offender;

import org.tidemark.access.Grants;

/** The trail knows nothing of rights. This does, so that the rule against it is seen to bite. */
final class Offender {
  private final Grants forbidden;

  Offender(Grants forbidden) {
    this.forbidden = forbidden;
  }

  @Override
  public String toString() {
    return String.valueOf(forbidden);
  }
}
