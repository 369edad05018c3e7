package org.tidemark.fhir;

import java.math.BigDecimal;
import java.math.RoundingMode;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.List;
import java.util.Optional;
import java.util.stream.Collectors;
import org.hl7.fhir.r4.model.Narrative;
import org.tidemark.decision.Decision;
import org.tidemark.decision.Verdict;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.Programme;
import org.tidemark.programme.Side;

/**
 * The narratives: complete enough to be the only thing that a viewer shows. Every value goes in as
 * text and never as markup.
 */
public final class PlanText {
  private PlanText() {}

  record PlanSaid(
      String title,
      String reviewed,
      PlanParts.Now now,
      List<String> others,
      Optional<PlanParts.Since> since,
      Optional<String> lastReview,
      PlanParts.Reasons reasons,
      PlanParts.Waiting waiting,
      List<String> considered,
      PlanParts.Safety safety) {}

  record PrescriptionSaid(
      String title,
      boolean waits,
      List<PlanParts.Exercise> exercises,
      PlanParts.Reasons reasons,
      PlanParts.Safety safety) {}

  record DecisionSaid(
      String title,
      String heading,
      String asOf,
      PlanParts.Now now,
      PlanParts.Reasons reasons,
      PlanParts.Waiting waiting,
      List<String> considered,
      PlanParts.Safety safety) {}

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
    PlanParts parts = new PlanParts(plan);
    boolean older = !because.equals(last);
    return NarrativePage.PLAN.narrative(
        texts,
        new PlanSaid(
            title(plan),
            texts.time(last.asOf()),
            parts.now(last),
            others,
            older && !last.inForce().isEmpty()
                ? Optional.of(parts.since(because))
                : Optional.empty(),
            older ? Optional.of(heading(texts, last)) : Optional.empty(),
            parts.reasons(last),
            parts.waiting(last),
            parts.considered(last.considered().isEmpty() ? because : last),
            parts.safety(last, !last.inForce().isEmpty())));
  }

  /**
   * One prescription.
   *
   * @param why the decision that it comes from
   */
  public static Narrative prescription(
      PlanIdentity plan, Prescription prescription, Decision why, PrescriptionWriter.Kind kind) {
    PlanParts parts = new PlanParts(plan);
    return NarrativePage.PRESCRIPTION.narrative(
        plan.texts(),
        new PrescriptionSaid(
            title(plan),
            kind == PrescriptionWriter.Kind.PROPOSAL,
            List.of(parts.exercise(prescription)),
            parts.reasons(why),
            parts.safety(why, true)));
  }

  /** One decision with its reasons and figures. */
  public static Narrative decision(PlanIdentity plan, Decision decision) {
    Texts texts = plan.texts();
    PlanParts parts = new PlanParts(plan);
    return NarrativePage.DECISION.narrative(
        texts,
        new DecisionSaid(
            title(plan),
            heading(texts, decision),
            texts.time(decision.asOf()),
            parts.now(decision),
            parts.reasons(decision),
            parts.waiting(decision),
            parts.considered(decision),
            parts.safety(decision, !decision.inForce().isEmpty())));
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

  /** Rounded down, so that no figure looks as if it had reached a limit that it has not. */
  private static String percent(Texts texts, double share, int decimals) {
    BigDecimal percent =
        BigDecimal.valueOf(share).movePointRight(2).setScale(decimals, RoundingMode.DOWN);
    return texts.of("percent", texts.number(percent));
  }
}
