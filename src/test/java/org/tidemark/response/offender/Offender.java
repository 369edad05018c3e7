package org.tidemark.response.offender;

import org.tidemark.decision.Verdict;

/** A response decides nothing. This one does, so that the rule against it is seen to bite. */
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
