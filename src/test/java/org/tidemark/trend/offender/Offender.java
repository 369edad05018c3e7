package org.tidemark.trend.offender;

import org.tidemark.programme.Side;

/**
 * A trend knows nothing of a programme. This one does, so that the rule against it is seen to bite.
 */
final class Offender {
  private final Side forbidden;

  Offender(Side forbidden) {
    this.forbidden = forbidden;
  }

  @Override
  public String toString() {
    return String.valueOf(forbidden);
  }
}
