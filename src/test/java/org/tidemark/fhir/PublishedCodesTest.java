package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertEquals;

import java.io.IOException;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.Arrays;
import java.util.Map;
import java.util.Set;
import java.util.TreeSet;
import java.util.function.Function;
import java.util.stream.Collectors;
import org.hl7.fhir.r4.model.CodeSystem;
import org.hl7.fhir.r4.model.CodeSystem.ConceptDefinitionComponent;
import org.hl7.fhir.r4.model.ValueSet;
import org.junit.jupiter.api.Test;
import org.tidemark.decision.GoalReading;
import org.tidemark.decision.Reason;
import org.tidemark.decision.Warning;

/**
 * What is published and what the service decides by are one list: nothing more, nothing less, in
 * the same words.
 */
class PublishedCodesTest {

  @Test
  void everyReasonIsPublishedInItsSentenceAndNothingElseIs() throws IOException {
    CodeSystem published = read("CodeSystem/decision-reason.json", CodeSystem.class);
    assertEquals(Codes.DECISION_REASON, published.getUrl());
    assertEquals(by(Reason::sentence), by(published, ConceptDefinitionComponent::getDisplay));
    assertEquals(by(Reason::sentence), by(published, ConceptDefinitionComponent::getDefinition));
    assertEquals(by(Reason::origin), by(published, concept -> property(concept, "origin")));
    assertEquals(
        by(reason -> reason.verdict().code()),
        by(published, concept -> property(concept, "verdict")));
    assertEquals(published.getConcept().size(), published.getCount());
  }

  @Test
  void everyTaskThatIsWrittenIsPublished() throws IOException {
    CodeSystem published = read("CodeSystem/clinician-task.json", CodeSystem.class);
    assertEquals(Codes.CLINICIAN_TASK, published.getUrl());
    Map<String, String> titles =
        Arrays.stream(Matter.values()).collect(Collectors.toMap(Matter::code, Matter::title));
    titles.put("review", "Review the plan");
    titles.put("sort-out", "Sort out a report");
    assertEquals(titles, by(published, ConceptDefinitionComponent::getDisplay));
    Map<String, String> meanings = by(published, ConceptDefinitionComponent::getDefinition);
    for (Matter matter : Matter.values()) {
      assertEquals(matter.sentence(), meanings.get(matter.code()));
    }
    assertEquals(published.getConcept().size(), published.getCount());
  }

  @Test
  void everyFigureIsPublishedAndNothingElseIs() throws IOException {
    CodeSystem published = read("CodeSystem/figure.json", CodeSystem.class);
    assertEquals(Codes.FIGURE, published.getUrl());
    assertEquals(
        Arrays.stream(Figure.values()).collect(Collectors.toMap(Figure::code, Figure::definition)),
        by(published, ConceptDefinitionComponent::getDefinition));
    assertEquals(
        Arrays.stream(Figure.values()).collect(Collectors.toMap(Figure::code, Figure::unit)),
        by(published, concept -> property(concept, "unit")));
  }

  /** A request is refused for these reasons only, and a failure of the service is the last. */
  @Test
  void everyProblemIsPublishedAndNothingElseIs() throws IOException {
    CodeSystem published = read("CodeSystem/problem.json", CodeSystem.class);
    assertEquals(Problem.CODE_SYSTEM, published.getUrl());
    Map<String, String> meanings = by(published, ConceptDefinitionComponent::getDefinition);
    assertEquals("The service failed.", meanings.remove(Problem.FAULT));
    assertEquals(problems(Problem.Kind::meaning), meanings);
    Map<String, String> next = by(published, concept -> property(concept, "next"));
    next.remove(Problem.FAULT);
    assertEquals(problems(Problem.Kind::next), next);
    Map<String, String> status = by(published, concept -> property(concept, "status"));
    assertEquals("500", status.remove(Problem.FAULT));
    assertEquals(problems(kind -> Integer.toString(kind.status())), status);
    Map<String, String> types = by(published, concept -> property(concept, "issue-type"));
    assertEquals("exception", types.remove(Problem.FAULT));
    assertEquals(problems(kind -> kind.issueType().toCode()), types);
    assertEquals(published.getConcept().size(), published.getCount());
  }

  private static Map<String, String> problems(Function<Problem.Kind, String> value) {
    return Arrays.stream(Problem.Kind.values())
        .collect(Collectors.toMap(Problem.Kind::code, value));
  }

  @Test
  void everyBasisOfATargetIsPublished() throws IOException {
    CodeSystem published = read("CodeSystem/target-basis.json", CodeSystem.class);
    assertEquals(Codes.TARGET_BASIS, published.getUrl());
    assertEquals(
        Arrays.stream(GoalReading.Basis.values())
            .map(GoalReading.Basis::code)
            .collect(Collectors.toSet()),
        by(published, ConceptDefinitionComponent::getDisplay).keySet());
  }

  @Test
  void theMethodOfForecastingIsPublished() throws IOException {
    CodeSystem published = read("CodeSystem/forecast-method.json", CodeSystem.class);
    assertEquals(Codes.FORECAST_METHOD, published.getUrl());
    assertEquals(
        java.util.Set.of(ForecastWriter.METHOD),
        by(published, ConceptDefinitionComponent::getDisplay).keySet());
  }

  @Test
  void theValueSetsHoldTheWholeCodeSystems() throws IOException {
    for (String id :
        Set.of(
            "decision-reason",
            "clinician-task",
            "figure",
            "target-basis",
            "forecast-method",
            "problem")) {
      CodeSystem system = read("CodeSystem/" + id + ".json", CodeSystem.class);
      ValueSet values = read("ValueSet/" + id + ".json", ValueSet.class);
      assertEquals(system.getValueSet(), values.getUrl());
      assertEquals(system.getUrl(), values.getCompose().getIncludeFirstRep().getSystem());
      assertEquals(1, values.getCompose().getInclude().size());
    }
  }

  @Test
  void everyWarningIsPublishedAndNothingElseIs() throws IOException {
    CodeSystem published = read("CodeSystem/warning.json", CodeSystem.class);
    assertEquals(
        Arrays.stream(Warning.values())
            .map(Warning::code)
            .collect(Collectors.toCollection(TreeSet::new)),
        by(published, ConceptDefinitionComponent::getCode).keySet());
  }

  private static Map<String, String> by(Function<Reason, String> part) {
    return Arrays.stream(Reason.values())
        .collect(Collectors.toMap(Reason::code, part, (a, b) -> a, java.util.TreeMap::new));
  }

  private static Map<String, String> by(
      CodeSystem published, Function<ConceptDefinitionComponent, String> part) {
    return published.getConcept().stream()
        .collect(
            Collectors.toMap(
                ConceptDefinitionComponent::getCode,
                part,
                (a, b) -> {
                  throw new AssertionError("a code is published twice: " + a + ", " + b);
                },
                java.util.TreeMap::new));
  }

  private static String property(ConceptDefinitionComponent concept, String code) {
    return concept.getProperty().stream()
        .filter(property -> property.getCode().equals(code))
        .map(property -> property.getValue().primitiveValue())
        .collect(Collectors.joining());
  }

  private static Path file(String name) {
    return Path.of("fhir-profiles").resolve(name);
  }

  private static <T extends org.hl7.fhir.r4.model.Resource> T read(String name, Class<T> type)
      throws IOException {
    return Sample.R4.newJsonParser().parseResource(type, Files.readString(file(name)));
  }
}
