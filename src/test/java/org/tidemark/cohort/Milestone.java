package org.tidemark.cohort;

import java.util.List;
import java.util.Optional;
import org.tidemark.programme.Exercise;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.Programme;
import org.tidemark.programme.ProgressionVariable;
import org.tidemark.programme.Source;
import org.tidemark.programme.Stage;
import org.tidemark.quantity.Value;

/**
 * A place on the way through a programme: every variable that the lead exercise of a stage makes
 * harder has come to its end.
 *
 * @param variations the codes of the exercises that lead that stage
 * @param variables the variables
 */
record Milestone(List<String> variations, List<ProgressionVariable> variables) {

  /**
   * The end of the stage before the last one: for the knee the floor, without help of the hands.
   */
  static Milestone beforeLast(Programme programme) {
    List<Stage> stages = programme.stages();
    return of(stages.get(stages.size() - 2), false);
  }

  /** The end of the last stage, as far as its variables have goals: for the knee the full load. */
  static Milestone last(Programme programme) {
    List<Stage> stages = programme.stages();
    Milestone before = beforeLast(programme);
    Milestone last = of(stages.get(stages.size() - 1), true);
    List<ProgressionVariable> all = new java.util.ArrayList<>(before.variables);
    all.addAll(last.variables);
    return new Milestone(last.variations, all);
  }

  private static Milestone of(Stage stage, boolean withGoalOnly) {
    List<Exercise> leads =
        stage.exercises().stream().filter(e -> e.role() == Exercise.Role.LEAD).toList();
    List<ProgressionVariable> variables =
        leads.stream()
            .flatMap(lead -> lead.progressing().stream())
            .filter(variable -> !withGoalOnly || variable.goal().isPresent())
            .distinct()
            .toList();
    return new Milestone(leads.stream().map(e -> e.variation().code()).toList(), variables);
  }

  boolean reachedBy(List<Prescription> done) {
    return done.stream()
        .filter(p -> variations.contains(p.variation()))
        .anyMatch(p -> variables.stream().allMatch(variable -> atEnd(variable, p)));
  }

  private static boolean atEnd(ProgressionVariable variable, Prescription prescription) {
    Optional<Value> value = Optional.ofNullable(prescription.setting().get(variable.code()));
    if (value.isEmpty()) {
      return false;
    }
    if (variable.goal().isPresent()) {
      return variable.reachesGoal(value.get());
    }
    return variable.source() instanceof Source.Grades grades
        && grades.fromEasiest().indexOf(value.get()) == grades.fromEasiest().size() - 1;
  }
}
