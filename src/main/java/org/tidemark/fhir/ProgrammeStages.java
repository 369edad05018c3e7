package org.tidemark.fhir;

import java.math.BigDecimal;
import java.util.ArrayList;
import java.util.HashMap;
import java.util.HashSet;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import java.util.function.Function;
import org.hl7.fhir.r4.model.ActivityDefinition;
import org.hl7.fhir.r4.model.CanonicalType;
import org.hl7.fhir.r4.model.PlanDefinition;
import org.hl7.fhir.r4.model.PlanDefinition.PlanDefinitionActionComponent;
import org.tidemark.programme.Condition;
import org.tidemark.programme.Exercise;
import org.tidemark.programme.ProgressionVariable;
import org.tidemark.programme.Source;
import org.tidemark.programme.Stage;
import org.tidemark.programme.StartRule;
import org.tidemark.programme.Variation;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Unit;

/** Reads the stages of a programme, and the variations that their exercises name. */
final class ProgrammeStages {
  private static final Set<String> STAGE = Set.of("stage", "tolerated-rate", "condition");
  private static final Set<String> EXERCISE =
      Set.of("role", "condition", "start", "start-dose", "progresses");
  private static final Set<String> RULES =
      Set.of("at", "covering", "not-above", "least-above-zero", "kept");
  private static final Map<String, Exercise.Role> ROLES =
      Map.of(
          "lead", Exercise.Role.LEAD,
          "companion", Exercise.Role.COMPANION,
          "accessory", Exercise.Role.ACCESSORY);

  private final PlanDefinition plan;
  private final ProgrammeFaults faults;
  private final Map<String, Optional<Variation>> variations = new LinkedHashMap<>();
  private final ProgrammeConditions conditions;

  ProgrammeStages(
      PlanDefinition plan,
      Function<String, Optional<ActivityDefinition>> byCanonical,
      ProgrammeFaults faults) {
    this.plan = plan;
    this.faults = faults;
    forEachExercise((action, path) -> fetch(address(action), path, byCanonical));
    refuseSharedCodes();
    this.conditions = new ProgrammeConditions(this::source, complete());
  }

  private interface ExerciseVisit {
    void visit(PlanDefinitionActionComponent action, String path);
  }

  private void forEachExercise(ExerciseVisit visit) {
    for (int i = 0; i < plan.getAction().size(); i++) {
      List<PlanDefinitionActionComponent> exercises = plan.getAction().get(i).getAction();
      for (int j = 0; j < exercises.size(); j++) {
        visit.visit(exercises.get(j), "PlanDefinition.action[" + i + "].action[" + j + "]");
      }
    }
  }

  /** The address and version of the definition that an exercise names; empty when it names none. */
  private static String address(PlanDefinitionActionComponent exercise) {
    return exercise.getDefinition() instanceof CanonicalType canonical && canonical.hasValue()
        ? canonical.getValue()
        : "";
  }

  private void fetch(
      String address, String path, Function<String, Optional<ActivityDefinition>> byCanonical) {
    String element = path + ".definitionCanonical";
    if (address.isEmpty()) {
      faults.add(Problem.Kind.MISSING, "the exercise names no definition", element);
      return;
    }
    if (!address.contains("|")) {
      faults.add(
          Problem.Kind.MISSING,
          "the definition is named without its version, url|version",
          element);
      variations.put(address, Optional.empty());
      return;
    }
    if (variations.containsKey(address)) {
      return;
    }
    Optional<ActivityDefinition> definition = byCanonical.apply(address);
    if (definition.isEmpty()) {
      faults.add(
          Problem.Kind.UNKNOWN_REFERENCE, "no definition '" + address + "' is known", element);
    }
    variations.put(
        address,
        definition.flatMap(
            known -> ProgrammeVariations.read(known, faults.through(element, address))));
  }

  private void refuseSharedCodes() {
    Map<String, String> addressOf = new HashMap<>();
    forEachExercise(
        (action, path) -> {
          String address = address(action);
          variation(address)
              .map(variation -> addressOf.putIfAbsent(variation.code(), address))
              .filter(first -> !first.equals(address))
              .ifPresent(
                  first ->
                      faults.add(
                          Problem.Kind.BUSINESS_RULE,
                          "'" + address + "' has the same variation code as '" + first + "'",
                          path + ".definitionCanonical"));
        });
  }

  private Optional<Variation> variation(String address) {
    return variations.getOrDefault(address, Optional.empty());
  }

  /** Whether every variation could be read, so that a name that is not found does not exist. */
  boolean complete() {
    return variations.values().stream().allMatch(Optional::isPresent);
  }

  /** Every variation that could be read, in the order of first use. */
  List<Variation> known() {
    return variations.values().stream().flatMap(Optional::stream).toList();
  }

  /** The variables of this code, each as one variation has it. */
  List<ProgressionVariable> variables(String code) {
    return known().stream().flatMap(variation -> variation.variable(code).stream()).toList();
  }

  ProgrammeConditions conditions() {
    return conditions;
  }

  private Optional<Source> source(String variable) {
    return variables(variable).stream().map(ProgressionVariable::source).findFirst();
  }

  /** The stages in order of progress. */
  List<Stage> read() {
    if (!plan.hasAction()) {
      faults.add(Problem.Kind.MISSING, "a programme needs a stage", "PlanDefinition.action");
    }
    List<Stage> stages = new ArrayList<>();
    Set<String> codes = new HashSet<>();
    for (int i = 0; i < plan.getAction().size(); i++) {
      String path = "PlanDefinition.action[" + i + "]";
      stage(plan.getAction().get(i), path, codes).ifPresent(stages::add);
    }
    return stages;
  }

  private Optional<Stage> stage(
      PlanDefinitionActionComponent action, String path, Set<String> codes) {
    int before = faults.count();
    ProgrammePart part = ProgrammePart.of(action, path, faults);
    part.only(STAGE);
    Optional<ProgrammePart> codeAt = part.needed("stage");
    Optional<String> code = codeAt.flatMap(ProgrammePart::code);
    if (code.isPresent() && !codes.add(code.get())) {
      codeAt
          .get()
          .fault(Problem.Kind.BUSINESS_RULE, "the stage '" + code.get() + "' is given twice");
    }
    if (!action.hasTitle()) {
      faults.add(Problem.Kind.MISSING, "the stage has no title", path + ".title");
    }
    Optional<BigDecimal> rate = part.needed("tolerated-rate").flatMap(ProgrammeStages::share);
    List<Condition> requires = conditions.read(part);
    List<Exercise> exercises = exercises(action, path);
    if (faults.count() > before || !complete()) {
      return Optional.empty();
    }
    return Optional.of(
        new Stage(code.orElseThrow(), action.getTitle(), rate.orElseThrow(), requires, exercises));
  }

  private static Optional<BigDecimal> share(ProgrammePart part) {
    Optional<BigDecimal> share = part.decimal();
    if (share.isPresent()
        && (share.get().signum() <= 0 || share.get().compareTo(BigDecimal.ONE) >= 0)) {
      part.fault(
          Problem.Kind.OUT_OF_RANGE, "must lie between 0 and 1, both excluded, was " + share.get());
      return Optional.empty();
    }
    return share;
  }

  private List<Exercise> exercises(PlanDefinitionActionComponent stage, String path) {
    List<Exercise> exercises = new ArrayList<>();
    Set<String> used = new HashSet<>();
    boolean led = false;
    for (int j = 0; j < stage.getAction().size(); j++) {
      PlanDefinitionActionComponent action = stage.getAction().get(j);
      ProgrammePart part = ProgrammePart.of(action, path + ".action[" + j + "]", faults);
      Optional<Exercise.Role> role = part.needed("role").flatMap(ProgrammeStages::role);
      led |= role.isEmpty() || role.get() == Exercise.Role.LEAD;
      String address = address(action);
      if (!address.isEmpty() && !used.add(address)) {
        part.fault(Problem.Kind.BUSINESS_RULE, "the stage has two exercises of '" + address + "'");
      }
      exercise(part, role, variation(address)).ifPresent(exercises::add);
    }
    if (!led) {
      faults.add(Problem.Kind.MISSING, "the stage has no lead exercise", path + ".action");
    }
    return exercises;
  }

  private static Optional<Exercise.Role> role(ProgrammePart part) {
    Optional<String> code = part.code();
    if (code.isPresent() && !ROLES.containsKey(code.get())) {
      part.fault(
          Problem.Kind.MALFORMED, "wanted lead, companion or accessory, was '" + code.get() + "'");
    }
    return code.map(ROLES::get);
  }

  private Optional<Exercise> exercise(
      ProgrammePart part, Optional<Exercise.Role> role, Optional<Variation> variation) {
    part.only(EXERCISE);
    List<Condition> requires = conditions.read(part);
    Optional<ProgrammePart> doseAt = part.one("start-dose");
    int startDose = doseAt.flatMap(at -> at.whole(0)).orElse(0);
    if (variation.isPresent() && startDose >= variation.get().ladder().steps().size()) {
      doseAt
          .orElseThrow()
          .fault(Problem.Kind.OUT_OF_RANGE, "the variation has no dose of index " + startDose);
    }
    Map<String, StartRule> start = new HashMap<>();
    for (ProgrammePart at : part.all("start")) {
      start(at, variation, start);
    }
    List<String> progresses = new ArrayList<>();
    for (ProgrammePart at : part.all("progresses")) {
      Optional<String> code = at.code();
      code.filter(named -> variable(named, variation, at).isPresent()).ifPresent(progresses::add);
      if (progresses.stream().distinct().count() < progresses.size()) {
        at.fault(Problem.Kind.BUSINESS_RULE, "'" + code.get() + "' is given twice");
        progresses.remove(progresses.size() - 1);
      }
    }
    if (role.isEmpty() || variation.isEmpty()) {
      return Optional.empty();
    }
    return Optional.of(
        new Exercise(variation.get(), role.get(), requires, start, startDose, progresses));
  }

  private static Optional<ProgressionVariable> variable(
      String code, Optional<Variation> variation, ProgrammePart at) {
    Optional<ProgressionVariable> variable = variation.flatMap(known -> known.variable(code));
    if (variation.isPresent() && variable.isEmpty()) {
      at.fault(
          Problem.Kind.UNKNOWN_REFERENCE,
          "'" + variation.get().code() + "' has no variable '" + code + "'");
    }
    return variable;
  }

  private static void start(
      ProgrammePart part, Optional<Variation> variation, Map<String, StartRule> start) {
    part.only(Set.of("variable", "at", "covering", "not-above", "least-above-zero", "kept"));
    Optional<ProgrammePart> variableAt = part.needed("variable");
    Optional<String> code = variableAt.flatMap(ProgrammePart::code);
    Optional<ProgressionVariable> variable =
        code.flatMap(named -> variable(named, variation, variableAt.get()));
    List<String> rules = RULES.stream().filter(rule -> !part.all(rule).isEmpty()).sorted().toList();
    if (rules.size() != 1) {
      part.fault(Problem.Kind.BUSINESS_RULE, "a start has exactly one rule, found " + rules);
      return;
    }
    Optional<StartRule> rule =
        part.one(rules.get(0)).flatMap(at -> rule(rules.get(0), at, variable));
    if (rule.isPresent() && code.isPresent() && start.put(code.get(), rule.get()) != null) {
      part.fault(Problem.Kind.BUSINESS_RULE, "the start of '" + code.get() + "' is given twice");
    }
  }

  private static Optional<StartRule> rule(
      String kind, ProgrammePart at, Optional<ProgressionVariable> variable) {
    Optional<Unit> unit =
        variable
            .map(ProgressionVariable::source)
            .filter(s -> !(s instanceof Source.Grades))
            .map(ProgrammeSources::unit);
    boolean ofGrades = variable.isPresent() && unit.isEmpty();
    if (ofGrades && !Set.of("at", "kept").contains(kind)) {
      at.fault(Problem.Kind.BUSINESS_RULE, "'" + kind + "' needs a variable of amounts");
      return Optional.empty();
    }
    return switch (kind) {
      case "at" -> fixed(at, variable);
      case "covering" -> covering(at, unit);
      case "not-above" ->
          (unit.isPresent() ? at.amount(unit.get()) : at.amount())
              .map(StartRule.GreatestNotAbove::new);
      case "least-above-zero" -> isTrue(at).map(yes -> new StartRule.LeastAboveZero());
      default -> isTrue(at).map(yes -> new StartRule.Kept());
    };
  }

  private static Optional<StartRule> fixed(
      ProgrammePart at, Optional<ProgressionVariable> variable) {
    return at.setting()
        .filter(
            value -> {
              boolean accepted = variable.map(known -> known.accepts(value)).orElse(true);
              if (!accepted) {
                Problem.Kind kind =
                    value instanceof Amount
                        ? Problem.Kind.WRONG_UNIT
                        : Problem.Kind.UNKNOWN_REFERENCE;
                at.fault(kind, "'" + variable.get().code() + "' cannot be set to " + value);
              }
              return accepted;
            })
        .map(StartRule.At::new);
  }

  private static Optional<StartRule> covering(ProgrammePart at, Optional<Unit> unit) {
    Optional<String> item = at.code();
    Optional<Unit> ofItem = item.flatMap(ProgrammeItems::unit);
    if (unit.isPresent() && ofItem.isPresent() && !at.isOf(unit.get(), Amount.zero(ofItem.get()))) {
      return Optional.empty();
    }
    return item.map(StartRule.LeastCovering::new);
  }

  private static Optional<Boolean> isTrue(ProgrammePart at) {
    Optional<Boolean> flag = at.flag();
    if (flag.isPresent() && !flag.get()) {
      at.fault(Problem.Kind.UNSUPPORTED, "this can only be true");
    }
    return flag.filter(Boolean::booleanValue);
  }
}
