package org.tidemark.fhir;

import java.math.BigDecimal;
import java.util.ArrayList;
import java.util.HashSet;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import java.util.function.Function;
import java.util.stream.Collectors;
import org.hl7.fhir.r4.model.ActivityDefinition;
import org.hl7.fhir.r4.model.Coding;
import org.hl7.fhir.r4.model.Enumerations.PublicationStatus;
import org.hl7.fhir.r4.model.PlanDefinition;
import org.tidemark.programme.Condition;
import org.tidemark.programme.GoalDefinition;
import org.tidemark.programme.Placement;
import org.tidemark.programme.PlateauOption;
import org.tidemark.programme.Programme;
import org.tidemark.programme.ProgrammeId;
import org.tidemark.programme.Side;
import org.tidemark.programme.Stage;
import org.tidemark.programme.Variation;

/**
 * Reads a programme from its definition. A definition that cannot be followed exactly is refused
 * whole, with every fault named by the FHIRPath of its element.
 */
public final class ProgrammeReader {
  private static final Set<String> EXTENSIONS =
      Set.of(
          "body-region",
          "needed-item",
          "placement",
          "plateau-option",
          "maintenance-frequency",
          "demand-cap",
          "least-adherence",
          "reads");
  private static final int MOST_TIMES_PER_WEEK = 21;

  private final PlanDefinition plan;
  private final ProgrammeFaults faults;
  private final ProgrammePart root;

  private ProgrammeReader(PlanDefinition plan, ProgrammeFaults faults) {
    this.plan = plan;
    this.faults = faults;
    this.root = ProgrammePart.of(plan, faults);
  }

  /**
   * Reads a programme.
   *
   * @param plan its definition
   * @param byCanonical finds the definition of a variation by its address and version, {@code
   *     url|version}
   * @throws Problem when the definition or one it refers to is at fault; its parts are all the
   *     faults. A fault in a variation names the element of the plan that refers to it first, then
   *     its own
   */
  public static Programme read(
      PlanDefinition plan, Function<String, Optional<ActivityDefinition>> byCanonical) {
    ProgrammeFaults faults = new ProgrammeFaults();
    return new ProgrammeReader(plan, faults).programme(byCanonical);
  }

  /**
   * Reads one variation.
   *
   * @throws Problem when the definition is at fault; its parts are all the faults
   */
  public static Variation variation(ActivityDefinition definition) {
    ProgrammeFaults faults = new ProgrammeFaults();
    Optional<Variation> variation = ProgrammeVariations.read(definition, faults);
    faults.throwIfAny();
    return variation.orElseThrow();
  }

  /**
   * The open codes that a programme takes for its own items, in order.
   *
   * @throws Problem when one of them is at fault
   */
  public static List<Reading> readings(PlanDefinition plan) {
    ProgrammeFaults faults = new ProgrammeFaults();
    List<Reading> readings = new ProgrammeReader(plan, faults).readings();
    faults.throwIfAny();
    return readings;
  }

  private Programme programme(Function<String, Optional<ActivityDefinition>> byCanonical) {
    header();
    root.only(EXTENSIONS);
    ProgrammeStages reader = new ProgrammeStages(plan, byCanonical, faults);
    List<Stage> stages = reader.read();
    Set<String> regions = bodyRegions();
    List<List<String>> needs = needs();
    List<Placement> placements = placements(reader.conditions());
    List<GoalDefinition> goals = new ProgrammeGoals(plan, reader, faults).read();
    List<PlateauOption> options = plateauOptions(reader);
    Optional<Integer> maintenance =
        root.needed("maintenance-frequency").flatMap(ProgrammeReader::timesPerWeek);
    Optional<BigDecimal> cap = root.one("demand-cap").flatMap(ProgrammeVariations::cap);
    Optional<BigDecimal> adherence = root.one("least-adherence").flatMap(ProgrammeReader::share);
    readings();
    faults.throwIfAny();
    return new Programme(
        new ProgrammeId(plan.getUrl(), plan.getVersion()),
        plan.getTitle(),
        regions,
        needs,
        placements,
        stages,
        goals,
        options,
        maintenance.orElseThrow(),
        cap.orElse(Programme.USUAL_DEMAND_CAP),
        adherence.orElse(Programme.USUAL_ADHERENCE));
  }

  private void header() {
    Map<String, Boolean> present = new LinkedHashMap<>();
    present.put("url", plan.hasUrl());
    present.put("version", plan.hasVersion());
    present.put("title", plan.hasTitle());
    present.forEach(
        (element, there) -> {
          if (!there) {
            faults.add(
                Problem.Kind.MISSING, "'" + element + "' is missing", "PlanDefinition." + element);
          }
        });
    if (plan.getStatus() != PublicationStatus.ACTIVE) {
      faults.add(
          Problem.Kind.BUSINESS_RULE,
          "only an active definition can be used",
          "PlanDefinition.status");
    }
  }

  private Set<String> bodyRegions() {
    return root.all("body-region").stream()
        .flatMap(part -> part.coding().stream())
        .map(Coding::getCode)
        .collect(Collectors.toSet());
  }

  private List<List<String>> needs() {
    List<List<String>> needs = new ArrayList<>();
    for (ProgrammePart part : root.all("needed-item")) {
      part.only(Set.of("item"));
      if (part.all("item").isEmpty()) {
        part.fault(Problem.Kind.MISSING, "'item' is missing");
      }
      needs.add(part.all("item").stream().flatMap(item -> item.code().stream()).toList());
    }
    return needs;
  }

  private List<Placement> placements(ProgrammeConditions conditions) {
    Set<String> stages = stageCodes();
    List<Placement> placements = new ArrayList<>();
    for (ProgrammePart part : root.all("placement")) {
      part.only(Set.of("stage", "condition"));
      Optional<ProgrammePart> stageAt = part.one("stage");
      Optional<String> stage = stageAt.flatMap(ProgrammePart::code);
      if (stage.isPresent() && !stages.contains(stage.get())) {
        stageAt
            .get()
            .fault(
                Problem.Kind.UNKNOWN_REFERENCE, "the programme has no stage '" + stage.get() + "'");
      }
      List<Condition> read = conditions.read(part);
      placements.add(new Placement(stage, read));
    }
    if (placements.isEmpty()) {
      root.fault(Problem.Kind.MISSING, "'placement' is missing");
    }
    return placements;
  }

  private Set<String> stageCodes() {
    return plan.getAction().stream()
        .flatMap(action -> action.getExtensionsByUrl(Codes.structure("stage")).stream())
        .filter(extension -> extension.hasValue() && extension.getValue().isPrimitive())
        .map(extension -> extension.getValue().primitiveValue())
        .collect(Collectors.toSet());
  }

  private List<PlateauOption> plateauOptions(ProgrammeStages stages) {
    List<PlateauOption> options = new ArrayList<>();
    Set<String> codes = new HashSet<>();
    Set<String> variations =
        stages.known().stream().map(Variation::code).collect(Collectors.toSet());
    for (ProgrammePart part : root.all("plateau-option")) {
      part.only(Set.of("code", "title", "variation", "variable"));
      Optional<String> code = part.needed("code").flatMap(ProgrammePart::code);
      Optional<String> title = part.needed("title").flatMap(ProgrammePart::text);
      Optional<ProgrammePart> variationAt = part.one("variation");
      Optional<String> variation = variationAt.flatMap(ProgrammePart::code);
      if (code.isPresent() && !codes.add(code.get())) {
        part.fault(Problem.Kind.BUSINESS_RULE, "the option '" + code.get() + "' is given twice");
      }
      if (variation.isPresent() && stages.complete() && !variations.contains(variation.get())) {
        variationAt
            .get()
            .fault(
                Problem.Kind.UNKNOWN_REFERENCE,
                "the programme has no variation '" + variation.get() + "'");
      }
      if (code.isPresent() && title.isPresent()) {
        options.add(
            new PlateauOption(
                code.get(),
                title.get(),
                variation.orElse(""),
                variable(part, variation, stages).orElse("")));
      }
    }
    return options;
  }

  /** The variable that an option makes harder; its variation has it. */
  private static Optional<String> variable(
      ProgrammePart option, Optional<String> variation, ProgrammeStages stages) {
    Optional<ProgrammePart> at = option.one("variable");
    Optional<String> variable = at.flatMap(ProgrammePart::code);
    if (at.isPresent() && variation.isEmpty()) {
      at.get().fault(Problem.Kind.BUSINESS_RULE, "a variable needs its variation");
    }
    boolean unknown =
        stages.known().stream()
            .filter(other -> variation.equals(Optional.of(other.code())))
            .anyMatch(other -> variable.isPresent() && other.variable(variable.get()).isEmpty());
    if (unknown) {
      at.get()
          .fault(
              Problem.Kind.UNKNOWN_REFERENCE,
              "the option's variation has no variable '" + variable.get() + "'");
    }
    return variable;
  }

  private static Optional<BigDecimal> share(ProgrammePart part) {
    Optional<BigDecimal> share = part.decimal();
    if (share.isPresent()
        && (share.get().signum() <= 0 || share.get().compareTo(BigDecimal.ONE) > 0)) {
      part.fault(
          Problem.Kind.OUT_OF_RANGE,
          "must be above 0 and at most 1, was " + share.get().toPlainString());
      return Optional.empty();
    }
    return share;
  }

  private static Optional<Integer> timesPerWeek(ProgrammePart part) {
    Optional<Integer> times = part.whole(1);
    if (times.isPresent() && times.get() > MOST_TIMES_PER_WEEK) {
      part.fault(Problem.Kind.OUT_OF_RANGE, "must be 1 to 21 times a week, was " + times.get());
    }
    return times;
  }

  private List<Reading> readings() {
    List<Reading> readings = new ArrayList<>();
    for (ProgrammePart part : root.all("reads")) {
      part.only(Set.of("item", "coding", "side"));
      Optional<String> item = part.needed("item").flatMap(ProgrammePart::code);
      Optional<Coding> coding = part.needed("coding").flatMap(ProgrammePart::coding);
      Optional<Side> side = part.one("side").flatMap(ProgrammeReader::side);
      if (item.isPresent() && coding.isPresent()) {
        readings.add(
            new Reading(item.get(), coding.get().getSystem(), coding.get().getCode(), side));
      }
    }
    return readings;
  }

  private static Optional<Side> side(ProgrammePart part) {
    Optional<String> code = part.code();
    if (code.isPresent() && !Set.of("left", "right").contains(code.get())) {
      part.fault(Problem.Kind.MALFORMED, "wanted left or right, was '" + code.get() + "'");
      return Optional.empty();
    }
    return code.map(named -> "left".equals(named) ? Side.LEFT : Side.RIGHT);
  }
}
