package org.tidemark.http.offender;

import jakarta.persistence.EntityManager;

/** The endpoint knows no storage. This one does, so that the rule against it is seen to bite. */
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
