package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertEquals;

import java.util.HashSet;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import java.util.stream.Collectors;
import java.util.stream.Stream;
import org.hl7.fhir.r4.model.CodeSystem;
import org.junit.jupiter.api.Test;
import org.tidemark.programme.Exercise;
import org.tidemark.programme.Programme;
import org.tidemark.programme.ProgressionVariable;
import org.tidemark.programme.Source;
import org.tidemark.programme.Variation;
import org.tidemark.quantity.Unit;

/** Code and published code systems say the same. */
class ProgrammeItemsTest {

  @Test
  void theUnitOfEveryMeasuredBaselineItemIsThePublishedOne() {
    Map<String, String> published =
        system("report-item").getConcept().stream()
            .filter(CodeSystem.ConceptDefinitionComponent::hasProperty)
            .collect(
                Collectors.toMap(
                    CodeSystem.ConceptDefinitionComponent::getCode,
                    concept -> concept.getPropertyFirstRep().getValueStringType().getValue()));
    ProgrammeItems.units()
        .forEach((item, unit) -> assertEquals(unit.ucum(), published.get(item), item));
    Set<String> ofReports =
        Set.of(
            "time-done",
            "hold-done",
            "effort",
            "pain-during",
            "pain-after",
            "pain-next-morning",
            "stiffness");
    Set<String> known = new HashSet<>(ProgrammeItems.units().keySet());
    known.addAll(ofReports);
    assertEquals(published.keySet(), known);
    assertEquals(Optional.of(Unit.DEGREE), ProgrammeItems.unit("comfortable-flexion"));
    assertEquals(Optional.empty(), ProgrammeItems.unit("can-kneel"));
  }

  @Test
  void everyCodeOfTheShippedProgrammesIsPublished() {
    Set<String> variables = codes("progression-variable");
    Set<String> equipment = codes("equipment-item");
    Set<String> grades = new HashSet<>(codes("assist-grade"));
    grades.addAll(codes("position-grade"));
    for (String id : Set.of("knee-deep-flexion", "standing-heel-raise")) {
      Programme programme = ProgrammeReader.read(ProfileFiles.plan(id), ProfileFiles::byCanonical);
      assertSubset(codes("stage"), programme.stages().stream().map(stage -> stage.code()));
      assertSubset(
          codes("report-item"), programme.needs().stream().flatMap(group -> group.stream()));
      for (Exercise exercise :
          programme.stages().stream().flatMap(s -> s.exercises().stream()).toList()) {
        Variation variation = exercise.variation();
        assertSubset(codes("exercise-variation"), Stream.of(variation.code()));
        assertSubset(codes("body-measure"), variation.reach().keySet().stream());
        assertSubset(variables, variation.variables().stream().map(ProgressionVariable::code));
        variation
            .variables()
            .forEach(variable -> assertPublished(variable.source(), equipment, grades));
      }
    }
  }

  private static void assertPublished(Source source, Set<String> equipment, Set<String> grades) {
    if (source instanceof Source.OneOf one) {
      assertSubset(equipment, Stream.of(one.item()));
    } else if (source instanceof Source.Stack stack) {
      assertSubset(equipment, stack.items().stream());
    } else if (source instanceof Source.Stairs stairs) {
      assertSubset(
          equipment,
          Stream.concat(stairs.items().stream(), Stream.of(stairs.riser(), stairs.count())));
    } else if (source instanceof Source.Grades scale) {
      assertSubset(grades, scale.fromEasiest().stream().map(grade -> grade.code()));
      assertSubset(equipment, scale.needs().stream());
    }
  }

  private static void assertSubset(Set<String> published, Stream<String> used) {
    assertEquals(
        Set.of(), used.filter(code -> !published.contains(code)).collect(Collectors.toSet()));
  }

  private static Set<String> codes(String system) {
    return system(system).getConcept().stream()
        .map(CodeSystem.ConceptDefinitionComponent::getCode)
        .collect(Collectors.toSet());
  }

  private static CodeSystem system(String id) {
    return ProfileFiles.all(CodeSystem.class).stream()
        .filter(system -> system.getUrl().endsWith("/" + id))
        .findFirst()
        .orElseThrow();
  }
}
