package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.tidemark.fhir.ProgrammeSpoilt.SQUAT_AT;
import static org.tidemark.fhir.ProgrammeSpoilt.at;
import static org.tidemark.fhir.ProgrammeSpoilt.fault;
import static org.tidemark.fhir.ProgrammeSpoilt.quantity;

import java.math.BigDecimal;
import java.util.List;
import java.util.function.Consumer;
import java.util.stream.Stream;
import org.hl7.fhir.r4.model.ActivityDefinition;
import org.hl7.fhir.r4.model.BooleanType;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.DecimalType;
import org.hl7.fhir.r4.model.Enumerations.PublicationStatus;
import org.hl7.fhir.r4.model.Extension;
import org.hl7.fhir.r4.model.PositiveIntType;
import org.hl7.fhir.r4.model.Timing;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.Arguments;
import org.junit.jupiter.params.provider.MethodSource;

/** A fault in a variation is named by the element that refers to it, then by its own. */
class ProgrammeVariationFaultsTest {
  static Stream<Arguments> variations() {
    String there = SQUAT_AT + "ActivityDefinition";
    return Stream.of(
        fault("no usage", d -> d.squat().setUsage(null), "MISSING " + there + ".usage"),
        fault(
            "retired",
            d -> d.squat().setStatus(PublicationStatus.RETIRED),
            "BUSINESS_RULE " + there + ".status"),
        fault("no code", d -> d.squat().setCode(null), "MISSING " + there + ".code"),
        fault("no timing", d -> d.squat().setTiming(null), "MISSING " + there + ".timing"),
        fault(
            "hourly",
            d -> d.squat().getTimingTiming().getRepeat().setPeriodUnit(Timing.UnitsOfTime.H),
            "UNSUPPORTED " + there + ".timing.repeat"),
        fault(
            "twice in three weeks",
            d -> d.squat().getTimingTiming().getRepeat().setFrequency(2).setPeriod(3),
            "OUT_OF_RANGE " + there + ".timing.repeat"),
        fault(
            "load-bearing left open", d -> d.squat().getExtension().remove(1), "MISSING " + there),
        fault(
            "no kind of source",
            d -> at(d.squat().getExtension(), 4, 3).getExtension().remove(0),
            "MISSING " + there + ".extension[4].extension[3]"),
        fault(
            "unknown kind of source",
            d -> at(d.squat().getExtension(), 4, 3, 0).setValue(new CodeType("lift")),
            "UNSUPPORTED " + there + ".extension[4].extension[3]"),
        fault(
            "goal in another unit",
            d -> at(d.squat().getExtension(), 4, 4).setValue(quantity(0, "kg")),
            "WRONG_UNIT " + there + ".extension[4].extension[4]"),
        fault(
            "goal of 13 digits",
            d -> at(d.squat().getExtension(), 4, 4).setValue(quantity(1_000_000_000_001L, "cm")),
            "OUT_OF_RANGE " + there + ".extension[4].extension[4]"),
        fault(
            "goal beyond all measure",
            d ->
                at(d.squat().getExtension(), 4, 4)
                    .setValue(quantity(1, "cm").setValue(new BigDecimal("1E+999999999"))),
            "OUT_OF_RANGE " + there + ".extension[4].extension[4]"),
        fault(
            "range of 1,001 steps",
            d -> at(d.squat().getExtension(), 4).getExtension().set(3, range(0, 1001, 1)),
            "OUT_OF_RANGE " + there + ".extension[4].extension[3]"),
        fault(
            "range that ends before it starts",
            d -> at(d.squat().getExtension(), 4).getExtension().set(3, range(10, 9, 1)),
            "OUT_OF_RANGE " + there + ".extension[4].extension[3]"),
        fault(
            "comfortable step of 0",
            d ->
                at(d.squat().getExtension(), 4).addExtension("comfortable-step", quantity(0, "cm")),
            "OUT_OF_RANGE " + there + ".extension[4].extension[5]"),
        fault(
            "cap on demand of 1",
            d -> at(d.squat().getExtension(), 5, 4).setValue(new DecimalType(1)),
            "OUT_OF_RANGE " + there + ".extension[5].extension[4]"),
        fault(
            "cap on demand in per cent of body weight",
            d -> at(d.squat().getExtension(), 5, 4).setValue(quantity(150, "%")),
            "MALFORMED " + there + ".extension[5].extension[4]"),
        fault(
            "two caps on demand",
            d -> at(d.squat().getExtension(), 5).addExtension("demand-cap", new DecimalType(2)),
            "BUSINESS_RULE " + there + ".extension[5].extension[5]"),
        fault(
            "harder sideways",
            d -> at(d.squat().getExtension(), 4, 2).setValue(new CodeType("sideways")),
            "MALFORMED " + there + ".extension[4].extension[2]"),
        fault(
            "variable given twice",
            d -> at(d.squat().getExtension(), 6, 0).setValue(new CodeType("hand-assist")),
            "BUSINESS_RULE " + there + ".extension[6]"),
        fault(
            "grade given twice",
            d -> at(d.squat().getExtension(), 7, 3, 2).setValue(new CodeType("raised")),
            "BUSINESS_RULE " + there + ".extension[7].extension[3]"),
        fault(
            "condition in another unit",
            d -> at(d.squat().getExtension(), 7, 4, 1).setValue(quantity(9, "deg")),
            "WRONG_UNIT " + there + ".extension[7].extension[4].extension[1]"),
        fault(
            "least step above all of it",
            d -> at(d.squat().getExtension(), 6, 5).setValue(new DecimalType("100.1")),
            "OUT_OF_RANGE " + there + ".extension[6].extension[5]"),
        fault(
            "doses that do not rise",
            d -> at(d.squat().getExtension(), 10, 0).setValue(new PositiveIntType(2)),
            "BUSINESS_RULE " + there + ".extension[10]"),
        fault(
            "no set",
            d -> at(d.squat().getExtension(), 8).getExtension().remove(0),
            "MISSING " + there + ".extension[8]"),
        fault(
            "hold in minutes",
            d -> at(d.squat().getExtension(), 8).addExtension("hold", quantity(1, "min")),
            "WRONG_UNIT " + there + ".extension[8].extension[2]"),
        fault(
            "two bases",
            d -> at(d.squat().getExtension(), 10).addExtension("base", new BooleanType(true)),
            "BUSINESS_RULE " + there + ".extension[10]"),
        fault(
            "no base",
            d -> at(d.squat().getExtension(), 9).getExtension().remove(2),
            "MISSING " + there));
  }

  @ParameterizedTest(name = "{0}")
  @MethodSource("variations")
  void aFaultIsNamedByItsElement(
      String name, Consumer<ProgrammeSpoilt> spoil, List<String> expected) {
    ProgrammeSpoilt definition = ProgrammeSpoilt.fresh();
    spoil.accept(definition);
    assertEquals(expected, definition.faults());
  }

  @Test
  void aVariationAloneIsReadOrRefusedToo() {
    ActivityDefinition squat = ProfileFiles.activity("split-squat-rock");
    assertEquals("split-squat-rock", ProgrammeReader.variation(squat).code());
    squat.setUsage(null);
    Problem problem = assertThrows(Problem.class, () -> ProgrammeReader.variation(squat));
    assertEquals(List.of("ActivityDefinition.usage"), problem.issues().get(0).expressions());
  }

  private static Extension range(long from, long to, long by) {
    Extension source = new Extension("source");
    source.addExtension("kind", new CodeType("range"));
    source.addExtension("from", quantity(from, "cm"));
    source.addExtension("to", quantity(to, "cm"));
    source.addExtension("by", quantity(by, "cm"));
    return source;
  }
}
