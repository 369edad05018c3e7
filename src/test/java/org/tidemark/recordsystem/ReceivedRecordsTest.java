package org.tidemark.recordsystem;

import static io.restassured.RestAssured.given;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import ca.uhn.fhir.context.FhirContext;
import io.quarkus.test.junit.QuarkusTest;
import io.restassured.response.Response;
import java.util.Date;
import java.util.List;
import java.util.UUID;
import org.hl7.fhir.r4.model.AllergyIntolerance;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.CodeableConcept;
import org.hl7.fhir.r4.model.Composition;
import org.hl7.fhir.r4.model.Condition;
import org.hl7.fhir.r4.model.DateTimeType;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Parameters;
import org.hl7.fhir.r4.model.Parameters.ParametersParameterComponent;
import org.hl7.fhir.r4.model.Patient;
import org.hl7.fhir.r4.model.Quantity;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Resource;
import org.junit.jupiter.api.BeforeEach;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.ValueSource;

/**
 * Bundles of other systems: a summary in the manner of the International Patient Summary, whose
 * entries name each other by {@code urn:uuid}, and the answer to {@code $everything}, whose records
 * have addresses and relative references (R4, "Resolving references in Bundles").
 */
@QuarkusTest
class ReceivedRecordsTest {
  private static final FhirContext R4 = FhirContext.forR4Cached();
  private static final String NATIONAL = "https://numbers.example/person";

  private final String number = UUID.randomUUID().toString();
  private final String run = number.substring(0, 8);
  private String there;

  @BeforeEach
  void begin() {
    there = "https://records.example/" + run + "/fhir/";
  }

  private static String json(Resource resource) {
    return R4.newJsonParser().encodeResourceToString(resource);
  }

  private static Response send(Bundle bundle, String query) {
    return given()
        .contentType("application/fhir+json;charset=UTF-8")
        .body(json(bundle))
        .post("/fhir/$receive-records" + query);
  }

  private static Parameters receive(Bundle bundle, String query) {
    Response answer = send(bundle, query);
    assertEquals(200, answer.statusCode(), answer.asString());
    return R4.newJsonParser().parseResource(Parameters.class, answer.asString());
  }

  private static <T extends Resource> T here(Class<T> type, String reference) {
    Response answer = given().get("/fhir/" + reference);
    assertEquals(200, answer.statusCode(), reference + ": " + answer.asString());
    return R4.newJsonParser().parseResource(type, answer.asString());
  }

  private static String told(Parameters answer, String name) {
    return answer.getParameter().stream()
        .filter(parameter -> parameter.getName().equals(name))
        .map(ParametersParameterComponent::getValue)
        .map(value -> value instanceof Reference to ? to.getReference() : value.primitiveValue())
        .reduce("", (one, other) -> one.isEmpty() ? other : one + "," + other);
  }

  private Patient person() {
    Patient person = new Patient();
    person.addIdentifier().setSystem(NATIONAL).setValue(number);
    person.addName().setFamily("Oystermouth").addGiven("Ines");
    return person;
  }

  private static Condition knee(String subject) {
    Condition knee = new Condition();
    knee.setCode(new CodeableConcept().setText("Sore left knee"));
    knee.setSubject(new Reference(subject));
    return knee;
  }

  private static Observation pulse(String subject) {
    Observation pulse = new Observation();
    pulse.setStatus(Observation.ObservationStatus.FINAL);
    pulse.getCode().addCoding().setSystem("http://loinc.org").setCode("8867-4");
    pulse.setSubject(new Reference(subject));
    pulse.setEffective(new DateTimeType("2026-03-02T18:00:00Z"));
    pulse.setValue(
        new Quantity().setValue(61).setSystem("http://unitsofmeasure.org").setCode("/min"));
    return pulse;
  }

  private static String urn() {
    return "urn:uuid:" + UUID.randomUUID();
  }

  private final String personUrn = urn();
  private final String kneeUrn = urn();
  private final String pulseUrn = urn();
  private final String allergyUrn = urn();

  private Bundle summary() {
    Bundle document = new Bundle().setType(Bundle.BundleType.DOCUMENT);
    Composition head = new Composition();
    head.setStatus(Composition.CompositionStatus.FINAL);
    head.getType().addCoding().setSystem("http://loinc.org").setCode("60591-5");
    head.setDateElement(new DateTimeType("2026-03-03"));
    head.addAuthor().setDisplay("A practice elsewhere");
    head.setSubject(new Reference(personUrn)).setTitle("Summary");
    document.getIdentifier().setSystem("https://practice.example").setValue(number);
    document.setTimestamp(new Date());
    document.addEntry().setFullUrl(urn()).setResource(head);
    document.addEntry().setFullUrl(personUrn).setResource(person());
    document.addEntry().setFullUrl(kneeUrn).setResource(knee(personUrn));
    AllergyIntolerance allergy = new AllergyIntolerance();
    allergy.setPatient(new Reference(personUrn));
    document.addEntry().setFullUrl(allergyUrn).setResource(allergy);
    Observation pulse = pulse(personUrn);
    pulse.addDerivedFrom(new Reference(allergyUrn));
    document.addEntry().setFullUrl(pulseUrn).setResource(pulse);
    return document;
  }

  private static String idOf(String urn) {
    return urn.substring("urn:uuid:".length());
  }

  @Test
  void aSummaryBringsThePersonAndWhatIsKnownOfThem() {
    Parameters answer = receive(summary(), "");
    String person = told(answer, "person");
    assertEquals("Oystermouth", here(Patient.class, person).getNameFirstRep().getFamily());
    assertEquals("3", told(answer, "written"));
    Condition knee = here(Condition.class, "Condition/" + idOf(kneeUrn));
    assertEquals(person, knee.getSubject().getReference());
    assertEquals(kneeUrn, knee.getMeta().getSource());
    Observation pulse = here(Observation.class, "Observation/" + idOf(pulseUrn));
    assertFalse(pulse.getDerivedFromFirstRep().hasReference(), "what was left out is not here");
    assertEquals("Not received", pulse.getDerivedFromFirstRep().getDisplay());
    assertTrue(json(answer).contains("AllergyIntolerance"), json(answer));
  }

  @Test
  void whatComesAgainIsWrittenOnlyWhereItHasChanged() {
    Bundle summary = summary();
    receive(summary, "");
    Parameters again = receive(summary, "");
    assertEquals("0", told(again, "written"));
    assertEquals("3", told(again, "known"));
    ((Condition) summary.getEntry().get(2).getResource()).getCode().setText("Stiff left knee");
    assertEquals("1", told(receive(summary, ""), "written"));
    Condition knee = here(Condition.class, "Condition/" + idOf(kneeUrn));
    assertEquals("Stiff left knee", knee.getCode().getText());
    assertEquals("2", knee.getMeta().getVersionId());
  }

  @Test
  void aPersonWhoIsHereIsKnownByTheirNumberAndStaysAsTheyAre() {
    Patient known = person();
    known.getNameFirstRep().setFamily("Oystermouth-Bay");
    known.setId("here-" + run);
    given().contentType("application/fhir+json").body(json(known)).put("/fhir/Patient/here-" + run);
    Parameters answer = receive(summary(), "");
    assertEquals("Patient/here-" + run, told(answer, "person"));
    assertEquals(
        "Patient/here-" + run,
        here(Condition.class, "Condition/" + idOf(kneeUrn)).getSubject().getReference());
    Patient after = here(Patient.class, "Patient/here-" + run);
    assertEquals("Oystermouth-Bay", after.getNameFirstRep().getFamily());
  }

  @Test
  void whoIsMeantCanBeSaid() {
    Patient known = new Patient();
    known.setId("said-" + run);
    given().contentType("application/fhir+json").body(json(known)).put("/fhir/Patient/said-" + run);
    assertEquals("Patient/said-" + run, told(receive(summary(), "?patient=said-" + run), "person"));
    Response nobody = send(summary(), "?patient=nobody-" + run);
    assertEquals(400, nobody.statusCode(), nobody.asString());
    assertTrue(nobody.asString().contains("\"expression\":[\"patient\"]"), nobody.asString());
  }

  private Bundle everything() {
    Bundle found = new Bundle().setType(Bundle.BundleType.SEARCHSET);
    Patient person = person();
    person.setId("1");
    person.getMeta().setVersionId("4");
    found.addEntry().setFullUrl(there + "Patient/1").setResource(person);
    Condition knee = knee("Patient/1");
    knee.setId("1");
    knee.setEncounter(new Reference("Encounter/77"));
    found.addEntry().setFullUrl(there + "Condition/1").setResource(knee);
    Observation pulse = pulse(there + "Patient/1/_history/4");
    pulse.setId("1");
    found.addEntry().setFullUrl(there + "Observation/1").setResource(pulse);
    return found;
  }

  /** Every system has a record of the number 1. */
  @Test
  void aRecordNeverTakesThePlaceOfAnotherAndRefersToNoneByChance() {
    Patient other = new Patient();
    other.addName().setFamily("Somebody-Else");
    other.setId("1");
    given().contentType("application/fhir+json").body(json(other)).put("/fhir/Patient/1");
    String before = given().get("/fhir/Patient/1").header("ETag");
    String person = told(receive(everything(), ""), "person");
    assertFalse(person.equals("Patient/1"), person);
    assertEquals(before, given().get("/fhir/Patient/1").header("ETag"));
    String conditions = given().get("/fhir/Condition?patient=" + person).asString();
    assertTrue(conditions.contains(there + "Encounter/77"), "it is still the one over there");
    assertTrue(given().get("/fhir/Observation?patient=" + person).asString().contains("8867-4"));
    Parameters again = receive(everything(), "");
    assertEquals("0", told(again, "written"), json(again));
    assertEquals(person, told(again, "person"));
  }

  @Test
  void whatCannotBeTakenIsToldAndHoldsNothingElseUp() {
    Bundle found = everything();
    Observation wrong = pulse("Patient/1");
    wrong.setId("wrong");
    wrong.getCode().getCodingFirstRep().setCode("72514-3");
    wrong.getValueQuantity().setCode("kg");
    found.getEntry().add(1, new Bundle.BundleEntryComponent());
    found.getEntry().get(1).setFullUrl(there + "Observation/wrong").setResource(wrong);
    Parameters answer = receive(found, "");
    assertEquals("3", told(answer, "written"));
    String told = json(answer);
    assertTrue(told.contains(there + "Observation/wrong"), told);
    assertTrue(told.contains("Bundle.entry[1].resource.value"), told);
  }

  /** It would be about nobody. */
  @Test
  void whatIsAboutSomebodyWhoDidNotComeAlongIsRefused() {
    Bundle summary = summary();
    String nobody = urn();
    summary.addEntry().setFullUrl(nobody).setResource(pulse(urn()));
    Parameters answer = receive(summary, "");
    assertEquals("3", told(answer, "written"));
    String told = json(answer);
    assertTrue(told.contains(nobody), told);
    assertTrue(told.contains("Bundle.entry[5].resource.subject"), told);
    given().get("/fhir/Observation/" + idOf(nobody)).then().statusCode(404);
  }

  @Test
  void withoutThePersonNothingIsTaken() {
    Bundle found = everything();
    ((Patient) found.getEntry().get(0).getResource()).addIdentifier().setValue("n".repeat(500));
    Response refused = send(found, "");
    assertEquals(422, refused.statusCode(), refused.asString());
    assertTrue(refused.asString().contains("Bundle.entry[0].resource"), refused.asString());
    String known = given().get("/fhir/Patient?identifier=" + NATIONAL + "|" + number).asString();
    assertTrue(known.contains("\"total\":0"), known);
  }

  @Test
  void aRecordWithALongerIdentifierThanIsFoundByHoldsNothingElseUp() {
    Bundle found = everything();
    ((Observation) found.getEntry().get(2).getResource()).addIdentifier().setValue("n".repeat(500));
    Parameters answer = receive(found, "");
    assertEquals("2", told(answer, "written"), json(answer));
    assertTrue(json(answer).contains("Bundle.entry[2].resource"), json(answer));
  }

  @ParameterizedTest
  @ValueSource(strings = {"transaction", "batch", "message", "history"})
  void otherBundlesAreRefused(String type) {
    Bundle bundle = new Bundle().setType(Bundle.BundleType.fromCode(type));
    Response refused = send(bundle, "");
    assertEquals(400, refused.statusCode(), refused.asString());
    assertTrue(refused.asString().contains("\"expression\":[\"Bundle.type\"]"));
  }

  @Test
  void anEntryWithoutAnAddressIsRefusedAndNothingIsStored() {
    Bundle found = everything();
    found.getEntry().get(2).setFullUrl(null);
    Response refused = send(found, "");
    assertEquals(422, refused.statusCode(), refused.asString());
    assertTrue(refused.asString().contains("Bundle.entry[2].fullUrl"), refused.asString());
    String known = given().get("/fhir/Patient?identifier=" + NATIONAL + "|" + number).asString();
    assertTrue(known.contains("\"total\":0"), known);
  }

  /** What the service itself tells of a person is what it had. */
  @Test
  void whatIsItsOwnIsKnown() {
    String person = told(receive(summary(), ""), "person");
    for (String own : List.of("$everything", "$summary")) {
      String answer =
          given().urlEncodingEnabled(false).get("/fhir/" + person + "/" + own).asString();
      Parameters receipt = receive(R4.newJsonParser().parseResource(Bundle.class, answer), "");
      assertEquals("0", told(receipt, "written"), own);
      assertEquals(person, told(receipt, "person"), own);
    }
  }
}
