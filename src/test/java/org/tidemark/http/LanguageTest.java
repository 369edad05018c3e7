package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.hamcrest.Matchers.containsString;
import static org.hamcrest.Matchers.equalTo;
import static org.hamcrest.Matchers.not;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import java.util.List;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.DomainResource;
import org.hl7.fhir.r4.model.Goal;
import org.hl7.fhir.r4.model.GuidanceResponse;
import org.hl7.fhir.r4.model.Patient;
import org.hl7.fhir.r4.model.RiskAssessment;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.junit.jupiter.api.Test;

/**
 * What a plan says is in the person's language as {@code Patient.communication} gives it, or in the
 * one that is asked for by {@code Accept-Language} (RFC 9110, 12.5.4).
 */
@QuarkusTest
class LanguageTest {

  private static PlanPerson germanSpeaking() {
    PlanPerson person = PlanPerson.here();
    Patient patient =
        PlanPerson.client().read().resource(Patient.class).withUrl(person.subject).execute();
    patient.addCommunication().getLanguage().addCoding().setSystem("urn:ietf:bcp:47").setCode("en");
    patient
        .addCommunication()
        .setPreferred(true)
        .getLanguage()
        .addCoding()
        .setSystem("urn:ietf:bcp:47")
        .setCode("de-CH");
    PlanPerson.client().update().resource(patient).execute();
    person.send(person.baseline());
    person.send(person.equipment());
    person.enrol();
    return person;
  }

  private static String text(DomainResource resource) {
    return resource.getText().getDivAsString();
  }

  /** A record as someone gets it who asks for a language. */
  private static String asked(DomainResource resource, String language) {
    return given()
        .header("Accept", "application/fhir+json")
        .header("Accept-Language", language)
        .get("/fhir/" + resource.getIdElement().toUnqualifiedVersionless().getValue())
        .then()
        .statusCode(200)
        .extract()
        .path("text.div");
  }

  @Test
  void thePlanIsToldInTheLanguageThatThePersonPrefers() {
    PlanPerson person = germanSpeaking();
    assertTrue(text(person.plan()).contains("Was jetzt zu tun ist"), text(person.plan()));
    for (ServiceRequest order : person.inForce().values()) {
      assertTrue(text(order).contains("Worauf zu achten ist"), text(order));
      assertTrue(
          order.getPatientInstruction().contains("Alles Üben beenden"),
          order.getPatientInstruction());
    }
  }

  @Test
  void whoAsksForAnotherLanguageGetsIt() {
    PlanPerson person = PlanPerson.enrolled();
    person.settled(1, 3);
    person.send(person.range(4, 121));
    List<DomainResource> told =
        List.of(
            person.plan(),
            person.inForce().values().iterator().next(),
            person.all(Goal.class).get(0),
            person.all(GuidanceResponse.class).get(0),
            person.all(RiskAssessment.class).get(0));
    for (DomainResource record : told) {
      String german = asked(record, "fr, de-AT;q=0.8, en;q=0.5");
      assertTrue(german.contains("lang=\"de\""), record.fhirType() + ": " + german);
      assertFalse(german.contains("What to watch for"), german);
      for (String other : List.of("en", "fr", "not/a language;;")) {
        assertTrue(asked(record, other).contains("lang=\"en\""), other);
      }
    }
  }

  @Test
  void wordsOfSomeoneElseStayAsTheyAre() {
    PlanPerson person = PlanPerson.enrolled();
    ServiceRequest order = person.inForce().values().iterator().next();
    order.setPatientInstruction("Hold the rail by the window.");
    PlanPerson.client().update().resource(order).execute();
    ServiceRequest stored =
        PlanPerson.client()
            .read()
            .resource(ServiceRequest.class)
            .withId(order.getIdPart())
            .execute();
    assertEquals("Hold the rail by the window.", stored.getPatientInstruction());
    given()
        .header("Accept", "application/fhir+json")
        .header("Accept-Language", "de")
        .get("/fhir/ServiceRequest/" + order.getIdPart())
        .then()
        .statusCode(200)
        .body("patientInstruction", equalTo("Hold the rail by the window."))
        .body("text.div", containsString("What to watch for"));
  }

  @Test
  void aVersionIsSentAsItIsStored() {
    CarePlan plan = PlanPerson.enrolled().plan();
    given()
        .header("Accept", "application/fhir+json")
        .header("Accept-Language", "de")
        .get("/fhir/" + plan.getIdElement().toUnqualified().getValue())
        .then()
        .statusCode(200)
        .body("text.div", containsString("What to do now"));
  }

  @Test
  void thePageOfThePlanIsInTheLanguageOfItsReader() {
    CarePlan plan = PlanPerson.enrolled().plan();
    given()
        .header("Accept-Language", "de")
        .get("/plan/" + plan.getIdElement().getIdPart())
        .then()
        .statusCode(200)
        .body(containsString("Was jetzt zu tun ist"))
        .body(not(containsString("What to do now")));
  }
}
