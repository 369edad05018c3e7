package org.tidemark.programme;

import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Value;

/** How the first value of a variable is found when a person enters a stage. */
public sealed interface StartRule {

  /** Always this value. */
  record At(Value value) implements StartRule {}

  /**
   * The least value the person can make that is not below a baseline item; 0 when the item is not
   * known.
   */
  record LeastCovering(String item) implements StartRule {}

  /**
   * The greatest value above 0 that the person can make and that is not above this: whoever has no
   * step does not begin on the floor.
   */
  record GreatestNotAbove(Amount most) implements StartRule {}

  /** The least value above 0 that the person can make. */
  record LeastAboveZero() implements StartRule {}

  /** What it was before, where the same variation goes on; else the easiest. */
  record Kept() implements StartRule {}
}
