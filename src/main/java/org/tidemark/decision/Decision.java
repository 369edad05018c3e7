package org.tidemark.decision;

import java.time.OffsetDateTime;
import java.util.List;
import java.util.Optional;
import java.util.Set;
import org.tidemark.demand.Ratio;
import org.tidemark.programme.Prescription;
import org.tidemark.quantity.PainScore;

/**
 * What the service decided and why. It always says what is in force afterwards.
 *
 * @param asOf the time of the newest fact it knew
 * @param verdict what it comes to
 * @param reasons every reason that applied, the most cautious first; never empty
 * @param change what changes, if anything does
 * @param proposed whether the change waits for a clinician; what is in force then stays as it was
 * @param inForce the prescriptions in force afterwards; empty when exercise is withheld or nobody
 *     is placed
 * @param proposal the prescriptions that wait for a clinician; empty when none do
 * @param considered the changes that were weighed and not taken
 * @param figures the figures it rests on
 * @param restsOn the records it rests on, each in its version
 * @param warnings the warning signs that are open
 * @param precautions the words of the precautions that shaped it
 * @param missing the codes of the baseline items that are missing, each group of alternatives
 *     joined by {@code |}
 * @param reviewAsked whether a clinician is asked to look
 */
public record Decision(
    OffsetDateTime asOf,
    Verdict verdict,
    List<Reason> reasons,
    Optional<Change> change,
    boolean proposed,
    List<Prescription> inForce,
    List<Prescription> proposal,
    List<Change.Considered> considered,
    Figures figures,
    List<FactSource> restsOn,
    Set<Warning> warnings,
    List<String> precautions,
    List<String> missing,
    boolean reviewAsked) {
  public Decision {
    reasons = List.copyOf(reasons);
    inForce = List.copyOf(inForce);
    proposal = List.copyOf(proposal);
    considered = List.copyOf(considered);
    restsOn = List.copyOf(restsOn);
    warnings = java.util.Collections.unmodifiableSet(new java.util.TreeSet<>(warnings));
    precautions = List.copyOf(precautions);
    missing = List.copyOf(missing);
    if (reasons.isEmpty()) {
      throw new IllegalArgumentException("a decision gives at least one reason");
    }
    if (verdict == Verdict.PROGRESS && change.isEmpty()) {
      throw new IllegalArgumentException("progress changes something");
    }
    if ((verdict == Verdict.WITHHOLD || verdict == Verdict.INCOMPLETE) && !inForce.isEmpty()) {
      throw new IllegalArgumentException("nothing is in force while exercise is withheld");
    }
    if (proposed && proposal.isEmpty()) {
      throw new IllegalArgumentException("a proposed change needs its proposal");
    }
  }

  /**
   * The figures behind a decision, about the exercise whose turn it was.
   *
   * @param answered answered sessions at this setting
   * @param unsettled how many of them were not settled
   * @param chance the chance that the true share of unsettled sessions is below the tolerated rate,
   *     0 to 1
   * @param needed the chance that progress needs, 0 to 1
   * @param toleratedRate the tolerated share of unsettled sessions, 0 to 1
   * @param evidenceFactor how many times the usual evidence the next change needs, 1 to 8
   * @param adherence share of what was asked that was done, 0 or more
   * @param flaresIn14Days flares within the last 14 days
   * @param rest pain at rest that symptoms were compared with, if known
   * @param demand what the change asks beside what was in force, where that can be told
   * @param ranges how the ranges that the goals are about have gone; the fold leaves them out, who
   *     tells a decision puts them in
   */
  public record Figures(
      int answered,
      int unsettled,
      double chance,
      double needed,
      double toleratedRate,
      int evidenceFactor,
      double adherence,
      int flaresIn14Days,
      Optional<PainScore> rest,
      Optional<Ratio> demand,
      List<RangeFigures> ranges) {
    public Figures {
      ranges = List.copyOf(ranges);
    }

    Figures with(List<RangeFigures> others) {
      return new Figures(
          answered,
          unsettled,
          chance,
          needed,
          toleratedRate,
          evidenceFactor,
          adherence,
          flaresIn14Days,
          rest,
          demand,
          others);
    }
  }

  /** The same decision, told with how the ranges have gone. */
  public Decision with(List<RangeFigures> ranges) {
    return new Decision(
        asOf,
        verdict,
        reasons,
        change,
        proposed,
        inForce,
        proposal,
        considered,
        figures.with(ranges),
        restsOn,
        warnings,
        precautions,
        missing,
        reviewAsked);
  }
}
