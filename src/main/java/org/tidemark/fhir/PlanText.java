package org.tidemark.fhir;

import java.math.BigDecimal;
import java.math.RoundingMode;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;
import java.util.stream.Collectors;
import org.hl7.fhir.r4.model.Narrative;
import org.tidemark.decision.Change;
import org.tidemark.decision.Decision;
import org.tidemark.decision.Reason;
import org.tidemark.decision.Verdict;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.Programme;
import org.tidemark.programme.Variation;

/**
 * The narratives: complete enough to be the only thing that a viewer shows. Every value goes in as
 * text and never as markup.
 */
public final class PlanText {
  private static final String NO_EXERCISE = "NO EXERCISE for now.";

  private PlanText() {}

  /**
   * A whole plan.
   *
   * @param because the decision that made what stands as it is
   * @param last the last decision
   * @param others what the plan holds from other systems, in their words
   */
  public static Narrative plan(
      PlanIdentity plan, Decision because, Decision last, List<String> others) {
    Prose prose = new Prose().title(title(plan));
    prose.paragraph("Last review as of " + DateTimes.words(last.asOf()) + ".");
    now(prose, plan, last);
    if (!others.isEmpty()) {
      prose.heading("Also in this plan").list(others);
    }
    why(prose, plan, because, last);
    waiting(prose, plan, last);
    considered(prose, plan, last.considered().isEmpty() ? because : last);
    safety(prose, last, !last.inForce().isEmpty());
    return prose.narrative();
  }

  /**
   * One prescription.
   *
   * @param why the decision that it comes from
   */
  public static Narrative prescription(
      PlanIdentity plan, Prescription prescription, Decision why, PrescriptionWriter.Kind kind) {
    Prose prose = new Prose().title(title(plan));
    boolean waits = kind == PrescriptionWriter.Kind.PROPOSAL;
    if (waits) {
      prose.alert("Proposed: not to be done before a clinician has agreed.");
    }
    prose.heading(waits ? "What is proposed" : "What to do, and how much");
    prose.named(List.of(exercise(plan.programme(), prescription)));
    prose.heading("Why");
    reasons(prose, plan.programme(), why);
    safety(prose, why, true);
    return prose.narrative();
  }

  /** One decision with its reasons and figures. */
  public static Narrative decision(PlanIdentity plan, Decision decision) {
    Prose prose = new Prose().title(title(plan));
    prose.labelled(heading(decision), "As of " + DateTimes.words(decision.asOf()) + ".");
    now(prose, plan, decision);
    prose.heading("Why");
    reasons(prose, plan.programme(), decision);
    waiting(prose, plan, decision);
    considered(prose, plan, decision);
    safety(prose, decision, !decision.inForce().isEmpty());
    return prose.narrative();
  }

  /** What a decision comes to, in a few words. */
  public static String heading(Decision decision) {
    return switch (decision.verdict()) {
      case WITHHOLD -> "No exercise.";
      case INCOMPLETE -> "Something is missing.";
      case REGRESS -> "Back to something easier.";
      case MAINTAIN -> "As it is.";
      case PROGRESS ->
          decision.proposed() ? "One thing harder, once a clinician agrees." : "One thing harder.";
      case COMPLETE -> "Every goal is met and held.";
      case PLACE -> "A first prescription.";
    };
  }

  /** The plan's name with its side, such as {@code Full knee bend, right knee}. */
  static String title(PlanIdentity plan) {
    return plan.programme().title() + ", " + BodySites.words(plan.programme(), plan.side());
  }

  /** The reasons in their sentences, on one line. */
  static String sentences(Decision decision) {
    return decision.reasons().stream().map(Reason::sentence).collect(Collectors.joining(" "));
  }

  /** What is missing, each group of alternatives in words. */
  static List<String> missing(Decision decision) {
    return decision.missing().stream()
        .map(
            group ->
                Arrays.stream(group.split("\\|"))
                    .map(PrescriptionText::words)
                    .collect(Collectors.joining(" or ")))
        .toList();
  }

  /** The figures in sentences; none where there are none. */
  static List<String> figures(Decision decision) {
    Decision.Figures figures = decision.figures();
    List<String> sentences = new ArrayList<>();
    if (figures.toleratedRate() > 0) {
      sentences.add(
          "Answered sessions: "
              + figures.answered()
              + ", of which not settled: "
              + figures.unsettled()
              + ".");
      sentences.add(
          "Chance that fewer than "
              + percent(figures.toleratedRate(), 0)
              + " of such sessions are unsettled: "
              + percent(figures.chance(), 1)
              + "; a step up needs "
              + percent(figures.needed(), 0)
              + "."
              + (figures.evidenceFactor() > 1
                  ? " The step failed before and needs "
                      + figures.evidenceFactor()
                      + " times the usual evidence."
                  : ""));
      sentences.add("Done of what was asked: " + percent(figures.adherence(), 0) + ".");
    }
    if (figures.flaresIn14Days() > 0) {
      sentences.add("Flares within the last 14 days: " + figures.flaresIn14Days() + ".");
    }
    figures
        .rest()
        .ifPresent(rest -> sentences.add("Pain at rest, to compare with: " + rest + " out of 10."));
    figures.demand().map(DemandText::step).ifPresent(sentences::add);
    figures.ranges().forEach(range -> sentences.addAll(RangeText.sentences(range)));
    return sentences;
  }

  private static void now(Prose prose, PlanIdentity plan, Decision decision) {
    prose.heading("What to do now");
    if (decision.verdict() == Verdict.WITHHOLD) {
      prose.alert(NO_EXERCISE);
      if (decision.warnings().isEmpty()) {
        prose.paragraph(sentences(decision));
      } else {
        prose.paragraph(
            Reason.WARNING_OPEN.sentence() + " " + SafetyText.sentences(decision.warnings()));
        prose.alert(SafetyText.mostPressing(decision).sentence());
      }
    } else if (decision.verdict() == Verdict.INCOMPLETE) {
      prose.alert("No exercise yet: nothing is guessed. Still needed:");
      prose.list(missing(decision));
    } else if (decision.inForce().isEmpty()) {
      prose.paragraph("Nothing is asked for at present.");
    } else {
      prose.named(decision.inForce().stream().map(p -> exercise(plan.programme(), p)).toList());
    }
  }

  private static Prose.Named exercise(Programme programme, Prescription prescription) {
    List<String> lines = new ArrayList<>();
    lines.add("How much: " + PrescriptionText.dose(prescription.dose()) + ".");
    String setting = PrescriptionText.setting(programme, prescription);
    if (!setting.isEmpty()) {
      lines.add(setting);
    }
    programme
        .variation(prescription.variation())
        .map(Variation::instruction)
        .filter(how -> !how.isBlank())
        .ifPresent(lines::add);
    lines.add("Stage: " + PrescriptionText.stage(programme, prescription.stage()) + ".");
    return new Prose.Named(PrescriptionText.title(programme, prescription.variation()), lines);
  }

  private static void why(Prose prose, PlanIdentity plan, Decision because, Decision last) {
    prose.heading("Why");
    if (because.equals(last)) {
      reasons(prose, plan.programme(), last);
      return;
    }
    if (!last.inForce().isEmpty()) {
      prose.labelled(
          "It has stood so since " + DateTimes.day(because.asOf().toLocalDate()) + ".",
          sentences(because));
      because
          .change()
          .filter(change -> !because.proposed())
          .ifPresent(change -> prose.paragraph(changed(plan.programme(), change)));
      because.figures().demand().map(DemandText::step).ifPresent(prose::paragraph);
    }
    prose.labelled("At the last review:", heading(last));
    reasons(prose, plan.programme(), last);
  }

  private static void reasons(Prose prose, Programme programme, Decision decision) {
    decision
        .change()
        .filter(change -> !decision.proposed())
        .ifPresent(change -> prose.paragraph(changed(programme, change)));
    prose.list(decision.reasons().stream().map(Reason::sentence).toList());
    List<String> figures = figures(decision);
    if (!figures.isEmpty()) {
      prose.labelled("In figures:", String.join(" ", figures));
    }
  }

  private static String changed(Programme programme, Change change) {
    return PrescriptionText.change(programme, change) + ".";
  }

  private static void waiting(Prose prose, PlanIdentity plan, Decision decision) {
    if (decision.proposal().isEmpty() && !decision.reviewAsked()) {
      return;
    }
    prose.heading("What waits for the clinician");
    if (decision.reviewAsked()) {
      prose.paragraph("A clinician is asked to review the plan.");
    }
    if (!decision.proposal().isEmpty()) {
      decision
          .change()
          .filter(change -> decision.proposed())
          .ifPresent(change -> prose.paragraph(changed(plan.programme(), change)));
      prose.paragraph("Proposed, and not to be done before a clinician has agreed:");
      prose.list(
          decision.proposal().stream()
              .map(p -> PrescriptionText.line(plan.programme(), p))
              .toList());
    }
  }

  private static void considered(Prose prose, PlanIdentity plan, Decision decision) {
    if (!decision.considered().isEmpty()) {
      prose.heading("Considered and not taken");
      prose.list(
          decision.considered().stream()
              .map(weighed -> PrescriptionText.considered(plan.programme(), weighed))
              .toList());
    }
  }

  private static void safety(Prose prose, Decision decision, boolean exercising) {
    prose.heading("What to watch for");
    if (exercising) {
      prose.paragraph(SafetyText.sessionRule());
    }
    prose.paragraph("Stop all exercise and report it when one of these shows:");
    prose.named(SafetyText.signs());
    prose.heading("Limits and cautions");
    List<String> limits = new ArrayList<>();
    decision
        .precautions()
        .forEach(precaution -> limits.add("In force for this person: " + precaution));
    limits.addAll(SafetyText.CAUTIONS);
    prose.list(limits);
  }

  /** Rounded down, so that no figure looks as if it had reached a limit that it has not. */
  private static String percent(double share, int decimals) {
    BigDecimal percent =
        BigDecimal.valueOf(share).movePointRight(2).setScale(decimals, RoundingMode.DOWN);
    return percent.stripTrailingZeros().toPlainString() + " %";
  }
}
