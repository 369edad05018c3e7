package org.tidemark.application.offender;

import jakarta.servlet.Servlet;

/** Use cases know no servlet. This one does, so that the rule against it is seen to bite. */
final class Offender {
  private final Servlet forbidden;

  Offender(Servlet forbidden) {
    this.forbidden = forbidden;
  }

  @Override
  public String toString() {
    return String.valueOf(forbidden);
  }
}
