package org.tidemark.signin.offender;

import org.tidemark.quantity.Amount;

/**
 * Who signs in has nothing to do with what is measured. Here it has, so that the rule against it is
 * seen to bite.
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
