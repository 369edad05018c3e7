package org.tidemark.fhir;

import java.util.ArrayList;
import java.util.HashSet;
import java.util.List;
import java.util.Optional;
import java.util.Set;
import org.hl7.fhir.r4.model.CodeableConcept;
import org.hl7.fhir.r4.model.Coding;
import org.hl7.fhir.r4.model.PlanDefinition;
import org.hl7.fhir.r4.model.PlanDefinition.PlanDefinitionGoalComponent;
import org.hl7.fhir.r4.model.PlanDefinition.PlanDefinitionGoalTargetComponent;
import org.hl7.fhir.r4.model.Quantity;
import org.tidemark.demand.ContactAngle;
import org.tidemark.programme.Direction;
import org.tidemark.programme.GoalDefinition;
import org.tidemark.programme.ProgressionVariable;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Grade;
import org.tidemark.quantity.Unit;
import org.tidemark.quantity.Value;

/**
 * Reads the goals of a programme.
 *
 * @param plan the definition
 * @param stages the stages of the programme, for the variables that a goal may measure
 * @param faults where faults are taken down
 */
record ProgrammeGoals(PlanDefinition plan, ProgrammeStages stages, ProgrammeFaults faults) {
  private static final Set<String> EXTENSIONS =
      Set.of(
          "goal-code",
          "goal-measured-in",
          "target-item",
          "target-model",
          "functional-target",
          "better");

  List<GoalDefinition> read() {
    if (!plan.hasGoal()) {
      faults.add(Problem.Kind.MISSING, "a programme needs a goal", "PlanDefinition.goal");
    }
    List<GoalDefinition> goals = new ArrayList<>();
    Set<String> codes = new HashSet<>();
    for (int i = 0; i < plan.getGoal().size(); i++) {
      goal(plan.getGoal().get(i), "PlanDefinition.goal[" + i + "]", codes).ifPresent(goals::add);
    }
    return goals;
  }

  private Optional<GoalDefinition> goal(
      PlanDefinitionGoalComponent goal, String path, Set<String> codes) {
    int before = faults.count();
    ProgrammePart part = ProgrammePart.of(goal, path, faults);
    part.only(EXTENSIONS);
    Optional<ProgrammePart> codeAt = part.needed("goal-code");
    Optional<String> code = codeAt.flatMap(ProgrammePart::code);
    if (code.isPresent() && !codes.add(code.get())) {
      codeAt
          .get()
          .fault(Problem.Kind.BUSINESS_RULE, "the goal '" + code.get() + "' is given twice");
    }
    if (!goal.getDescription().hasText()) {
      faults.add(Problem.Kind.MISSING, "the goal has no text", path + ".description.text");
    }
    Optional<GoalDefinition.Kind> kind =
        part.needed("goal-measured-in").flatMap(ProgrammeGoals::kind);
    Optional<ProgrammePart> betterAt = part.needed("better");
    Optional<Direction> better = betterAt.flatMap(ProgrammeVariations::direction);
    Optional<ProgrammePart> itemAt = part.one("target-item");
    Optional<String> targetItem = itemAt.flatMap(ProgrammePart::code);
    Optional<ProgrammePart> modelAt = part.one("target-model");
    Optional<String> model = modelAt.flatMap(ProgrammeGoals::model);
    List<ProgrammePart> tasksAt = part.all("functional-target");
    List<GoalDefinition.Task> tasks = tasks(tasksAt, betterAt.flatMap(ProgrammePart::code));
    if (goal.getTarget().size() != 1) {
      faults.add(Problem.Kind.BUSINESS_RULE, "a goal has exactly one target", path + ".target");
      return Optional.empty();
    }
    PlanDefinitionGoalTargetComponent target = goal.getTargetFirstRep();
    String targetPath = path + ".target[0]";
    Optional<String> measure = measure(target, targetPath);
    Optional<Value> detail = detail(target, targetPath);
    boolean personal = itemAt.isPresent() || modelAt.isPresent() || !tasksAt.isEmpty();
    if (detail.isPresent() == personal && faults.count() == before) {
      faults.add(
          Problem.Kind.BUSINESS_RULE,
          "a goal has either a value to reach or what says where it is found",
          targetPath + ".detail");
    }
    if (measure.isPresent() && kind.isPresent()) {
      if (kind.get() == GoalDefinition.Kind.SETTING) {
        modelAt.ifPresent(ProgrammeGoals::ofTheBodyOnly);
        tasksAt.forEach(ProgrammeGoals::ofTheBodyOnly);
        ofSetting(measure.get(), detail, better, betterAt, targetPath);
      } else {
        ofBody(measure.get(), detail, itemAt, targetItem, targetPath);
        found(measure.get(), modelAt, tasksAt, tasks);
      }
    }
    if (faults.count() > before) {
      return Optional.empty();
    }
    return Optional.of(
        new GoalDefinition(
            code.orElseThrow(),
            goal.getDescription().getText(),
            measure.orElseThrow(),
            kind.orElseThrow(),
            detail,
            targetItem,
            model,
            tasks,
            better.orElseThrow()));
  }

  private static void ofTheBodyOnly(ProgrammePart part) {
    part.fault(Problem.Kind.BUSINESS_RULE, "only a goal of the body has a value that is found");
  }

  private static Optional<String> model(ProgrammePart part) {
    Optional<String> code = part.code();
    if (code.isPresent() && !ContactAngle.MODEL.equals(code.get())) {
      part.fault(
          Problem.Kind.UNKNOWN_REFERENCE,
          "there is no model '" + code.get() + "', only " + ContactAngle.MODEL);
      return Optional.empty();
    }
    return code;
  }

  /** Everyday tasks, each harder than the one before. */
  private static List<GoalDefinition.Task> tasks(
      List<ProgrammePart> parts, Optional<String> better) {
    List<GoalDefinition.Task> tasks = new ArrayList<>();
    for (ProgrammePart part : parts) {
      part.only(Set.of("needs", "title"));
      Optional<Amount> needs = part.needed("needs").flatMap(ProgrammePart::amount);
      Optional<String> title = part.needed("title").flatMap(ProgrammePart::text);
      if (needs.isEmpty() || title.isEmpty()) {
        continue;
      }
      if (!tasks.isEmpty()) {
        Amount before = tasks.get(tasks.size() - 1).needs();
        boolean sameUnit = before.unit() == needs.get().unit();
        boolean harder =
            sameUnit
                && ("decrease".equals(better.orElse(""))
                    ? needs.get().isBelow(before)
                    : needs.get().isAbove(before));
        if (!harder) {
          part.fault(Problem.Kind.BUSINESS_RULE, "a task must ask more than the one before");
          continue;
        }
      }
      tasks.add(new GoalDefinition.Task(needs.get(), title.get()));
    }
    return tasks;
  }

  /** What a target is found from is in the unit of the measure. */
  private static void found(
      String measure,
      Optional<ProgrammePart> modelAt,
      List<ProgrammePart> tasksAt,
      List<GoalDefinition.Task> tasks) {
    Optional<Unit> unit = ProgrammeItems.unit(measure);
    if (unit.isEmpty()) {
      return;
    }
    modelAt.ifPresent(part -> part.isOf(unit.get(), Amount.zero(Unit.DEGREE)));
    if (tasks.size() == tasksAt.size()) {
      for (int i = 0; i < tasks.size(); i++) {
        tasksAt.get(i).isOf(unit.get(), tasks.get(i).needs());
      }
    }
  }

  private static Optional<GoalDefinition.Kind> kind(ProgrammePart part) {
    Optional<String> code = part.code();
    if (code.isPresent() && !Set.of("body", "setting").contains(code.get())) {
      part.fault(Problem.Kind.MALFORMED, "wanted body or setting, was '" + code.get() + "'");
      return Optional.empty();
    }
    return code.map(
        named -> "body".equals(named) ? GoalDefinition.Kind.BODY : GoalDefinition.Kind.SETTING);
  }

  private Optional<String> measure(PlanDefinitionGoalTargetComponent target, String path) {
    Optional<String> measure = code(target.getMeasure());
    if (measure.isEmpty()) {
      faults.add(Problem.Kind.MISSING, "the target has no coded measure", path + ".measure");
    }
    return measure;
  }

  private Optional<Value> detail(PlanDefinitionGoalTargetComponent target, String path) {
    if (!target.hasDetail()) {
      return Optional.empty();
    }
    ProgrammePart part = ProgrammePart.of(target, path + ".detail", faults);
    if (target.getDetail() instanceof Quantity quantity) {
      return part.amount(quantity).map(Value.class::cast);
    }
    Optional<Value> grade =
        target.getDetail() instanceof CodeableConcept concept
            ? code(concept).map(Grade::new)
            : Optional.empty();
    if (grade.isEmpty()) {
      part.fault(Problem.Kind.UNSUPPORTED, "wanted a quantity or a coded grade");
    }
    return grade;
  }

  private static Optional<String> code(CodeableConcept concept) {
    return concept.getCoding().stream().filter(Coding::hasCode).map(Coding::getCode).findFirst();
  }

  /** A goal of a setting is a value that the variable can have, on its harder side. */
  private void ofSetting(
      String measure,
      Optional<Value> detail,
      Optional<Direction> better,
      Optional<ProgrammePart> betterAt,
      String path) {
    List<ProgressionVariable> variables = stages.variables(measure);
    if (variables.isEmpty()) {
      if (stages.complete()) {
        faults.add(
            Problem.Kind.UNKNOWN_REFERENCE,
            "no variation has the variable '" + measure + "'",
            path + ".measure");
      }
      return;
    }
    if (detail.isPresent()
        && variables.stream().noneMatch(variable -> variable.accepts(detail.get()))) {
      Problem.Kind kind =
          detail.get() instanceof Amount ? Problem.Kind.WRONG_UNIT : Problem.Kind.UNKNOWN_REFERENCE;
      faults.add(kind, "'" + measure + "' cannot be set to " + detail.get(), path + ".detail");
    }
    if (better.isPresent()
        && variables.stream().noneMatch(variable -> variable.harder() == better.get())) {
      betterAt
          .orElseThrow()
          .fault(Problem.Kind.BUSINESS_RULE, "'" + measure + "' gets harder the other way");
    }
  }

  /** A goal of the body is an amount in the unit of its measure. */
  private void ofBody(
      String measure,
      Optional<Value> detail,
      Optional<ProgrammePart> itemAt,
      Optional<String> item,
      String path) {
    Optional<Unit> unit = ProgrammeItems.unit(measure);
    if (detail.isPresent() && !(detail.get() instanceof Amount)) {
      faults.add(Problem.Kind.UNSUPPORTED, "a measure of the body is a quantity", path + ".detail");
    }
    if (unit.isPresent() && detail.isPresent() && detail.get() instanceof Amount amount) {
      new ProgrammePart(List.of(), null, false, path + ".detail", faults).isOf(unit.get(), amount);
    }
    Optional<Unit> ofItem = item.flatMap(ProgrammeItems::unit);
    if (unit.isPresent() && ofItem.isPresent()) {
      itemAt.orElseThrow().isOf(unit.get(), Amount.zero(ofItem.get()));
    }
  }
}
