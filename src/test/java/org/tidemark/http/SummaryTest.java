package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import io.quarkus.test.junit.TestProfile;
import jakarta.inject.Inject;
import java.util.List;
import java.util.Map;
import java.util.Set;
import java.util.stream.Collectors;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.Composition;
import org.hl7.fhir.r4.model.Composition.SectionComponent;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Patient;
import org.hl7.fhir.r4.model.Reference;
import org.junit.jupiter.api.AfterEach;
import org.junit.jupiter.api.BeforeEach;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.application.PaperFiling;
import org.tidemark.fhir.ProfileValidation;
import org.tidemark.http.Sender.Answer;

/**
 * {@code Patient/[id]/$summary}: R4's rules of documents, and the sections of the International
 * Patient Summary 2.0 (HL7, Composition: those that it requires, and their LOINC codes, as its
 * published structure lists them).
 */
@QuarkusTest
@TestProfile(SmartProfile.class)
class SummaryTest {
  private static final List<String> REQUIRED = List.of("11450-4", "48765-2", "10160-0");

  @Inject PaperFiling papers;
  private TwoPeople people;

  @BeforeEach
  void people() {
    people = TwoPeople.seeded(papers);
  }

  @AfterEach
  void open() {
    TwoPeople.leave();
  }

  private static Bundle summary(Sender sender, String person) {
    Answer answer = sender.get("/fhir/" + person + "/$summary");
    assertEquals(200, answer.status(), answer.body());
    return PlanPerson.CONTEXT.newJsonParser().parseResource(Bundle.class, answer.body());
  }

  private static Map<String, SectionComponent> sections(Bundle document) {
    return ((Composition) document.getEntryFirstRep().getResource())
        .getSection().stream()
            .collect(
                Collectors.toMap(
                    section -> section.getCode().getCodingFirstRep().getCode(),
                    section -> section));
  }

  private static Set<String> held(Bundle document) {
    return document.getEntry().stream()
        .map(entry -> entry.getResource().getIdElement().toUnqualifiedVersionless().getValue())
        .collect(Collectors.toSet());
  }

  @Test
  void itIsADocumentThatHoldsWhatItsSectionsName() {
    Bundle document = summary(people.all(), people.a().subject);
    assertEquals(Bundle.BundleType.DOCUMENT, document.getType());
    Composition composition = (Composition) document.getEntryFirstRep().getResource();
    assertEquals("60591-5", composition.getType().getCodingFirstRep().getCode());
    Set<String> held = held(document);
    assertTrue(held.contains(composition.getSubject().getReference()));
    composition.getAuthor().forEach(author -> assertTrue(held.contains(author.getReference())));
    Map<String, SectionComponent> sections = sections(document);
    assertTrue(sections.keySet().containsAll(REQUIRED));
    for (SectionComponent section : sections.values()) {
      assertTrue(section.hasTitle() && section.hasText(), section.getTitle());
      assertEquals(section.hasEntry(), !section.hasEmptyReason(), section.getTitle());
      section.getEntry().forEach(entry -> assertTrue(held.contains(entry.getReference())));
    }
    assertEquals(List.of(), ProfileValidation.errors(document));
  }

  @Test
  void itTellsOfThePlanItsLimitsAndTheNewestReports() {
    Map<String, SectionComponent> sections = sections(summary(people.all(), people.a().subject));
    List<String> plan =
        sections.get("18776-5").getEntry().stream().map(Reference::getReference).toList();
    assertTrue(plan.contains("CarePlan/" + people.a().plan().getIdElement().getIdPart()));
    people
        .a()
        .inForce()
        .values()
        .forEach(
            order ->
                assertTrue(plan.contains("ServiceRequest/" + order.getIdElement().getIdPart())));
    assertTrue(sections.get("104605-1").hasEntry(), "the limit of the towel's thickness");
    String newest =
        "Observation/"
            + people.a().all(Observation.class).stream()
                .filter(one -> one.getCode().getCodingFirstRep().getCode().equals("session"))
                .max((one, other) -> time(one).compareTo(time(other)))
                .orElseThrow()
                .getIdElement()
                .getIdPart();
    assertTrue(
        sections.get("30954-2").getEntry().stream()
            .anyMatch(entry -> entry.getReference().equals(newest)));
    String told = PlanPerson.json(summary(people.all(), people.a().subject));
    people.ofB().forEach(id -> assertFalse(told.contains(id)));
  }

  private static String time(Observation observation) {
    return observation.getEffective().primitiveValue();
  }

  @Test
  void ofSomebodyWithoutAPlanTheRequiredSectionsSayThatNothingIsKnown() {
    Answer made = people.all().send("POST", "/fhir/Patient", PlanPerson.json(new Patient()));
    String person = made.header("Location").replaceAll(".*/fhir/|/_history.*", "");
    Bundle document = summary(people.all(), person);
    Map<String, SectionComponent> sections = sections(document);
    assertEquals(Set.copyOf(REQUIRED), sections.keySet());
    sections
        .values()
        .forEach(
            section ->
                assertEquals(
                    "unavailable", section.getEmptyReason().getCodingFirstRep().getCode()));
    assertEquals(List.of(), ProfileValidation.errors(document));
    assertEquals(
        Set.of("Composition", "Patient", "Organization", "Device"),
        document.getEntry().stream()
            .map(entry -> entry.getResource().fhirType())
            .collect(Collectors.toSet()));
  }

  @ParameterizedTest(name = "{0}: {1}")
  @CsvSource({
    "patient/*.rs, 200",
    "system/*.rs, 200",
    "patient/*.s, 403",
    "patient/Patient.rs, 403",
    "system/Observation.rs, 403",
  })
  void itIsForWhomMayReadAllThatItTells(String scopes, int status) {
    Sender sender = new Sender(SmartProfile.token(scopes, TwoPeople.id(people.a().subject)));
    assertEquals(status, sender.get("/fhir/" + people.a().subject + "/$summary").status());
  }

  @Test
  void nobodyElseIsThere() {
    Sender a = new Sender(SmartProfile.token("patient/*.rs", TwoPeople.id(people.a().subject)));
    assertEquals(404, a.get("/fhir/" + people.b().subject + "/$summary").status());
    assertEquals(404, people.all().get("/fhir/Patient/nobody/$summary").status());
  }
}
