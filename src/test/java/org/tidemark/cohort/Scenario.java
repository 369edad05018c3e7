package org.tidemark.cohort;

import java.util.List;

/**
 * How far the people of a run differ from what is assumed, for seeing what the result hangs on.
 *
 * @param name what differs, in words
 * @param irritability factor on the pain that an overload gives
 * @param adaptation factor on the growth of tolerance
 * @param misfit factor on the error of the demand model
 * @param adherence factor on the share of sessions done, which is 1 at most
 * @param restPain whether anyone has pain at rest
 * @param painless whether nothing hurts at all and every morning is answered
 */
public record Scenario(
    String name,
    double irritability,
    double adaptation,
    double misfit,
    double adherence,
    boolean restPain,
    boolean painless) {
  /** As assumed. */
  public static final Scenario USUAL = new Scenario("as assumed", 1, 1, 1, 1, true, false);

  /** One thing at a time, from half to double. */
  static final List<Scenario> OTHERS =
      List.of(
          new Scenario("half the irritability", 0.5, 1, 1, 1, true, false),
          new Scenario("double the irritability", 2, 1, 1, 1, true, false),
          new Scenario("tolerance grows half as fast", 1, 0.5, 1, 1, true, false),
          new Scenario("tolerance grows twice as fast", 1, 2, 1, 1, true, false),
          new Scenario("the demand model is right", 1, 1, 0, 1, true, false),
          new Scenario("the demand model is twice as wrong", 1, 1, 2, 1, true, false),
          new Scenario("every session is done", 1, 1, 1, 2, true, false),
          new Scenario("a fifth fewer sessions are done", 1, 1, 1, 0.8, true, false),
          new Scenario("nobody has pain at rest", 1, 1, 1, 1, false, false),
          new Scenario(
              "nothing hurts and every session is done and answered", 1, 1, 1, 2, false, true));
}
