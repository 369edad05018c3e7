package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;
import static org.tidemark.fhir.ProgrammeSpoilt.SQUAT;
import static org.tidemark.fhir.ProgrammeSpoilt.SQUAT_AT;
import static org.tidemark.fhir.ProgrammeSpoilt.at;
import static org.tidemark.fhir.ProgrammeSpoilt.fault;
import static org.tidemark.fhir.ProgrammeSpoilt.quantity;

import java.util.ArrayList;
import java.util.List;
import java.util.Optional;
import java.util.TreeMap;
import java.util.function.Consumer;
import java.util.stream.Stream;
import org.hl7.fhir.r4.model.ActivityDefinition;
import org.hl7.fhir.r4.model.BooleanType;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.CodeableConcept;
import org.hl7.fhir.r4.model.DecimalType;
import org.hl7.fhir.r4.model.Enumerations.PublicationStatus;
import org.hl7.fhir.r4.model.Extension;
import org.hl7.fhir.r4.model.PlanDefinition;
import org.hl7.fhir.r4.model.PositiveIntType;
import org.hl7.fhir.r4.model.Quantity;
import org.hl7.fhir.r4.model.StringType;
import org.hl7.fhir.r4.model.UnsignedIntType;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.Arguments;
import org.junit.jupiter.params.provider.MethodSource;

/**
 * A definition with one fault is refused, and the fault is named by its element; several faults are
 * all named.
 */
class ProgrammeFaultsTest {

  static Stream<Arguments> header() {
    return Stream.of(
        fault("no url", d -> d.plan().setUrl(null), "MISSING PlanDefinition.url"),
        fault("no version", d -> d.plan().setVersion(null), "MISSING PlanDefinition.version"),
        fault("no title", d -> d.plan().setTitle(null), "MISSING PlanDefinition.title"),
        fault(
            "draft",
            d -> d.plan().setStatus(PublicationStatus.DRAFT),
            "BUSINESS_RULE PlanDefinition.status"),
        fault(
            "unknown extension",
            d -> d.plan().addExtension(Codes.structure("placment"), new CodeType("unloaded")),
            "UNKNOWN_ELEMENT PlanDefinition.extension[24]"),
        fault(
            "region without system",
            d -> at(d.plan().getExtension(), 0).setValue(new CodeType("72696002")),
            "MALFORMED PlanDefinition.extension[0]"),
        fault(
            "needed item without item",
            d -> at(d.plan().getExtension(), 4).getExtension().clear(),
            "MISSING PlanDefinition.extension[4]"),
        fault(
            "placement in a stage that does not exist",
            d -> at(d.plan().getExtension(), 8, 0).setValue(new CodeType("warm-up")),
            "UNKNOWN_REFERENCE PlanDefinition.extension[8].extension[0]"),
        fault(
            "beyond the reach of a variable that does not exist",
            d -> at(d.plan().getExtension(), 8, 1, 1).setValue(new CodeType("pillow")),
            "UNKNOWN_REFERENCE PlanDefinition.extension[8].extension[1].extension[1]"),
        fault(
            "beyond the reach of grades",
            d -> at(d.plan().getExtension(), 8, 1, 1).setValue(new CodeType("hand-assist")),
            "BUSINESS_RULE PlanDefinition.extension[8].extension[1].extension[1]"),
        fault(
            "not owned",
            d -> at(d.plan().getExtension(), 8, 2, 1).setValue(new BooleanType(false)),
            "UNSUPPORTED PlanDefinition.extension[8].extension[2].extension[1]"),
        fault(
            "flexion in kilograms",
            d -> at(d.plan().getExtension(), 9, 1, 1).setValue(quantity(90, "kg")),
            "WRONG_UNIT PlanDefinition.extension[9].extension[1].extension[1]"),
        fault(
            "unknown unit",
            d -> at(d.plan().getExtension(), 9, 1, 1).setValue(quantity(90, "°")),
            "WRONG_UNIT PlanDefinition.extension[9].extension[1].extension[1]"),
        fault(
            "limit without a value",
            d -> at(d.plan().getExtension(), 9, 1, 1).setValue(new Quantity()),
            "MISSING PlanDefinition.extension[9].extension[1].extension[1]"),
        fault(
            "no placement",
            d -> d.plan().getExtension().removeIf(e -> e.getUrl().endsWith("/placement")),
            "MISSING PlanDefinition"),
        fault(
            "option for a variation that does not exist",
            d -> at(d.plan().getExtension(), 16, 2).setValue(new CodeType("leg-press")),
            "UNKNOWN_REFERENCE PlanDefinition.extension[16].extension[2]"),
        fault(
            "option given twice",
            d -> at(d.plan().getExtension(), 17, 0).setValue(new CodeType("slant-board")),
            "BUSINESS_RULE PlanDefinition.extension[17]"),
        fault(
            "maintenance 22 times a week",
            d -> at(d.plan().getExtension(), 19).setValue(new PositiveIntType(22)),
            "OUT_OF_RANGE PlanDefinition.extension[19]"),
        fault(
            "variable that the option's variation lacks",
            d -> at(d.plan().getExtension(), 15, 3).setValue(new CodeType("board-angle")),
            "UNKNOWN_REFERENCE PlanDefinition.extension[15].extension[3]"),
        fault(
            "variable of an option without a variation",
            d -> at(d.plan().getExtension(), 18).addExtension("variable", new CodeType("gap")),
            "BUSINESS_RULE PlanDefinition.extension[18].extension[2]"),
        fault(
            "variable of an option in words",
            d -> at(d.plan().getExtension(), 15, 3).setValue(new StringType("dumbbell-load")),
            "MALFORMED PlanDefinition.extension[15].extension[3]"),
        fault(
            "two variables of an option",
            d -> at(d.plan().getExtension(), 15).addExtension("variable", new CodeType("x")),
            "BUSINESS_RULE PlanDefinition.extension[15].extension[4]"),
        fault(
            "cap on demand of 1",
            d -> at(d.plan().getExtension(), 20).setValue(new DecimalType("1.0")),
            "OUT_OF_RANGE PlanDefinition.extension[20]"),
        fault(
            "cap on demand below 1",
            d -> at(d.plan().getExtension(), 20).setValue(new DecimalType("0.9")),
            "OUT_OF_RANGE PlanDefinition.extension[20]"),
        fault(
            "cap on demand in words",
            d -> at(d.plan().getExtension(), 20).setValue(new StringType("1.1")),
            "MALFORMED PlanDefinition.extension[20]"),
        fault(
            "two caps on demand",
            d -> d.plan().addExtension(Codes.structure("demand-cap"), new DecimalType("1.2")),
            "BUSINESS_RULE PlanDefinition.extension[24]"),
        fault(
            "nothing asked of adherence",
            d -> at(d.plan().getExtension(), 21).setValue(new DecimalType("0")),
            "OUT_OF_RANGE PlanDefinition.extension[21]"),
        fault(
            "more than everything asked of adherence",
            d -> at(d.plan().getExtension(), 21).setValue(new DecimalType("1.01")),
            "OUT_OF_RANGE PlanDefinition.extension[21]"),
        fault("no maintenance", d -> d.plan().getExtension().remove(19), "MISSING PlanDefinition"),
        fault(
            "a third side",
            d -> at(d.plan().getExtension(), 22, 2).setValue(new CodeType("both")),
            "MALFORMED PlanDefinition.extension[22].extension[2]"));
  }

  static Stream<Arguments> goals() {
    return Stream.of(
        fault("no goal", d -> d.plan().getGoal().clear(), "MISSING PlanDefinition.goal"),
        fault(
            "goal given twice",
            d -> at(d.plan().getGoal().get(1).getExtension(), 0).setValue(new CodeType("range")),
            "BUSINESS_RULE PlanDefinition.goal[1].extension[0]"),
        fault(
            "height in kilograms",
            d -> d.plan().getGoal().get(1).getTargetFirstRep().setDetail(quantity(0, "kg")),
            "WRONG_UNIT PlanDefinition.goal[1].target[0].detail"),
        fault(
            "better the easier way",
            d -> at(d.plan().getGoal().get(1).getExtension(), 2).setValue(new CodeType("increase")),
            "BUSINESS_RULE PlanDefinition.goal[1].extension[2]"),
        fault(
            "variable that does not exist",
            d ->
                d.plan()
                    .getGoal()
                    .get(2)
                    .getTargetFirstRep()
                    .setMeasure(Codes.concept("s", "barbell", null)),
            "UNKNOWN_REFERENCE PlanDefinition.goal[2].target[0].measure"),
        fault(
            "nothing to reach",
            d -> d.plan().getGoal().get(2).getTargetFirstRep().setDetail(null),
            "BUSINESS_RULE PlanDefinition.goal[2].target[0].detail"),
        fault(
            "range against a length",
            d -> at(d.plan().getGoal().get(0).getExtension(), 3).setValue(new CodeType("gap")),
            "WRONG_UNIT PlanDefinition.goal[0].extension[3]"),
        fault(
            "unknown model of a target",
            d -> at(goal(d, 0), 4).setValue(new CodeType("tape-measure")),
            "UNKNOWN_REFERENCE PlanDefinition.goal[0].extension[4]"),
        fault(
            "model of a target in words",
            d -> at(goal(d, 0), 4).setValue(new StringType("thigh-calf-contact")),
            "MALFORMED PlanDefinition.goal[0].extension[4]"),
        fault(
            "model of an angle for a length",
            d -> {
              d.plan().getGoal().get(0).getTargetFirstRep().setMeasure(report("gap"));
              goal(d, 0).removeIf(e -> !endsIn(e, "goal-code", "measured-in", "better", "model"));
            },
            "WRONG_UNIT PlanDefinition.goal[0].extension[3]"),
        fault(
            "model of a target for a setting",
            d -> {
              d.plan().getGoal().get(2).getTargetFirstRep().setDetail(null);
              goal(d, 2)
                  .add(
                      new Extension(
                          Codes.structure("target-model"), new CodeType("thigh-calf-contact")));
            },
            "BUSINESS_RULE PlanDefinition.goal[2].extension[3]"),
        fault(
            "model of a target beside a value",
            d -> d.plan().getGoal().get(0).getTargetFirstRep().setDetail(quantity(135, "deg")),
            "BUSINESS_RULE PlanDefinition.goal[0].target[0].detail"),
        fault(
            "task without what it needs",
            d -> at(goal(d, 0), 5).getExtension().remove(0),
            "MISSING PlanDefinition.goal[0].extension[5]"),
        fault(
            "task without a title",
            d -> at(goal(d, 0), 5).getExtension().remove(1),
            "MISSING PlanDefinition.goal[0].extension[5]"),
        fault(
            "task in another unit",
            d -> {
              goal(d, 0).remove(7);
              goal(d, 0).remove(6);
              at(goal(d, 0), 5, 0).setValue(quantity(90, "cm"));
            },
            "WRONG_UNIT PlanDefinition.goal[0].extension[5]"),
        fault(
            "tasks in two units",
            d -> at(goal(d, 0), 6, 0).setValue(quantity(110, "cm")),
            "BUSINESS_RULE PlanDefinition.goal[0].extension[6]"),
        fault(
            "task that asks as much as the one before",
            d -> at(goal(d, 0), 6, 0).setValue(quantity(90, "deg")),
            "BUSINESS_RULE PlanDefinition.goal[0].extension[6]"),
        fault(
            "task that asks less than the one before",
            d -> at(goal(d, 0), 7, 0).setValue(quantity(109, "deg")),
            "BUSINESS_RULE PlanDefinition.goal[0].extension[7]"),
        fault(
            "task with a part that is not known",
            d -> at(goal(d, 0), 5).addExtension("often", new BooleanType(true)),
            "UNKNOWN_ELEMENT PlanDefinition.goal[0].extension[5].extension[2]"),
        fault(
            "task for a setting",
            d -> {
              d.plan().getGoal().get(2).getTargetFirstRep().setDetail(null);
              goal(d, 2).add(at(goal(d, 0), 5).copy());
            },
            "BUSINESS_RULE PlanDefinition.goal[2].extension[3]"),
        fault(
            "two targets",
            d -> d.plan().getGoal().get(0).addTarget(),
            "BUSINESS_RULE PlanDefinition.goal[0].target"));
  }

  private static List<Extension> goal(ProgrammeSpoilt definition, int index) {
    return definition.plan().getGoal().get(index).getExtension();
  }

  private static boolean endsIn(Extension extension, String... ends) {
    return Stream.of(ends).anyMatch(end -> extension.getUrl().endsWith(end));
  }

  private static CodeableConcept report(String item) {
    return Codes.concept(Codes.REPORT_ITEM, item, null);
  }

  static Stream<Arguments> stages() {
    return Stream.of(
        fault(
            "no stage",
            d -> d.plan().getAction().clear(),
            "MISSING PlanDefinition.action",
            "UNKNOWN_REFERENCE PlanDefinition.extension[8].extension[0]",
            "UNKNOWN_REFERENCE PlanDefinition.extension[8].extension[1].extension[1]",
            "UNKNOWN_REFERENCE PlanDefinition.extension[9].extension[0]",
            "UNKNOWN_REFERENCE PlanDefinition.extension[10].extension[0].extension[1]",
            "UNKNOWN_REFERENCE PlanDefinition.extension[12].extension[0]",
            "UNKNOWN_REFERENCE PlanDefinition.extension[13].extension[0]",
            "UNKNOWN_REFERENCE PlanDefinition.extension[14].extension[0]",
            "UNKNOWN_REFERENCE PlanDefinition.goal[1].target[0].measure",
            "UNKNOWN_REFERENCE PlanDefinition.goal[2].target[0].measure",
            "UNKNOWN_REFERENCE PlanDefinition.extension[15].extension[2]",
            "UNKNOWN_REFERENCE PlanDefinition.extension[16].extension[2]",
            "UNKNOWN_REFERENCE PlanDefinition.extension[17].extension[2]"),
        fault(
            "stage given twice",
            d -> at(d.stage(3).getExtension(), 0).setValue(new CodeType("unloaded")),
            "BUSINESS_RULE PlanDefinition.action[3].extension[0]"),
        fault(
            "stage without title",
            d -> d.stage(1).setTitle(null),
            "MISSING PlanDefinition.action[1].title"),
        fault(
            "tolerated rate of 1",
            d -> at(d.stage(1).getExtension(), 1).setValue(new DecimalType("1")),
            "OUT_OF_RANGE PlanDefinition.action[1].extension[1]"),
        fault(
            "tolerated rate of 0",
            d -> at(d.stage(1).getExtension(), 1).setValue(new DecimalType("0")),
            "OUT_OF_RANGE PlanDefinition.action[1].extension[1]"),
        fault(
            "condition with two tests",
            d -> at(d.stage(1).getExtension(), 2).addExtension("owned", new BooleanType(true)),
            "BUSINESS_RULE PlanDefinition.action[1].extension[2]"),
        fault(
            "no lead",
            d -> at(d.exercise(2, 0).getExtension(), 0).setValue(new CodeType("companion")),
            "MISSING PlanDefinition.action[2].action"),
        fault(
            "unknown role",
            d -> at(d.exercise(2, 0).getExtension(), 0).setValue(new CodeType("captain")),
            "MALFORMED PlanDefinition.action[2].action[0].extension[0]"),
        fault(
            "the same exercise twice",
            d -> d.stage(1).addAction(d.exercise(1, 2).copy()),
            "BUSINESS_RULE PlanDefinition.action[1].action[3]"),
        fault(
            "unknown definition",
            d -> d.activities().remove(Codes.BASE + "/ActivityDefinition/slant-board-squat|1.0.0"),
            "UNKNOWN_REFERENCE PlanDefinition.action[3].action[1].definitionCanonical"),
        fault(
            "definition without version",
            d ->
                d.exercise(3, 1)
                    .getDefinitionCanonicalType()
                    .setValue(Codes.BASE + "/ActivityDefinition/slant-board-squat"),
            "MISSING PlanDefinition.action[3].action[1].definitionCanonical"),
        fault(
            "no definition",
            d -> d.exercise(3, 1).setDefinition(null),
            "MISSING PlanDefinition.action[3].action[1].definitionCanonical",
            "UNKNOWN_REFERENCE PlanDefinition.extension[16].extension[2]"),
        fault(
            "start of a variable that the variation lacks",
            d -> at(d.exercise(1, 0).getExtension(), 2, 0).setValue(new CodeType("step-height")),
            "UNKNOWN_REFERENCE PlanDefinition.action[1].action[0].extension[2].extension[0]"),
        fault(
            "start without a rule",
            d -> at(d.exercise(1, 0).getExtension(), 2).getExtension().remove(1),
            "BUSINESS_RULE PlanDefinition.action[1].action[0].extension[2]"),
        fault(
            "start given twice",
            d -> at(d.exercise(3, 0).getExtension(), 2, 0).setValue(new CodeType("step-height")),
            "BUSINESS_RULE PlanDefinition.action[3].action[0].extension[2]"),
        fault(
            "start at a grade that does not exist",
            d -> at(d.exercise(1, 0).getExtension(), 3, 1).setValue(new CodeType("pointed")),
            "UNKNOWN_REFERENCE PlanDefinition.action[1].action[0].extension[3].extension[1]"),
        fault(
            "start of grades by covering",
            d ->
                at(d.exercise(1, 0).getExtension(), 3)
                    .getExtension()
                    .set(1, new Extension("covering", new CodeType("gap"))),
            "BUSINESS_RULE PlanDefinition.action[1].action[0].extension[3].extension[1]"),
        fault(
            "a towel covering a pain",
            d -> at(d.exercise(1, 0).getExtension(), 2, 1).setValue(new CodeType("pain-at-rest")),
            "WRONG_UNIT PlanDefinition.action[1].action[0].extension[2].extension[1]"),
        fault(
            "height not above minutes",
            d -> at(d.exercise(2, 0).getExtension(), 1, 1).setValue(quantity(36, "min")),
            "WRONG_UNIT PlanDefinition.action[2].action[0].extension[1].extension[1]"),
        fault(
            "kept is false",
            d -> at(d.exercise(3, 0).getExtension(), 1, 1).setValue(new BooleanType(false)),
            "UNSUPPORTED PlanDefinition.action[3].action[0].extension[1].extension[1]"),
        fault(
            "start dose beyond the ladder",
            d -> at(d.exercise(1, 0).getExtension(), 5).setValue(new UnsignedIntType(4)),
            "OUT_OF_RANGE PlanDefinition.action[1].action[0].extension[5]"),
        fault(
            "progress of a variable given twice",
            d -> at(d.exercise(1, 0).getExtension(), 7).setValue(new CodeType("towel-thickness")),
            "BUSINESS_RULE PlanDefinition.action[1].action[0].extension[7]"),
        fault(
            "progress of a variable that the variation lacks",
            d -> at(d.exercise(1, 0).getExtension(), 7).setValue(new CodeType("board-angle")),
            "UNKNOWN_REFERENCE PlanDefinition.action[1].action[0].extension[7]"));
  }

  @ParameterizedTest(name = "{0}")
  @MethodSource({"header", "goals", "stages"})
  void aFaultIsNamedByItsElement(
      String name, Consumer<ProgrammeSpoilt> spoil, List<String> expected) {
    ProgrammeSpoilt definition = ProgrammeSpoilt.fresh();
    spoil.accept(definition);
    assertEquals(expected, definition.faults());
  }

  @Test
  void severalFaultsAreAllNamed() {
    ProgrammeSpoilt definition = ProgrammeSpoilt.fresh();
    definition.plan().setVersion(null);
    at(definition.exercise(1, 0).getExtension(), 7).setValue(new CodeType("board-angle"));
    definition.squat().setUsage(null);
    assertEquals(
        List.of(
            "MISSING PlanDefinition.version",
            "MISSING " + SQUAT_AT + "ActivityDefinition.usage",
            "UNKNOWN_REFERENCE PlanDefinition.action[1].action[0].extension[7]"),
        definition.faults());
  }

  @Test
  void aFaultInAVariationNamesTheVariationInWords() {
    ProgrammeSpoilt definition = ProgrammeSpoilt.fresh();
    definition.squat().setUsage(null);
    Problem problem =
        assertThrows(
            Problem.class,
            () ->
                ProgrammeReader.read(
                    definition.plan(),
                    url -> Optional.ofNullable(definition.activities().get(url))));
    assertTrue(problem.getMessage().startsWith(SQUAT + ": "), problem.getMessage());
  }

  /** Whatever part is lost or replaced, the answer is a programme or a problem with an element. */
  @Test
  void nothingThatIsLostOrReplacedMakesTheReaderFail() {
    int places = extensions(ProgrammeSpoilt.fresh()).size();
    assertTrue(places > 300, "only " + places + " extensions");
    for (int place = 0; place < places; place++) {
      for (Consumer<Extension> spoil : SPOILS) {
        ProgrammeSpoilt definition = ProgrammeSpoilt.fresh();
        spoil.accept(extensions(definition).get(place));
        try {
          ProgrammeReader.read(
              definition.plan(), url -> Optional.ofNullable(definition.activities().get(url)));
        } catch (Problem problem) {
          assertTrue(problem.issues().stream().noneMatch(part -> part.expressions().isEmpty()));
        }
      }
    }
  }

  private static final List<Consumer<Extension>> SPOILS =
      List.of(
          extension -> extension.setValue(null).getExtension().clear(),
          extension -> extension.setUrl("elsewhere"),
          extension -> extension.setUrl(null),
          extension -> extension.setValue(new StringType("word")),
          extension -> extension.setValue(new CodeType()),
          extension -> extension.setValue(new DecimalType("-1")),
          extension -> extension.setValue(quantity(-1, "s")));

  private static List<Extension> extensions(ProgrammeSpoilt definition) {
    List<Extension> found = new ArrayList<>();
    definition.plan().getExtension().forEach(e -> collect(e, found));
    definition
        .plan()
        .getGoal()
        .forEach(goal -> goal.getExtension().forEach(e -> collect(e, found)));
    for (PlanDefinition.PlanDefinitionActionComponent stage : definition.plan().getAction()) {
      stage.getExtension().forEach(e -> collect(e, found));
      stage.getAction().forEach(action -> action.getExtension().forEach(e -> collect(e, found)));
    }
    new TreeMap<>(definition.activities())
        .values()
        .forEach(activity -> activity.getExtension().forEach(e -> collect(e, found)));
    return found;
  }

  private static void collect(Extension extension, List<Extension> found) {
    found.add(extension);
    extension.getExtension().forEach(part -> collect(part, found));
  }

  @Test
  void twoVariationsMayNotShareACode() {
    ProgrammeSpoilt definition = ProgrammeSpoilt.fresh();
    ActivityDefinition board =
        definition.activities().get(Codes.BASE + "/ActivityDefinition/slant-board-squat|1.0.0");
    board.getCode().getCodingFirstRep().setCode("split-squat-rock");
    assertEquals(
        "BUSINESS_RULE PlanDefinition.action[3].action[1].definitionCanonical",
        definition.faults().get(0));
  }
}
