package org.tidemark.demo;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import ca.uhn.fhir.rest.client.api.IGenericClient;
import ca.uhn.fhir.rest.server.exceptions.PreconditionFailedException;
import java.io.ByteArrayOutputStream;
import java.io.PrintStream;
import java.nio.charset.StandardCharsets;
import java.util.List;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.CapabilityStatement;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.Patient;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.junit.jupiter.api.AfterAll;
import org.junit.jupiter.api.BeforeAll;
import org.junit.jupiter.api.Test;

/** The demo of two clinics and a record system: what it prints is what HAPI's client finds. */
class TwoClinicsIT {
  private static TwoClinics demo;
  private static String told;

  @BeforeAll
  static void run() throws Exception {
    ByteArrayOutputStream text = new ByteArrayOutputStream();
    demo = new TwoClinics(new PrintStream(text, true, StandardCharsets.UTF_8));
    demo.tell();
    told = text.toString(StandardCharsets.UTF_8);
  }

  @AfterAll
  static void stop() throws Exception {
    demo.stop();
  }

  private static void tells(String words) {
    assertTrue(told.contains(words), () -> words + " is not in:\n" + told);
  }

  @Test
  void thePlanGoesOnAtTheSecond() {
    CarePlan plan = TwoClinics.plan(demo.second());
    assertEquals(CarePlan.CarePlanStatus.ACTIVE, plan.getStatus());
    List<ServiceRequest> inForce = TwoClinics.inForce(demo.second());
    assertFalse(inForce.isEmpty());
    inForce.forEach(order -> tells("in force: " + order.getPatientInstruction()));
    String first = told.substring(told.indexOf("1. "), told.indexOf("2. "));
    List<ServiceRequest> next =
        TwoClinics.next(demo.second(), "CarePlan/" + plan.getIdElement().getIdPart());
    assertFalse(next.isEmpty());
    next.forEach(
        order ->
            assertTrue(
                first.contains("next: " + order.getPatientInstruction()), "as the first has said"));
    String counted =
        "%d reports and measurements, %d decisions"
            .formatted(
                TwoClinics.count(demo.second(), "Observation"),
                TwoClinics.count(demo.second(), "GuidanceResponse"));
    assertTrue(first.contains(counted), counted);
  }

  @Test
  void thePlanAtTheFirstIsClosedAndPointsThere() {
    CarePlan closed = TwoClinics.plan(demo.first());
    assertEquals(CarePlan.CarePlanStatus.REVOKED, closed.getStatus());
    assertEquals(List.of(), TwoClinics.inForce(demo.first()));
    CarePlan there = TwoClinics.plan(demo.second());
    tells(
        "revoked, continued by "
            + demo.second().getServerBase()
            + "/CarePlan/"
            + there.getIdElement().getIdPart());
  }

  @Test
  void theRecordSystemHasTheSame() {
    Bundle plans =
        demo.recordSystem()
            .search()
            .forResource(CarePlan.class)
            .where(
                CarePlan.IDENTIFIER
                    .exactly()
                    .systemAndIdentifier(
                        demo.first().getServerBase() + "/CarePlan", TwoClinics.PERSON + "-plan"))
            .returnBundle(Bundle.class)
            .execute();
    assertEquals(2, plans.getEntry().size(), "the second's plan is called so too");
    CarePlan plan = (CarePlan) plans.getEntryFirstRep().getResource();
    tells("it shows of CarePlan/" + plan.getIdElement().getIdPart());
    Patient patient =
        demo.recordSystem()
            .read()
            .resource(Patient.class)
            .withUrl(plan.getSubject().getReference())
            .execute();
    assertEquals("Quarmby", patient.getNameFirstRep().getFamily());
    assertEquals(
        1,
        demo.recordSystem()
            .search()
            .forResource(Bundle.class)
            .returnBundle(Bundle.class)
            .execute()
            .getEntry()
            .size());
    tells("the document as Bundle/");
  }

  @Test
  void theSecondKeepsItsPlanThere() {
    CarePlan plan = TwoClinics.plan(demo.second());
    Bundle written =
        demo.recordSystem()
            .search()
            .forResource(CarePlan.class)
            .where(
                CarePlan.IDENTIFIER
                    .exactly()
                    .systemAndIdentifier(
                        demo.second().getServerBase() + "/CarePlan",
                        plan.getIdElement().getIdPart()))
            .returnBundle(Bundle.class)
            .execute();
    assertEquals(1, written.getEntry().size());
    CarePlan there = (CarePlan) written.getEntryFirstRep().getResource();
    assertEquals(plan.getStatus(), there.getStatus());
    assertEquals(plan.getGoal().size(), there.getGoal().size());
    tells("CarePlan/" + there.getIdElement().getIdPart() + " of Patient/");
  }

  /** It is a plain R4 server, as HAPI's client sees it. */
  @Test
  void theRecordSystemKeepsVersions() {
    IGenericClient client = demo.recordSystem();
    CapabilityStatement statement =
        client.capabilities().ofType(CapabilityStatement.class).execute();
    assertTrue(
        statement.getRestFirstRep().getInteraction().stream()
            .anyMatch(i -> "transaction".equals(i.getCode().toCode())));
    Patient patient = new Patient();
    patient.addName().setFamily("Oddny");
    Patient first = (Patient) client.create().resource(patient).execute().getResource();
    first.getNameFirstRep().setFamily("Oddnysdatter");
    Patient second = (Patient) client.update().resource(first).execute().getResource();
    assertEquals("2", second.getIdElement().getVersionIdPart());
    Patient stale = second.copy();
    stale.setId("Patient/" + second.getIdElement().getIdPart() + "/_history/1");
    assertThrows(
        PreconditionFailedException.class,
        () ->
            client.update().resource(stale).withAdditionalHeader("If-Match", "W/\"1\"").execute());
  }
}
