package org.tidemark.demo;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;
import static org.junit.jupiter.api.Assumptions.assumeTrue;

import ca.uhn.fhir.rest.client.api.IGenericClient;
import ca.uhn.fhir.rest.server.exceptions.PreconditionFailedException;
import java.io.ByteArrayOutputStream;
import java.io.PrintStream;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.util.ArrayList;
import java.util.List;
import java.util.concurrent.TimeUnit;
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
  private static final Path NODE = Path.of("src", "test", "node");

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

  /** Another person moves, by a client that is neither ours nor HAPI's: fhir-kit-client on Node. */
  @Test
  void aClientOnNodeMovesAPerson() throws Exception {
    String first = demo.first().getServerBase();
    node("sample.mjs", first, "iben-sorrel");
    String said = node("moves.mjs", first, demo.second().getServerBase(), "iben-sorrel");
    for (String step : List.of("Moved: ", "Known: ", "Told: ", "Exported: 2 records")) {
      assertTrue(said.contains(step), said);
    }
  }

  private static String node(String... command) throws Exception {
    assumeTrue(
        Files.isDirectory(NODE.resolve("node_modules")),
        "Not run: its libraries are not installed; npm ci in src/test/node installs them.");
    Path printed = Files.createTempFile("printed", ".txt");
    List<String> whole = new ArrayList<>(List.of("node"));
    whole.addAll(List.of(command));
    Process running =
        new ProcessBuilder(whole)
            .directory(NODE.toFile())
            .redirectErrorStream(true)
            .redirectOutput(printed.toFile())
            .start();
    try {
      assertTrue(running.waitFor(5, TimeUnit.MINUTES), () -> "did not end: " + printed);
    } finally {
      running.destroyForcibly();
    }
    String said = Files.readString(printed);
    assertEquals(0, running.exitValue(), said);
    return said;
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
