package org.tidemark.recordsystem;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import ca.uhn.fhir.context.FhirContext;
import ca.uhn.fhir.rest.client.api.IGenericClient;
import io.quarkus.test.junit.QuarkusTest;
import io.quarkus.test.junit.QuarkusTestProfile;
import io.quarkus.test.junit.TestProfile;
import jakarta.inject.Inject;
import java.math.BigDecimal;
import java.util.List;
import java.util.Map;
import java.util.UUID;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.CodeableConcept;
import org.hl7.fhir.r4.model.Coding;
import org.hl7.fhir.r4.model.DateTimeType;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.OperationOutcome;
import org.hl7.fhir.r4.model.Parameters;
import org.hl7.fhir.r4.model.Patient;
import org.hl7.fhir.r4.model.PrimitiveType;
import org.hl7.fhir.r4.model.Quantity;
import org.hl7.fhir.r4.model.Reference;
import org.junit.jupiter.api.AfterEach;
import org.junit.jupiter.api.BeforeEach;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.extension.ExtendWith;
import org.tidemark.clinic.ActsForHome;
import org.tidemark.demo.PlainRecordSystem;
import org.tidemark.http.PackagedService;

/** Fetches Observations from HAPI's own server, with HAPI's own store. */
@ExtendWith(ActsForHome.class)
@QuarkusTest
@TestProfile(PullTest.WithRecordSystem.class)
class PullTest {
  private static final String NATIONAL = "https://numbers.example/person";

  /** A record system on this machine. */
  public static final class WithRecordSystem implements QuarkusTestProfile {
    @Override
    public Map<String, String> getConfigOverrides() {
      return Map.of(
          "tidemark.subscriptions.allowed-hosts", "localhost",
          "tidemark.record-system.base-url", "http://localhost:" + port() + "/fhir",
          "tidemark.record-system.pull.from", "2026-01-01T00:00:00Z",
          "tidemark.record-system.pull.page", "3",
          "tidemark.record-system.pull.pause", "1ms");
    }

    /** The same in each class loader of the tests. */
    static int port() {
      String name = "tidemark.tests.record-system";
      if (System.getProperty(name) == null) {
        System.setProperty(name, Integer.toString(PackagedService.freePort()));
      }
      return Integer.getInteger(name);
    }
  }

  @Inject Pulling pulling;
  private final IGenericClient here =
      FhirContext.forR4Cached().newRestfulGenericClient("http://localhost:8081/fhir");
  private PlainRecordSystem there;
  private Patient person;

  @BeforeEach
  void begin() {
    start();
    person = (Patient) here.create().resource(person(UUID.randomUUID())).execute().getResource();
    Patient same = person.copy();
    same.setId("their-" + person.getIdElement().getIdPart());
    there.put(same);
  }

  private void start() {
    there = new PlainRecordSystem(WithRecordSystem.port());
  }

  @AfterEach
  void end() {
    there.close();
  }

  private static Patient person(UUID number) {
    Patient patient = new Patient();
    patient.addIdentifier().setSystem(NATIONAL).setValue(number.toString());
    return patient;
  }

  private Observation weight(String id, String kilograms) {
    Observation weight = new Observation().setStatus(Observation.ObservationStatus.FINAL);
    weight.setId(id);
    weight.setCode(new CodeableConcept(new Coding("http://loinc.org", "29463-7", "Body weight")));
    weight.setSubject(new Reference("Patient/their-" + person.getIdElement().getIdPart()));
    weight.addPerformer(new Reference("Practitioner/77"));
    weight.setEffective(new DateTimeType("2026-03-02T07:30:00Z"));
    weight.setValue(
        new Quantity()
            .setValue(new BigDecimal(kilograms))
            .setUnit("kg")
            .setSystem("http://unitsofmeasure.org")
            .setCode("kg"));
    return weight;
  }

  private static String id() {
    return UUID.randomUUID().toString();
  }

  private List<Observation> taken() {
    return here
        .search()
        .forResource(Observation.class)
        .where(Observation.SUBJECT.hasId(person.getIdElement().getIdPart()))
        .returnBundle(Bundle.class)
        .execute()
        .getEntry()
        .stream()
        .map(entry -> (Observation) entry.getResource())
        .toList();
  }

  private Parameters status() {
    return here.operation()
        .onServer()
        .named("$pull-status")
        .withNoParameters(Parameters.class)
        .execute();
  }

  private static String kilograms(Observation weight) {
    return weight.getValueQuantity().getValue().toPlainString();
  }

  @Test
  void whatIsNewOfAPersonWeKnowIsTakenOnceAndAmended() {
    String id = id();
    there.put(weight(id, "71.5"));
    pulling.pull();
    pulling.pull();
    Observation first = taken().get(0);
    assertEquals(1, taken().size());
    assertEquals("1", first.getMeta().getVersionId());
    assertEquals(there.base() + "/Observation/" + id + "/_history/1", first.getMeta().getSource());
    assertEquals(there.base() + "/Observation", first.getIdentifierFirstRep().getSystem());
    assertEquals(id, first.getIdentifierFirstRep().getValue());
    assertEquals(there.base() + "/Practitioner/77", first.getPerformerFirstRep().getReference());

    there.put(weight(id, "70.5"));
    pulling.pull();
    pulling.pull();
    assertEquals(List.of("70.5"), taken().stream().map(PullTest::kilograms).toList());
    assertEquals("2", taken().get(0).getMeta().getVersionId());
    assertEquals(first.getIdElement().getIdPart(), taken().get(0).getIdElement().getIdPart());
  }

  @Test
  void allPagesAreRead() {
    for (int i = 0; i < 8; i++) {
      there.put(weight(id(), "7" + i));
    }
    pulling.pull();
    assertEquals(8, taken().size());
  }

  @Test
  void aPersonWhomWeDoNotKnowIsNotTaken() {
    Patient stranger = person(UUID.randomUUID());
    stranger.setId("stranger");
    there.put(stranger);
    Observation weight = weight(id(), "80");
    weight.setSubject(new Reference("Patient/stranger"));
    there.put(weight);
    there.put(weight(id(), "71"));
    pulling.pull();
    assertEquals(List.of("71"), taken().stream().map(PullTest::kilograms).toList());
    assertTrue(
        status().getParameter().stream()
            .filter(one -> one.getName().equals("refused"))
            .noneMatch(
                one -> said(one, "observation").contains(weight.getIdElement().getIdPart())));
  }

  @Test
  void whatIsRefusedIsListedUntilItIsMended() {
    String id = id();
    Observation wrong = weight(id, "71");
    wrong.getCode().setCoding(List.of());
    there.put(wrong);
    there.put(weight(id(), "72"));
    pulling.pull();
    pulling.pull();
    assertEquals(List.of("72"), taken().stream().map(PullTest::kilograms).toList());
    List<Parameters.ParametersParameterComponent> refused =
        status().getParameter().stream().filter(one -> one.getName().equals("refused")).toList();
    Parameters.ParametersParameterComponent told =
        refused.stream()
            .filter(one -> said(one, "observation").contains("/Observation/" + id + "/"))
            .findFirst()
            .orElseThrow();
    assertEquals(
        List.of("Observation.code"),
        ((OperationOutcome) part(told, "outcome").getResource())
            .getIssueFirstRep().getExpression().stream().map(PrimitiveType::getValue).toList());
    there.put(weight(id, "71"));
    pulling.pull();
    assertEquals(2, taken().size());
    assertTrue(
        status().getParameter().stream()
            .filter(one -> one.getName().equals("refused"))
            .noneMatch(one -> said(one, "observation").contains("/Observation/" + id + "/")));
  }

  @Test
  void aRecordSystemThatIsAwayIsToldAndAskedAgain() throws Exception {
    there.close();
    there.put(weight(id(), "71"));
    pulling.pull();
    Parameters away = status();
    assertEquals("The record system could not be reached.", said(away, "problem"));
    assertTrue(Integer.parseInt(said(away, "failures")) > 0);
    start();
    Patient same = person.copy();
    same.setId("their-" + person.getIdElement().getIdPart());
    there.put(same);
    there.put(weight(id(), "71"));
    Thread.sleep(20);
    pulling.pull();
    assertEquals(1, taken().size());
    assertEquals("0", said(status(), "failures"));
    assertFalse(status().hasParameter("problem"));
  }

  private static String said(Parameters status, String name) {
    return status.getParameter(name).getValue().primitiveValue();
  }

  private static String said(Parameters.ParametersParameterComponent of, String part) {
    return part(of, part).getValue().primitiveValue();
  }

  private static Parameters.ParametersParameterComponent part(
      Parameters.ParametersParameterComponent of, String name) {
    return of.getPart().stream().filter(one -> one.getName().equals(name)).findFirst().get();
  }
}
