package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;
import static org.tidemark.fhir.ProgrammeSpoilt.SQUAT_AT;
import static org.tidemark.fhir.ProgrammeSpoilt.at;
import static org.tidemark.fhir.ProgrammeSpoilt.fault;
import static org.tidemark.fhir.ProgrammeSpoilt.quantity;

import java.math.BigDecimal;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.function.Consumer;
import java.util.stream.Stream;
import org.hl7.fhir.r4.model.ActivityDefinition;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.Extension;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Quantity;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.Arguments;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.MethodSource;
import org.junit.jupiter.params.provider.ValueSource;
import org.tidemark.decision.Fact;
import org.tidemark.demand.Demand;
import org.tidemark.demand.Ratio;
import org.tidemark.programme.DemandBinding;
import org.tidemark.programme.Setting;
import org.tidemark.programme.Variation;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Grade;
import org.tidemark.quantity.Unit;
import org.tidemark.quantity.Value;

/** The model that compares the settings of a variation, as its definition names it. */
class ProgrammeDemandTest {
  private static final int DEMAND = 12;

  @ParameterizedTest(name = "{0}: {1} of {2}")
  @CsvSource({
    "split-squat-rock, front-leg-statics, step-height hand-assist dumbbell-load heel-position",
    "slant-board-squat, front-leg-statics, board-angle",
    "standing-heel-raise, share-of-body-weight, legs-used hand-assist dumbbell-load"
  })
  void theLoadedVariationsNameTheirModel(String variation, String model, String inputs) {
    DemandBinding binding = read(ProfileFiles.activity(variation)).orElseThrow();
    assertEquals(model, binding.model());
    Map<String, String> variables = new java.util.TreeMap<>();
    Stream.of(inputs.split(" ")).forEach(input -> variables.put(input, input));
    assertEquals(variables, binding.variables());
    assertEquals(Map.of(), binding.constants());
  }

  @ParameterizedTest
  @ValueSource(
      strings = {
        "towel-flexion-stretch",
        "quadruped-rock-back",
        "bench-kneeling-sit-back",
        "recumbent-cycling",
        "wall-quadriceps-stretch"
      })
  void theUnloadedOnesHaveNone(String variation) {
    assertEquals(Optional.empty(), read(ProfileFiles.activity(variation)));
  }

  @Test
  void anInputCanBeConstant() {
    ActivityDefinition squat = ProfileFiles.activity("split-squat-rock");
    List<Extension> heel = at(squat.getExtension(), DEMAND, 4).getExtension();
    heel.set(1, new Extension("value", new CodeType("flat")));
    DemandBinding binding = read(squat).orElseThrow();
    assertEquals(Map.of("heel-position", new Grade("flat")), binding.constants());
    assertFalse(binding.variables().containsKey("heel-position"));
    assertEquals(List.of(), ProfileValidation.errors(squat, Codes.structure("exercise-variation")));
  }

  @Test
  void theProfileRefusesAnInputWithTwoOrigins() {
    ActivityDefinition squat = ProfileFiles.activity("split-squat-rock");
    at(squat.getExtension(), DEMAND, 4).getExtension().remove(1);
    assertFalse(ProfileValidation.errors(squat, Codes.structure("exercise-variation")).isEmpty());
  }

  /** What a comparison had to estimate can be measured, sent and is then no longer estimated. */
  @ParameterizedTest(name = "{0}: {1} to {2}")
  @CsvSource({
    "split-squat-rock, two-hands, one-hand",
    "split-squat-rock, fingertips, none",
    "standing-heel-raise, two-hands, fingertips"
  })
  void whatIsEstimatedCanBeReported(String variation, String from, String to) {
    Variation model = ProgrammeReader.variation(ProfileFiles.activity(variation));
    List<String> estimated = ratio(model, from, to, Map.of()).estimated();
    assertTrue(estimated.contains("carried-by-" + from), estimated.toString());
    Observation baseline = Reports.ours("baseline");
    for (String code : estimated) {
      Item item = Item.find(Codes.REPORT_ITEM, code).orElseThrow();
      BigDecimal middle = item.least().add(item.most()).divide(BigDecimal.valueOf(4));
      Reports.with(
          baseline,
          Codes.REPORT_ITEM,
          code,
          new Quantity()
              .setValue(middle.max(item.least()))
              .setSystem(Codes.UCUM)
              .setCode(item.unit().ucum()));
    }
    Map<String, Value> items = Reports.fact(Fact.BaselineTaken.class, baseline).items();
    assertEquals(estimated.size(), items.size());
    assertEquals(List.of(), ratio(model, from, to, items).estimated());
  }

  private static Ratio ratio(Variation model, String from, String to, Map<String, Value> items) {
    return Demand.ratio(model, hands(model, from), hands(model, to), items).orElseThrow();
  }

  /** The hardest setting of every variable, with this help of the hands. */
  private static Setting hands(Variation model, String grade) {
    Map<String, Value> values = new java.util.TreeMap<>();
    values.put("hand-assist", new Grade(grade));
    if (model.variable("step-height").isPresent()) {
      values.put("step-height", Amount.zero(Unit.CENTIMETRE));
      values.put("heel-position", new Grade("flat"));
    } else {
      values.put("legs-used", new Grade("one-leg"));
    }
    values.put("dumbbell-load", Amount.zero(Unit.KILOGRAM));
    return new Setting(values);
  }

  static Stream<Arguments> faults() {
    String there = SQUAT_AT + "ActivityDefinition.extension[" + DEMAND + "]";
    return Stream.of(
        fault("no model", d -> demand(d).getExtension().remove(0), "MISSING " + there),
        fault(
            "unknown model",
            d -> demand(d).getExtension().get(0).setValue(new CodeType("guess")),
            "UNSUPPORTED " + there + ".extension[0]"),
        fault(
            "no input",
            d -> demand(d).getExtension().removeIf(part -> "input".equals(part.getUrl())),
            "MISSING " + there),
        fault(
            "input without a name",
            d -> input(d, 1).getExtension().remove(0),
            "MISSING " + there + ".extension[1]"),
        fault(
            "input that the model lacks",
            d -> at(input(d, 1).getExtension(), 0).setValue(new CodeType("legs-used")),
            "UNSUPPORTED " + there + ".extension[1]"),
        fault(
            "input given twice",
            d -> at(input(d, 4).getExtension(), 0).setValue(new CodeType("step-height")),
            "BUSINESS_RULE " + there + ".extension[4]",
            "BUSINESS_RULE " + there + ".extension[4].extension[1]"),
        fault(
            "input without an origin",
            d -> input(d, 1).getExtension().remove(1),
            "BUSINESS_RULE " + there + ".extension[1]"),
        fault(
            "input with two origins",
            d -> input(d, 1).addExtension("value", quantity(10, "cm")),
            "BUSINESS_RULE " + there + ".extension[1]"),
        fault(
            "variable that the variation lacks",
            d -> at(input(d, 1).getExtension(), 1).setValue(new CodeType("towel-thickness")),
            "BUSINESS_RULE " + there + ".extension[1].extension[1]"),
        fault(
            "variable in another unit",
            d -> at(input(d, 1).getExtension(), 1).setValue(new CodeType("dumbbell-load")),
            "BUSINESS_RULE " + there + ".extension[1].extension[1]"),
        fault(
            "variable of other grades",
            d -> at(input(d, 2).getExtension(), 1).setValue(new CodeType("heel-position")),
            "BUSINESS_RULE " + there + ".extension[2].extension[1]"),
        fault(
            "constant in another unit",
            d -> input(d, 1).getExtension().set(1, new Extension("value", quantity(10, "kg"))),
            "BUSINESS_RULE " + there + ".extension[1].extension[1]"),
        fault(
            "part that is not known",
            d -> input(d, 1).addExtension("scale", quantity(10, "cm")),
            "UNKNOWN_ELEMENT " + there + ".extension[1].extension[2]"),
        fault(
            "two models",
            d -> d.squat().getExtension().add(demand(d).copy()),
            "BUSINESS_RULE " + SQUAT_AT + "ActivityDefinition.extension[13]"));
  }

  @ParameterizedTest(name = "{0}")
  @MethodSource("faults")
  void aFaultIsNamedByItsElement(
      String name, Consumer<ProgrammeSpoilt> spoil, List<String> expected) {
    ProgrammeSpoilt definition = ProgrammeSpoilt.fresh();
    spoil.accept(definition);
    assertEquals(expected, definition.faults());
  }

  private static Optional<DemandBinding> read(ActivityDefinition definition) {
    return ProgrammeReader.variation(definition).demand();
  }

  private static Extension demand(ProgrammeSpoilt definition) {
    return at(definition.squat().getExtension(), DEMAND);
  }

  private static Extension input(ProgrammeSpoilt definition, int index) {
    return at(definition.squat().getExtension(), DEMAND, index);
  }
}
