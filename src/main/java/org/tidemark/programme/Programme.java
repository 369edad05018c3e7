package org.tidemark.programme;

import java.math.BigDecimal;
import java.util.List;
import java.util.Optional;
import java.util.Set;
import java.util.stream.Collectors;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Value;

/**
 * A graded exercise programme.
 *
 * @param id which programme, in which version
 * @param title its name
 * @param bodyRegions codes of the body regions that reports may name; a report that names another
 *     does not belong here
 * @param needs the baseline items without which nobody is placed: of each group at least one
 * @param placements the ways in, in order; the first whose conditions hold is taken
 * @param stages in order of progress
 * @param goals what it works toward
 * @param plateauOptions what is tried at a stall, in order
 * @param maintenancePerWeek how often a week the last exercise is kept up once every goal is met
 *     and held
 * @param demandCap how many times the demand one upward change may ask at most, at the upper end of
 *     the band; more than 1
 * @param leastAdherence the share of what was asked that must have been done before a step up,
 *     above 0 and at most 1
 */
public record Programme(
    ProgrammeId id,
    String title,
    Set<String> bodyRegions,
    List<List<String>> needs,
    List<Placement> placements,
    List<Stage> stages,
    List<GoalDefinition> goals,
    List<PlateauOption> plateauOptions,
    int maintenancePerWeek,
    BigDecimal demandCap,
    BigDecimal leastAdherence) {
  /**
   * The usual cap on demand: a step asks at most a tenth more, as the dose literature allows for
   * loads (ACSM 2009: 2 to 10 %); that it holds for every kind of step is common practice.
   */
  public static final BigDecimal USUAL_DEMAND_CAP = new BigDecimal("1.10");

  /** The usual share of what was asked that must have been done (common practice). */
  public static final BigDecimal USUAL_ADHERENCE = new BigDecimal("0.80");

  public Programme {
    bodyRegions = Set.copyOf(bodyRegions);
    needs = needs.stream().map(List::copyOf).toList();
    placements = List.copyOf(placements);
    stages = List.copyOf(stages);
    goals = List.copyOf(goals);
    plateauOptions = List.copyOf(plateauOptions);
  }

  public Optional<Stage> stage(String code) {
    for (Stage stage : stages) {
      if (stage.code().equals(code)) {
        return Optional.of(stage);
      }
    }
    return Optional.empty();
  }

  /** The stage after this one; empty after the last. */
  public Optional<Stage> stageAfter(String code) {
    int index = stages.stream().map(Stage::code).toList().indexOf(code);
    return index >= 0 && index + 1 < stages.size()
        ? Optional.of(stages.get(index + 1))
        : Optional.empty();
  }

  /** The exercise that a stage makes of a variation. */
  public Optional<Exercise> exercise(String stageCode, String variationCode) {
    for (Exercise exercise : stage(stageCode).map(Stage::exercises).orElse(List.of())) {
      if (exercise.variation().code().equals(variationCode)) {
        return Optional.of(exercise);
      }
    }
    return Optional.empty();
  }

  public Optional<Variation> variation(String code) {
    return stages.stream()
        .flatMap(stage -> stage.exercises().stream())
        .map(Exercise::variation)
        .filter(variation -> variation.code().equals(code))
        .findFirst();
  }

  /**
   * Whether a precaution allows a variation at a setting. A limit on a measure of the body forbids
   * a variation that does not say how far it takes that measure; a limit on a progression variable
   * leaves variations without it alone; a limit on something that this programme does not know
   * forbids everything it is about.
   */
  public boolean allows(Precaution precaution, Variation variation, Setting setting) {
    if (!precaution.concerns(variation)) {
      return true;
    }
    if (precaution.measure().isEmpty()) {
      return false;
    }
    String measure = precaution.measure().get();
    Value set = setting.get(measure);
    if (set != null) {
      return set instanceof Amount amount && precaution.allows(amount);
    }
    Amount reached = variation.reach().get(measure);
    if (reached != null) {
      return precaution.allows(reached);
    }
    return variableCodes().contains(measure);
  }

  private Set<String> variableCodes() {
    return stages.stream()
        .flatMap(stage -> stage.exercises().stream())
        .flatMap(exercise -> exercise.variation().variables().stream())
        .map(ProgressionVariable::code)
        .collect(Collectors.toSet());
  }
}
