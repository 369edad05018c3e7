package org.tidemark.offender;

/** Lives where no class belongs, so that the rule against it is seen to bite. */
final class Stray {
  private Stray() {}
}
