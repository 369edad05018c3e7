package org.tidemark.clinic.offender;

import org.tidemark.quantity.Amount;

/**
 * Whose something is has nothing to do with what is measured. This one has, so that the rule
 * against it is seen to bite.
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
