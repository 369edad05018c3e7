package org.tidemark.cohort;

import java.math.BigDecimal;
import java.util.List;
import java.util.function.UnaryOperator;
import org.tidemark.programme.Exercise;
import org.tidemark.programme.Programme;
import org.tidemark.programme.ProgressionVariable;
import org.tidemark.programme.Stage;
import org.tidemark.programme.Variation;
import org.tidemark.response.ResponsePolicy;

/** The service's rules with other settings, to be run side by side with the usual ones. */
final class Variants {
  private static final BigDecimal NO_CAP = new BigDecimal("100");

  private Variants() {}

  static List<Policy> all() {
    return List.of(
        of("rules, cap 1.05", with(new BigDecimal("1.05"), Variants::asIs)),
        of("rules, cap 1.25", with(new BigDecimal("1.25"), Variants::asIs)),
        of("rules, no cap", with(NO_CAP, stage -> stage)),
        of("rules, 5, 7 and 9 clear sessions, 80 % done", Variants::strict),
        of("rules, 2, 3 and 4 clear sessions", p -> grading(p, "0.50", "0.40", "0.30")),
        new ServiceRules(
            "rules, pain monitored",
            "The service's rules with symptoms read by the pain-monitoring model.",
            UnaryOperator.identity(),
            ResponsePolicy.PAIN_MONITORED));
  }

  private static Policy of(String title, UnaryOperator<Programme> variant) {
    return new ServiceRules(title, title, variant, ResponsePolicy.SYMPTOM_FREE);
  }

  private static Stage asIs(Stage stage) {
    return stage;
  }

  /** The programme with another cap on demand; without any cap, no variable keeps its own. */
  private static UnaryOperator<Programme> with(BigDecimal cap, UnaryOperator<Stage> stages) {
    UnaryOperator<Stage> all = cap.equals(NO_CAP) ? Variants::uncapped : stages;
    return p -> copy(p, all, cap, p.leastAdherence());
  }

  /** The grading that the knee's programme had before the cohort was asked. */
  private static Programme strict(Programme p) {
    Programme graded = grading(p, "0.25", "0.20", "0.15");
    return copy(graded, s -> s, graded.demandCap(), Programme.USUAL_ADHERENCE);
  }

  /** Shares of unsettled sessions that are tolerated: without load, and in the last two stages. */
  private static Programme grading(Programme p, String unloaded, String bodyWeight, String loaded) {
    int last = p.stages().size() - 1;
    return copy(
        p,
        s -> {
          int left = last - p.stages().indexOf(s);
          String rate = left == 0 ? loaded : left == 1 ? bodyWeight : unloaded;
          return new Stage(
              s.code(), s.title(), new BigDecimal(rate), s.conditions(), s.exercises());
        },
        p.demandCap(),
        p.leastAdherence());
  }

  private static Programme copy(
      Programme p, UnaryOperator<Stage> stages, BigDecimal cap, BigDecimal adherence) {
    return new Programme(
        p.id(),
        p.title(),
        p.bodyRegions(),
        p.needs(),
        p.placements(),
        p.stages().stream().map(stages).toList(),
        p.goals(),
        p.plateauOptions(),
        p.maintenancePerWeek(),
        cap,
        adherence);
  }

  private static Stage uncapped(Stage s) {
    return new Stage(
        s.code(),
        s.title(),
        s.toleratedRate(),
        s.conditions(),
        s.exercises().stream().map(Variants::uncapped).toList());
  }

  private static Exercise uncapped(Exercise e) {
    Variation v = e.variation();
    Variation free =
        new Variation(
            v.code(),
            v.title(),
            v.instruction(),
            v.loadBearing(),
            v.contactAsked(),
            v.reach(),
            v.variables().stream().map(Variants::uncapped).toList(),
            v.ladder(),
            v.demand());
    return new Exercise(free, e.role(), e.conditions(), e.start(), e.startDose(), e.progresses());
  }

  private static ProgressionVariable uncapped(ProgressionVariable v) {
    return new ProgressionVariable(
        v.code(),
        v.title(),
        v.harder(),
        v.source(),
        v.goal(),
        v.comfortableStep(),
        java.util.Optional.empty(),
        v.leastStepPercent(),
        v.requires());
  }
}
