package org.tidemark.recordsystem.offender;

import org.tidemark.quantity.Amount;

/**
 * What is fetched has nothing to do with amounts as the core has them. Here it has, so that the
 * rule against it is seen to bite.
 */
final class Offender {
  private final Amount forbidden;

  Offender(Amount forbidden) {
    this.forbidden = forbidden;
  }

  @Override
  public String toString() {
    return String.valueOf(forbidden);
  }
}
