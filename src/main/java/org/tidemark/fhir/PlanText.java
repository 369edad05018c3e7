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
import org.tidemark.programme.Side;
import org.tidemark.programme.Variation;

/**
 * The narratives: complete enough to be the only thing that a viewer shows. Every value goes in as
 * text and never as markup.
 */
public final class PlanText {
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
    Texts texts = plan.texts();
    Prose prose = new Prose(texts).title(title(plan));
    prose.paragraph(texts.of("plan.reviewed", texts.time(last.asOf())));
    now(prose, plan, last);
    if (!others.isEmpty()) {
      prose.heading(texts.of("plan.others")).list(others);
    }
    why(prose, plan, because, last);
    waiting(prose, plan, last);
    considered(prose, plan, last.considered().isEmpty() ? because : last);
    safety(prose, texts, last, !last.inForce().isEmpty());
    return prose.narrative();
  }

  /**
   * One prescription.
   *
   * @param why the decision that it comes from
   */
  public static Narrative prescription(
      PlanIdentity plan, Prescription prescription, Decision why, PrescriptionWriter.Kind kind) {
    Texts texts = plan.texts();
    Prose prose = new Prose(texts).title(title(plan));
    boolean waits = kind == PrescriptionWriter.Kind.PROPOSAL;
    if (waits) {
      prose.alert(texts.of("exercise.proposed"));
    }
    prose.heading(texts.of(waits ? "exercise.proposal" : "exercise.order"));
    prose.named(List.of(exercise(plan, prescription)));
    prose.heading(texts.of("plan.why"));
    reasons(prose, plan, why);
    safety(prose, texts, why, true);
    return prose.narrative();
  }

  /** One decision with its reasons and figures. */
  public static Narrative decision(PlanIdentity plan, Decision decision) {
    Texts texts = plan.texts();
    Prose prose = new Prose(texts).title(title(plan));
    prose.labelled(heading(texts, decision), texts.of("plan.as-of", texts.time(decision.asOf())));
    now(prose, plan, decision);
    prose.heading(texts.of("plan.why"));
    reasons(prose, plan, decision);
    waiting(prose, plan, decision);
    considered(prose, plan, decision);
    safety(prose, texts, decision, !decision.inForce().isEmpty());
    return prose.narrative();
  }

  /** What a decision comes to, in a few words. */
  public static String heading(Texts texts, Decision decision) {
    boolean waits = decision.verdict() == Verdict.PROGRESS && decision.proposed();
    return texts.of("verdict." + decision.verdict().code() + (waits ? ".proposed" : ""));
  }

  /** The plan's name with its side, such as {@code Full knee bend, right knee}. */
  public static String title(PlanIdentity plan) {
    return title(plan.texts(), plan.programme(), plan.side());
  }

  /** The same from its parts. */
  public static String title(Texts texts, Programme programme, Side side) {
    return texts.of("plan.title", programme.title(), BodySites.words(texts, programme, side));
  }

  /** The reasons in their sentences, on one line. */
  static String sentences(Texts texts, Decision decision) {
    return decision.reasons().stream().map(texts::reason).collect(Collectors.joining(" "));
  }

  /** What is missing, each group of alternatives in words. */
  static List<String> missing(Texts texts, Decision decision) {
    return decision.missing().stream()
        .map(
            group ->
                Arrays.stream(group.split("\\|"))
                    .map(texts::item)
                    .reduce((one, other) -> texts.of("or", one, other))
                    .orElseThrow())
        .toList();
  }

  /** The figures in sentences; none where there are none. */
  static List<String> figures(Texts texts, Decision decision) {
    Decision.Figures figures = decision.figures();
    List<String> sentences = new ArrayList<>();
    if (figures.toleratedRate() > 0) {
      sentences.add(texts.of("figures.answered", figures.answered(), figures.unsettled()));
      sentences.add(
          texts.of(
              "figures.chance",
              percent(texts, figures.toleratedRate(), 0),
              percent(texts, figures.chance(), 1),
              percent(texts, figures.needed(), 0)));
      if (figures.evidenceFactor() > 1) {
        sentences.add(texts.of("figures.factor", figures.evidenceFactor()));
      }
      sentences.add(texts.of("figures.adherence", percent(texts, figures.adherence(), 0)));
    }
    if (figures.flaresIn14Days() > 0) {
      sentences.add(texts.of("figures.flares", figures.flaresIn14Days()));
    }
    figures
        .rest()
        .ifPresent(rest -> sentences.add(texts.of("figures.rest", texts.number(rest.value()))));
    figures.demand().ifPresent(demand -> sentences.add(DemandText.step(texts, demand)));
    figures.ranges().forEach(range -> sentences.addAll(RangeText.sentences(texts, range)));
    return sentences;
  }

  private static void now(Prose prose, PlanIdentity plan, Decision decision) {
    Texts texts = plan.texts();
    prose.heading(texts.of("plan.now"));
    if (decision.verdict() == Verdict.WITHHOLD) {
      prose.alert(texts.of("plan.none"));
      if (decision.warnings().isEmpty()) {
        prose.paragraph(sentences(texts, decision));
      } else {
        prose.paragraph(
            texts.reason(Reason.WARNING_OPEN)
                + " "
                + SafetyText.sentences(texts, decision.warnings()));
        prose.alert(texts.urgency(SafetyText.mostPressing(decision)));
      }
    } else if (decision.verdict() == Verdict.INCOMPLETE) {
      prose.alert(texts.of("plan.incomplete"));
      prose.list(missing(texts, decision));
    } else if (decision.inForce().isEmpty()) {
      prose.paragraph(texts.of("plan.nothing"));
    } else {
      prose.named(decision.inForce().stream().map(p -> exercise(plan, p)).toList());
    }
  }

  private static Prose.Named exercise(PlanIdentity plan, Prescription prescription) {
    Texts texts = plan.texts();
    PrescriptionText words = plan.words();
    List<String> lines = new ArrayList<>();
    lines.add(texts.of("exercise.dose", words.dose(prescription.dose())));
    String setting = words.setting(prescription);
    if (!setting.isEmpty()) {
      lines.add(setting);
    }
    plan.programme()
        .variation(prescription.variation())
        .map(Variation::instruction)
        .filter(how -> !how.isBlank())
        .ifPresent(lines::add);
    lines.add(texts.of("exercise.stage", words.stage(prescription.stage())));
    return new Prose.Named(words.title(prescription.variation()), lines);
  }

  private static void why(Prose prose, PlanIdentity plan, Decision because, Decision last) {
    Texts texts = plan.texts();
    prose.heading(texts.of("plan.why"));
    if (because.equals(last)) {
      reasons(prose, plan, last);
      return;
    }
    if (!last.inForce().isEmpty()) {
      prose.labelled(
          texts.of("plan.since", texts.day(because.asOf().toLocalDate())),
          sentences(texts, because));
      because
          .change()
          .filter(change -> !because.proposed())
          .ifPresent(change -> prose.paragraph(changed(plan, change)));
      because
          .figures()
          .demand()
          .map(demand -> DemandText.step(texts, demand))
          .ifPresent(prose::paragraph);
    }
    prose.labelled(texts.of("plan.last-review"), heading(texts, last));
    reasons(prose, plan, last);
  }

  private static void reasons(Prose prose, PlanIdentity plan, Decision decision) {
    Texts texts = plan.texts();
    decision
        .change()
        .filter(change -> !decision.proposed())
        .ifPresent(change -> prose.paragraph(changed(plan, change)));
    prose.list(decision.reasons().stream().map(texts::reason).toList());
    List<String> figures = figures(texts, decision);
    if (!figures.isEmpty()) {
      prose.labelled(texts.of("plan.figures"), String.join(" ", figures));
    }
  }

  private static String changed(PlanIdentity plan, Change change) {
    return plan.words().change(change) + ".";
  }

  private static void waiting(Prose prose, PlanIdentity plan, Decision decision) {
    if (decision.proposal().isEmpty() && !decision.reviewAsked()) {
      return;
    }
    Texts texts = plan.texts();
    prose.heading(texts.of("plan.waiting"));
    if (decision.reviewAsked()) {
      prose.paragraph(texts.of("plan.review"));
    }
    if (!decision.proposal().isEmpty()) {
      decision
          .change()
          .filter(change -> decision.proposed())
          .ifPresent(change -> prose.paragraph(changed(plan, change)));
      prose.paragraph(texts.of("plan.proposed"));
      prose.list(decision.proposal().stream().map(plan.words()::line).toList());
    }
  }

  private static void considered(Prose prose, PlanIdentity plan, Decision decision) {
    if (!decision.considered().isEmpty()) {
      prose.heading(plan.texts().of("plan.considered"));
      prose.list(decision.considered().stream().map(plan.words()::considered).toList());
    }
  }

  private static void safety(Prose prose, Texts texts, Decision decision, boolean exercising) {
    prose.heading(texts.of("plan.watch"));
    if (exercising) {
      prose.paragraph(SafetyText.sessionRule(texts));
    }
    prose.paragraph(texts.of("plan.stop"));
    prose.named(SafetyText.signs(texts));
    prose.heading(texts.of("plan.cautions"));
    List<String> limits = new ArrayList<>();
    decision
        .precautions()
        .forEach(precaution -> limits.add(texts.of("plan.precaution", precaution)));
    limits.addAll(SafetyText.cautions(texts));
    prose.list(limits);
  }

  /** Rounded down, so that no figure looks as if it had reached a limit that it has not. */
  private static String percent(Texts texts, double share, int decimals) {
    BigDecimal percent =
        BigDecimal.valueOf(share).movePointRight(2).setScale(decimals, RoundingMode.DOWN);
    return texts.of("percent", texts.number(percent));
  }
}
