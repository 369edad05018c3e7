package org.tidemark.application;

import java.util.Arrays;
import java.util.Locale;
import java.util.Optional;
import java.util.Set;
import org.tidemark.decision.Decision;
import org.tidemark.decision.Reason;
import org.tidemark.decision.Verdict;

/** What a plan needs of a clinician, the most pressing first. */
public enum Need {
  /** A warning sign is open: no exercise until a clinician has looked. */
  WARNING(10),
  /** A clinician is asked to look, with or without exercise being withheld. */
  REVIEW(20),
  /** A proposal waits for a yes or no. */
  SIGN_OFF(30),
  /** The knee flared within the last 14 days of the plan. */
  FLARE(40),
  /** The plan can go no further by itself. */
  STALL(50),
  /** Exercise is prescribed and nothing is reported. */
  SILENCE(60),
  /** The last day of a precaution has passed. */
  PRECAUTION(70),
  /** Something that a start depends on is not known. */
  MISSING(80),
  /** Nothing. */
  NONE(90),
  /** Nothing while it is on hold. */
  HELD(95);

  /** The reasons of a plan that stands still although its sessions would allow more. */
  private static final Set<Reason> STALLED =
      Set.of(
          Reason.RANGE_STALLED,
          Reason.DWELL,
          Reason.NO_FEASIBLE_CHANGE,
          Reason.STEP_TOO_BIG,
          Reason.REQUIREMENT_NOT_MET,
          Reason.GOAL_NOT_MET);

  private final int place;

  Need(int place) {
    this.place = place;
  }

  /** Its place in the order, which is kept; lower comes first. */
  int place() {
    return place;
  }

  /** Its code, such as {@code sign-off}. */
  public String code() {
    return name().toLowerCase(Locale.ROOT).replace('_', '-');
  }

  /** The need of a code. */
  public static Optional<Need> find(String code) {
    return Arrays.stream(values()).filter(need -> need.code().equals(code)).findFirst();
  }

  static Need at(int place) {
    return Arrays.stream(values())
        .filter(need -> need.place == place)
        .findFirst()
        .orElseThrow(() -> new IllegalStateException("no need has the place " + place));
  }

  /**
   * What a plan needs by its own facts.
   *
   * @param plan a plan that has been decided about and runs
   */
  static Need of(RunningPlan plan) {
    Optional<Decision> last = plan.state().last();
    if (last.isEmpty()) {
      return NONE;
    }
    Decision decision = last.get();
    if (!decision.warnings().isEmpty()) {
      return WARNING;
    }
    if (decision.verdict() == Verdict.INCOMPLETE) {
      return MISSING;
    }
    if (plan.issued().review().isPresent()) {
      return REVIEW;
    }
    if (plan.issued().waiting().isPresent()) {
      return SIGN_OFF;
    }
    if (plan.status().equals("on-hold")) {
      return HELD;
    }
    if (decision.figures().flaresIn14Days() > 0) {
      return FLARE;
    }
    return decision.reasons().stream().anyMatch(STALLED::contains) ? STALL : NONE;
  }
}
