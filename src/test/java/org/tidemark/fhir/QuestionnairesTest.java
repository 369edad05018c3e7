package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.math.BigDecimal;
import java.util.ArrayList;
import java.util.Arrays;
import java.util.HashSet;
import java.util.List;
import java.util.Optional;
import java.util.Set;
import java.util.TreeSet;
import java.util.stream.Collectors;
import java.util.stream.Stream;
import org.hl7.fhir.r4.model.BooleanType;
import org.hl7.fhir.r4.model.CodeSystem;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.CodeableConcept;
import org.hl7.fhir.r4.model.Coding;
import org.hl7.fhir.r4.model.Element;
import org.hl7.fhir.r4.model.Extension;
import org.hl7.fhir.r4.model.Questionnaire;
import org.hl7.fhir.r4.model.Questionnaire.QuestionnaireItemComponent;
import org.hl7.fhir.r4.model.Questionnaire.QuestionnaireItemType;
import org.hl7.fhir.r4.model.Type;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.MethodSource;
import org.tidemark.decision.Warning;
import org.tidemark.quantity.Unit;

/** Our forms ask what reports can hold, with the same limits and units, in both languages. */
class QuestionnairesTest {
  private static final String SDC = "http://hl7.org/fhir/uv/sdc/StructureDefinition/";
  private static final String R4 = "http://hl7.org/fhir/StructureDefinition/";

  static List<Questionnaire> forms() {
    return ProfileFiles.all(Questionnaire.class);
  }

  private static Stream<QuestionnaireItemComponent> items(List<QuestionnaireItemComponent> of) {
    return of.stream().flatMap(item -> Stream.concat(Stream.of(item), items(item.getItem())));
  }

  private static Stream<QuestionnaireItemComponent> items(Questionnaire form) {
    return items(form.getItem());
  }

  @Test
  void thereIsOneForEachReportOfAPerson() {
    assertEquals(
        List.of("baseline", "morning", "session"),
        forms().stream().map(form -> form.getIdElement().getIdPart()).toList());
  }

  @ParameterizedTest
  @MethodSource("forms")
  void eachItemIsNamedOnce(Questionnaire form) {
    Set<String> seen = new HashSet<>();
    items(form).forEach(item -> assertTrue(seen.add(item.getLinkId()), item.getLinkId()));
  }

  @ParameterizedTest
  @MethodSource("forms")
  void everyWordThatIsShownIsTranslated(Questionnaire form) {
    List<Element> shown = new ArrayList<>(List.of(form.getTitleElement()));
    items(form)
        .forEach(
            item -> {
              shown.add(item.getTextElement());
              item.getAnswerOption()
                  .forEach(o -> shown.add(((Coding) o.getValue()).getDisplayElement()));
            });
    for (Element words : shown) {
      Extension translation = words.getExtensionByUrl(R4 + "translation");
      assertTrue(translation != null, words.primitiveValue());
      assertEquals("de", translation.getExtensionString("lang"), words.primitiveValue());
      assertTrue(
          !translation.getExtensionString("content").equals(words.primitiveValue()),
          words.primitiveValue());
    }
  }

  @ParameterizedTest
  @MethodSource("forms")
  void sentencesAreShort(Questionnaire form) {
    items(form)
        .flatMap(item -> Arrays.stream(item.getText().split("[.?:!] ?")))
        .forEach(sentence -> assertTrue(sentence.split(" ").length <= 19, sentence));
  }

  @ParameterizedTest
  @MethodSource("forms")
  void theGuidesExtensionsHaveTheTypesThatItGivesThem(Questionnaire form) {
    items(form)
        .flatMap(item -> item.getExtension().stream())
        .filter(extension -> extension.getUrl().startsWith(SDC))
        .forEach(
            extension -> {
              Type value = extension.getValue();
              switch (extension.getUrl().substring(SDC.length())) {
                case "sdc-questionnaire-observationExtract" ->
                    assertTrue(value instanceof BooleanType || value instanceof CodeType);
                case "sdc-questionnaire-observation-extract-category" ->
                    assertTrue(value instanceof CodeableConcept);
                default -> throw new AssertionError(extension.getUrl());
              }
            });
  }

  @ParameterizedTest
  @MethodSource("forms")
  void everyQuestionHasTheUnitAndLimitsOfItsItem(Questionnaire form) {
    List<QuestionnaireItemComponent> numbers =
        items(form)
            .filter(
                item ->
                    item.getType() == QuestionnaireItemType.DECIMAL
                        || item.getType() == QuestionnaireItemType.INTEGER)
            .toList();
    assertTrue(!numbers.isEmpty());
    for (QuestionnaireItemComponent question : numbers) {
      Coding code = question.getCodeFirstRep();
      Item item = Item.find(code.getSystem(), code.getCode()).orElseThrow();
      assertEquals(0, item.least().compareTo(limit(question, "minValue")), question.getLinkId());
      assertEquals(0, item.most().compareTo(limit(question, "maxValue")), question.getLinkId());
      Optional<String> unit =
          Optional.ofNullable(question.getExtensionByUrl(R4 + "questionnaire-unit"))
              .map(extension -> ((Coding) extension.getValue()).getCode());
      assertEquals(
          item.unit() == Unit.COUNT ? Optional.empty() : Optional.of(item.unit().ucum()), unit);
      if (item.step().compareTo(BigDecimal.ONE) == 0) {
        assertEquals(QuestionnaireItemType.INTEGER, question.getType(), question.getLinkId());
      }
    }
  }

  private static BigDecimal limit(QuestionnaireItemComponent question, String name) {
    return FormCheck.number(question.getExtensionByUrl(R4 + name).getValue()).orElseThrow();
  }

  @ParameterizedTest
  @MethodSource("forms")
  void everyWarningIsAskedFor(Questionnaire form) {
    Set<String> asked =
        items(form)
            .map(QuestionnaireItemComponent::getCodeFirstRep)
            .filter(code -> Codes.WARNING.equals(code.getSystem()))
            .map(Coding::getCode)
            .collect(Collectors.toCollection(TreeSet::new));
    assertEquals(
        Arrays.stream(Warning.values())
            .map(Warning::code)
            .collect(Collectors.toCollection(TreeSet::new)),
        asked);
  }

  @ParameterizedTest
  @MethodSource("forms")
  void everyCodeOfOursIsPublishedUnderTheSameName(Questionnaire form) {
    Stream.concat(
            items(form).flatMap(item -> item.getCode().stream()),
            items(form)
                .filter(item -> item.getLinkId().equals("method"))
                .flatMap(item -> item.getAnswerOption().stream())
                .map(option -> (Coding) option.getValue()))
        .forEach(
            code -> {
              CodeSystem.ConceptDefinitionComponent published =
                  ProfileFiles.all(CodeSystem.class).stream()
                      .filter(system -> system.getUrl().equals(code.getSystem()))
                      .flatMap(system -> system.getConcept().stream())
                      .filter(concept -> concept.getCode().equals(code.getCode()))
                      .findFirst()
                      .orElseThrow(() -> new AssertionError(code.getCode()));
              assertTrue(published.hasDefinition());
            });
  }
}
