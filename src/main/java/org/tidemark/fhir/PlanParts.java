package org.tidemark.fhir;

import java.util.List;
import java.util.Optional;
import org.tidemark.decision.Change;
import org.tidemark.decision.Decision;
import org.tidemark.decision.Reason;
import org.tidemark.decision.Verdict;
import org.tidemark.demand.Ratio;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.Variation;

/** The parts that narratives about a plan share, each as its template asks for it. */
final class PlanParts {
  private final PlanIdentity plan;
  private final Texts texts;

  PlanParts(PlanIdentity plan) {
    this.plan = plan;
    this.texts = plan.texts();
  }

  /**
   * What to do now.
   *
   * @param withheld whether there is to be no exercise
   * @param because why it is withheld; empty when it is not
   * @param urgency what the person is told to do about open warnings
   * @param incomplete whether something must be known before there can be exercise
   * @param missing what that is
   * @param exercises what is asked for
   */
  record Now(
      boolean withheld,
      String because,
      Optional<String> urgency,
      boolean incomplete,
      List<String> missing,
      List<Exercise> exercises) {}

  /** An exercise in words: its name, how much, what it is set to, how it is done, its stage. */
  record Exercise(
      String title, String dose, Optional<String> setting, Optional<String> how, String stage) {}

  /** What a decision has changed, its reasons and its figures, each in a sentence. */
  record Reasons(Optional<String> change, List<String> sentences, List<String> figures) {}

  /** The decision that made what stands as it is, where that is not the last one. */
  record Since(String day, String sentences, Optional<String> change, Optional<String> demand) {}

  /** What a clinician is to do: to look at the plan, to agree to what is proposed. */
  record Waiting(boolean review, Optional<String> change, List<String> proposed) {}

  /** What stops an exercise and what limits it; the session rule where there is exercise. */
  record Safety(
      Optional<String> sessionRule,
      List<SafetyText.Signs> signs,
      List<String> precautions,
      List<String> cautions) {}

  Now now(Decision decision) {
    boolean withheld = decision.verdict() == Verdict.WITHHOLD;
    boolean incomplete = decision.verdict() == Verdict.INCOMPLETE;
    return new Now(
        withheld,
        withheld ? because(decision) : "",
        decision.warnings().isEmpty()
            ? Optional.empty()
            : Optional.of(texts.urgency(SafetyText.mostPressing(decision))),
        incomplete,
        incomplete ? PlanText.missing(texts, decision) : List.of(),
        decision.inForce().stream().map(this::exercise).toList());
  }

  private String because(Decision decision) {
    return decision.warnings().isEmpty()
        ? PlanText.sentences(texts, decision)
        : texts.reason(Reason.WARNING_OPEN)
            + " "
            + SafetyText.sentences(texts, decision.warnings());
  }

  Exercise exercise(Prescription prescription) {
    PrescriptionText words = plan.words();
    return new Exercise(
        words.title(prescription.variation()),
        words.dose(prescription.dose()),
        Optional.of(words.setting(prescription)).filter(setting -> !setting.isEmpty()),
        plan.programme()
            .variation(prescription.variation())
            .map(Variation::instruction)
            .filter(how -> !how.isBlank()),
        words.stage(prescription.stage()));
  }

  Reasons reasons(Decision decision) {
    return new Reasons(
        made(decision),
        decision.reasons().stream().map(texts::reason).toList(),
        PlanText.figures(texts, decision));
  }

  Since since(Decision because) {
    return new Since(
        texts.day(because.asOf().toLocalDate()),
        PlanText.sentences(texts, because),
        made(because),
        because.figures().demand().map(this::step));
  }

  private String step(Ratio demand) {
    return DemandText.step(texts, demand);
  }

  /** A change that holds already. */
  private Optional<String> made(Decision decision) {
    return decision.change().filter(change -> !decision.proposed()).map(this::changed);
  }

  private String changed(Change change) {
    return plan.words().change(change) + ".";
  }

  Waiting waiting(Decision decision) {
    return new Waiting(
        decision.reviewAsked(),
        decision.change().filter(change -> decision.proposed()).map(this::changed),
        decision.proposal().stream().map(plan.words()::line).toList());
  }

  List<String> considered(Decision decision) {
    return decision.considered().stream().map(plan.words()::considered).toList();
  }

  Safety safety(Decision decision, boolean exercising) {
    return new Safety(
        exercising ? Optional.of(SafetyText.sessionRule(texts)) : Optional.empty(),
        SafetyText.signs(texts),
        decision.precautions(),
        SafetyText.cautions(texts));
  }
}
