package org.tidemark.decision;

import java.util.Locale;

/**
 * Every reason a decision can give: its verdict, a sentence that a clinician could sign, and where
 * the rule comes from.
 */
public enum Reason {
  WARNING_OPEN(
      Verdict.WITHHOLD,
      "A warning sign was reported; exercise stops until a clinician has looked.",
      Origin.COMMON_PRACTICE),
  PRECAUTION_FORBIDS_ALL(
      Verdict.WITHHOLD,
      "A precaution forbids every setting that could be asked for.",
      Origin.COMMON_PRACTICE),
  THIRD_FLARE(
      Verdict.WITHHOLD,
      "There were three flares within 14 days; a clinician must review the plan.",
      Origin.COMMON_PRACTICE),
  NOTHING_EASIER(
      Verdict.WITHHOLD,
      "Easing was needed, but nothing easier is at hand; a clinician must review the plan.",
      Origin.COMMON_PRACTICE),
  NO_SAFE_START(
      Verdict.WITHHOLD,
      "The baseline allows no starting exercise with the equipment at hand; the clinician is asked.",
      Origin.COMMON_PRACTICE),
  PLAN_ON_HOLD(Verdict.WITHHOLD, "A clinician has put the plan on hold.", Origin.CLINICIAN),
  LONG_GAP(
      Verdict.WITHHOLD,
      "There were more than 42 days without a session; a new baseline is needed before going on.",
      Origin.COMMON_PRACTICE),
  BASELINE_INCOMPLETE(
      Verdict.INCOMPLETE,
      "The baseline lacks something that a starting exercise depends on.",
      Origin.COMMON_PRACTICE),
  PRECAUTION_BROKEN(
      Verdict.REGRESS, "The exercise in force lies outside a precaution.", Origin.CLINICIAN),
  EQUIPMENT_GONE(
      Verdict.REGRESS,
      "The exercise in force needs equipment that is no longer at hand.",
      Origin.COMMON_PRACTICE),
  FLARE(
      Verdict.REGRESS,
      "The session was followed by a flare.",
      "Farrar 2001, Pain 94:149-58 (2 points); Thomeé 1997, Phys Ther 77:1690-703 (above 5)"),
  SECOND_FLARE(
      Verdict.REGRESS,
      "It was the second flare within 14 days; a clinician is asked to review the plan.",
      Origin.COMMON_PRACTICE),
  TWO_STIRRED(
      Verdict.REGRESS,
      "At least two of the last four answered sessions at this setting were stirred.",
      Origin.COMMON_PRACTICE),
  GAP(
      Verdict.REGRESS,
      "There were more than 14 days without a session; the restart is one change back.",
      Origin.COMMON_PRACTICE),
  MORNING_PENDING(
      Verdict.MAINTAIN,
      "The answers to the last session are not complete; the next morning is waited for.",
      Origin.COMMON_PRACTICE),
  ONE_STIRRED(
      Verdict.MAINTAIN,
      "One of the last four answered sessions at this setting was stirred.",
      Origin.COMMON_PRACTICE),
  UNQUIET_MORNING(Verdict.MAINTAIN, "The last morning was not quiet.", Origin.COMMON_PRACTICE),
  EVIDENCE_THIN(
      Verdict.MAINTAIN,
      "There are not yet enough settled sessions at this setting.",
      "Beta posterior, at least 0.80 that the unsettled share is below the stage's limit"),
  ADHERENCE_LOW(
      Verdict.MAINTAIN,
      "Less of what was asked has been done than a step up needs.",
      Origin.COMMON_PRACTICE),
  CONTACT_NOT_REACHED(
      Verdict.MAINTAIN,
      "Contact was not reached, or not reported, at the last answered session.",
      Origin.COMMON_PRACTICE),
  BACK_OFF(
      Verdict.MAINTAIN,
      "This change failed before; it needs more settled sessions this time.",
      Origin.COMMON_PRACTICE),
  NO_FEASIBLE_CHANGE(
      Verdict.MAINTAIN,
      "No next step can be made with the equipment at hand.",
      Origin.COMMON_PRACTICE),
  STEP_TOO_BIG(
      Verdict.MAINTAIN,
      "The smallest step that can be made is too big to take alone.",
      Origin.COMMON_PRACTICE),
  PRECAUTION_LIMITS(Verdict.MAINTAIN, "The next step lies outside a precaution.", Origin.CLINICIAN),
  REQUIREMENT_NOT_MET(
      Verdict.MAINTAIN,
      "The next step asks for something that has not been shown.",
      Origin.COMMON_PRACTICE),
  GOAL_NOT_MET(
      Verdict.MAINTAIN,
      "The programme has no further step, but a goal is not met yet.",
      Origin.COMMON_PRACTICE),
  DWELL(
      Verdict.MAINTAIN,
      "Range has stood still for six weeks or more; nothing is added, it is given time.",
      Origin.COMMON_PRACTICE),
  AWAITING_SIGN_OFF(Verdict.MAINTAIN, "A proposed change waits for a clinician.", Origin.CLINICIAN),
  SEVERAL_STEPS(
      Verdict.MAINTAIN,
      "Reports that came together lead more than one step up; a clinician is asked before any of it is taken.",
      Origin.COMMON_PRACTICE),
  SIGN_OFF_REFUSED(
      Verdict.MAINTAIN, "A clinician has refused the proposed change.", Origin.CLINICIAN),
  CLINICIAN_OVERRIDE(
      Verdict.MAINTAIN,
      "A clinician has set the exercise by hand; the service goes on from there.",
      Origin.CLINICIAN),
  RESUMED(Verdict.MAINTAIN, "A clinician has let the exercise go on.", Origin.CLINICIAN),
  MAINTENANCE(
      Verdict.MAINTAIN,
      "Every goal has been met; the exercise is kept up at a maintenance dose.",
      Origin.COMMON_PRACTICE),
  NOTHING_NEW(
      Verdict.MAINTAIN, "Nothing that was reported asks for a change.", Origin.COMMON_PRACTICE),
  SETTLED(
      Verdict.PROGRESS,
      "Enough sessions in a row were settled; one thing is made harder.",
      "Beta posterior, at least 0.80 that the unsettled share is below the stage's limit"),
  RANGE_STALLED(
      Verdict.PROGRESS,
      "Range has stood still for six weeks or more although sessions were settled; what the programme tries next is proposed.",
      "95 % interval of the slope within the smallest worthwhile rate; the options are common practice"),
  SIGNED_OFF(Verdict.PROGRESS, "A clinician has accepted the proposed change.", Origin.CLINICIAN),
  TIMING_INFERRED(
      Verdict.PROGRESS,
      "A pain score did not say when it was felt; its time was taken to say so.",
      Origin.COMMON_PRACTICE),
  GOALS_HELD(
      Verdict.COMPLETE,
      "Every goal is met and held; the exercise goes over to a maintenance dose.",
      Origin.COMMON_PRACTICE),
  PLACED(
      Verdict.PLACE, "The baseline is complete and leads to this start.", Origin.COMMON_PRACTICE);

  private static final class Origin {
    private static final String COMMON_PRACTICE = "common practice";
    private static final String CLINICIAN = "the clinician's own word";
  }

  private final Verdict verdict;
  private final String sentence;
  private final String origin;

  Reason(Verdict verdict, String sentence, String origin) {
    this.verdict = verdict;
    this.sentence = sentence;
    this.origin = origin;
  }

  /** What it asks for, or allows, when nothing more cautious applies. */
  public Verdict verdict() {
    return verdict;
  }

  /** What it says, in a sentence for a clinician. */
  public String sentence() {
    return sentence;
  }

  /** Where the rule comes from. */
  public String origin() {
    return origin;
  }

  /** Its code, such as {@code evidence-thin}. */
  public String code() {
    return name().toLowerCase(Locale.ROOT).replace('_', '-');
  }
}
