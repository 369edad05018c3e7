package org.tidemark.demo.offender;

import jakarta.persistence.EntityManager;

/**
 * The demo is a client like any other. This one does, so that the rule against it is seen to bite.
 */
final class Offender {
  private final EntityManager forbidden;

  Offender(EntityManager forbidden) {
    this.forbidden = forbidden;
  }

  @Override
  public String toString() {
    return String.valueOf(forbidden);
  }
}
