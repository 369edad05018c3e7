package org.tidemark.demand.offender;

import org.tidemark.response.Response;

/**
 * Demand knows nothing of how a session went. This one does, so that the rule against it is seen to
 * bite.
 */
final class Offender {
  private final Response forbidden;

  Offender(Response forbidden) {
    this.forbidden = forbidden;
  }

  @Override
  public String toString() {
    return String.valueOf(forbidden);
  }
}
