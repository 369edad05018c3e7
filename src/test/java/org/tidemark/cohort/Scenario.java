package org.tidemark.cohort;

/**
 * How far the people of a run differ from what is assumed, for seeing what the result hangs on.
 *
 * @param name what differs, in words
 * @param irritability factor on the pain that an overload gives
 * @param adaptation factor on the growth of tolerance
 * @param misfit factor on the error of the demand model
 * @param adherence share of sessions done, beside what is assumed
 */
public record Scenario(
    String name, double irritability, double adaptation, double misfit, double adherence) {
  /** As assumed. */
  public static final Scenario USUAL = new Scenario("as assumed", 1, 1, 1, 1);
}
