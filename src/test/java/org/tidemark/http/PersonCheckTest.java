package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.hamcrest.Matchers.containsString;
import static org.hamcrest.Matchers.equalTo;
import static org.junit.jupiter.api.Assertions.assertEquals;

import io.quarkus.test.junit.QuarkusTest;
import java.util.List;
import org.hl7.fhir.r4.model.BooleanType;
import org.hl7.fhir.r4.model.DateTimeType;
import org.hl7.fhir.r4.model.GuidanceResponse;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Patient;
import org.hl7.fhir.r4.model.Patient.LinkType;
import org.hl7.fhir.r4.model.Reference;
import org.junit.jupiter.api.Test;

/** Reports about people whose records no longer stand for somebody who exercises. */
@QuarkusTest
class PersonCheckTest {

  private static Patient record(PlanPerson person) {
    String id = person.subject.substring("Patient/".length());
    return PlanPerson.client().read().resource(Patient.class).withId(id).execute();
  }

  private static int reports(PlanPerson person) {
    return given()
        .queryParam("patient", person.subject)
        .queryParam("_summary", "count")
        .get("/fhir/Observation")
        .jsonPath()
        .getInt("total");
  }

  /** Nothing is stored, alone or in a Bundle, and the plan stays as it is. */
  private static void refused(PlanPerson person, Observation report, String why) {
    int before = reports(person);
    int decisions = person.all(GuidanceResponse.class).size();
    List<String> asked = person.asked();
    PlanPerson.post(report)
        .statusCode(422)
        .body("issue[0].details.coding[0].code", equalTo("business-rule"))
        .body("issue[0].details.text", containsString(why))
        .body("issue[0].expression[0]", equalTo("Observation.subject"));
    PlanPerson.transact(report)
        .statusCode(422)
        .body("issue[0].expression[0]", equalTo("Bundle.entry[0].resource.subject"));
    assertEquals(before, reports(person));
    assertEquals(decisions, person.all(GuidanceResponse.class).size());
    assertEquals(asked, person.asked());
  }

  @Test
  void case69AReportAboutSomeoneWhoHasDiedIsRefused() {
    PlanPerson person = PlanPerson.enrolled();
    Observation before = person.send(person.session(1));
    person.amend(record(person).setDeceased(new BooleanType(true)));
    refused(person, person.session(2), "has died");
    refused(person, person.warning(2), "has died");
    PlanPerson.answer(before, "effort", 5);
    PlanPerson.put(before.setStatus(Observation.ObservationStatus.AMENDED)).statusCode(200);
    person.amend(record(person).setDeceased(new BooleanType(false)));
    PlanPerson.post(person.session(2)).statusCode(201);
  }

  @Test
  void case69WhatWasBeforeTheDayOfDeathMayStillBeTold() {
    PlanPerson person = PlanPerson.enrolled();
    person.amend(record(person).setDeceased(new DateTimeType(PlanPerson.date(3))));
    PlanPerson.post(person.session(2)).statusCode(201);
    PlanPerson.post(person.session(3)).statusCode(201);
    refused(person, person.session(5), "has died");
  }

  @Test
  void case69AReportAboutARecordThatWasReplacedNamesTheOther() {
    PlanPerson person = PlanPerson.enrolled();
    PlanPerson other = PlanPerson.here();
    Patient merged = record(person);
    merged.addLink().setType(LinkType.REPLACEDBY).setOther(new Reference(other.subject));
    person.amend(merged);
    refused(person, person.session(1), "was replaced by " + other.subject);
  }

  @Test
  void case69NoPlanBeginsForThem() {
    PlanPerson person = PlanPerson.here();
    person.send(person.baseline());
    person.send(person.equipment());
    person.amend(record(person).setDeceased(new BooleanType(true)));
    PlanPerson.post(person.enrolment())
        .statusCode(422)
        .body("issue[0].expression[0]", equalTo("CarePlan.subject"));
    assertEquals(List.of(), person.asked());
  }

  /** With no plan there is nothing to protect: the history of a clinic can be loaded. */
  @Test
  void case69WithoutAPlanTheirRecordsAreKept() {
    PlanPerson person = PlanPerson.here();
    person.amend(record(person).setDeceased(new BooleanType(true)));
    PlanPerson.post(person.session(1)).statusCode(201);
  }

  @Test
  void case69AReportAboutNobodyKnownIsRefused() {
    Observation report = PlanPerson.here().session(1);
    report.setSubject(new Reference("Patient/nobody-has-this-id"));
    PlanPerson.post(report)
        .statusCode(422)
        .body("issue[0].details.coding[0].code", equalTo("unknown-reference"));
  }
}
