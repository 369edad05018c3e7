package org.tidemark.load.offender;

import org.tidemark.decision.Verdict;

/**
 * The loader knows nothing of the core. This one does, so that the rule against it is seen to bite.
 */
final class Offender {
  private final Verdict forbidden;

  Offender(Verdict forbidden) {
    this.forbidden = forbidden;
  }

  @Override
  public String toString() {
    return String.valueOf(forbidden);
  }
}
