package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import ca.uhn.fhir.context.FhirContext;
import ca.uhn.fhir.rest.client.api.IGenericClient;
import ca.uhn.fhir.rest.client.api.ServerValidationModeEnum;
import ca.uhn.fhir.rest.client.interceptor.BearerTokenAuthInterceptor;
import io.quarkus.test.junit.QuarkusTest;
import io.quarkus.test.junit.TestProfile;
import jakarta.inject.Inject;
import java.util.ArrayList;
import java.util.List;
import java.util.Set;
import java.util.TreeSet;
import org.hl7.fhir.convertors.factory.VersionConvertorFactory_40_50;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r5.model.Bundle;
import org.hl7.fhir.r5.model.CapabilityStatement;
import org.hl7.fhir.r5.model.CapabilityStatement.CapabilityStatementRestResourceComponent;
import org.hl7.fhir.r5.model.CapabilityStatement.TypeRestfulInteraction;
import org.hl7.fhir.r5.model.CarePlan;
import org.hl7.fhir.r5.model.Observation;
import org.hl7.fhir.r5.model.ServiceRequest;
import org.junit.jupiter.api.AfterEach;
import org.junit.jupiter.api.BeforeEach;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.application.PaperFiling;
import org.tidemark.fhir.InR5;
import org.tidemark.http.Sender.Answer;

/** The plan and its parts as HAPI's client for R5 reads them. */
@QuarkusTest
@TestProfile(SmartProfile.class)
class R5FacadeTest {
  private static final FhirContext R5 = FhirContext.forR5Cached();
  private static final String BASE = "http://localhost:8081/fhir/r5";

  @Inject PaperFiling papers;
  private TwoPeople people;
  private IGenericClient client;

  @BeforeEach
  void connect() {
    people = TwoPeople.seeded(papers);
    R5.getRestfulClientFactory().setServerValidationMode(ServerValidationModeEnum.NEVER);
    client = R5.newRestfulGenericClient(BASE);
    client.registerInterceptor(new BearerTokenAuthInterceptor(PlanPerson.token));
  }

  @AfterEach
  void leave() {
    TwoPeople.leave();
  }

  @Test
  void aPlanIsReadWithItsPrescriptions() {
    Bundle found =
        client
            .search()
            .forResource(CarePlan.class)
            .where(CarePlan.PATIENT.hasId(people.a().subject))
            .include(CarePlan.INCLUDE_ACTIVITY_REFERENCE.asNonRecursive())
            .returnBundle(Bundle.class)
            .execute();
    CarePlan plan = (CarePlan) found.getEntryFirstRep().getResource();
    assertTrue(plan.getText().getDiv().allText().length() > 100);
    String order = plan.getActivityFirstRep().getPlannedActivityReference().getReference();
    ServiceRequest asked = client.read().resource(ServiceRequest.class).withUrl(order).execute();
    assertEquals(people.a().subject, asked.getSubject().getReference());
    assertTrue(found.getEntryFirstRep().getFullUrl().startsWith(BASE + "/CarePlan/"));
    CarePlan first =
        client.read().resource(CarePlan.class).withIdAndVersion(id(plan), "1").execute();
    assertEquals("1", first.getMeta().getVersionId());
  }

  /** Whatever the endpoint says of each record of a plan, the facade says too. */
  @Test
  void case53NoRecordOfAPersonLosesAnything() {
    Set<String> seen = new TreeSet<>();
    for (String type : InR5.TYPES) {
      String search = type + "?_count=500";
      List<Resource> back = new ArrayList<>();
      bundle(people.all().get("/fhir/r5/" + search).body())
          .getEntry()
          .forEach(
              entry ->
                  back.add(VersionConvertorFactory_40_50.convertResource(entry.getResource())));
      List<Resource> inR4 = new ArrayList<>();
      PlanPerson.CONTEXT
          .newJsonParser()
          .parseResource(
              org.hl7.fhir.r4.model.Bundle.class, people.all().get("/fhir/" + search).body())
          .getEntry()
          .forEach(entry -> inR4.add(entry.getResource()));
      assertEquals(inR4.size(), back.size());
      for (int i = 0; i < inR4.size(); i++) {
        seen.add(type);
        if (!type.equals("DocumentReference")) {
          assertEquals(PlanPerson.json(inR4.get(i)), PlanPerson.json(back.get(i)));
        }
      }
    }
    assertTrue(
        seen.containsAll(
            Set.of(
                "CarePlan",
                "Goal",
                "ServiceRequest",
                "Observation",
                "GuidanceResponse",
                "RiskAssessment",
                "Provenance",
                "DocumentReference",
                "Binary")),
        seen.toString());
  }

  @Test
  void pagesLeadOnWithinTheFacade() {
    Bundle page =
        client
            .search()
            .forResource(Observation.class)
            .count(2)
            .returnBundle(Bundle.class)
            .execute();
    assertTrue(page.getLink("next").getUrl().startsWith(BASE + "/Observation?"));
    Bundle next = client.loadPage().next(page).execute();
    assertEquals(2, next.getEntry().size());
    assertFalse(next.getEntryFirstRep().getFullUrl().equals(page.getEntryFirstRep().getFullUrl()));
  }

  @Test
  void theStatementSaysWhatCanBeRead() {
    CapabilityStatement statement =
        client.capabilities().ofType(CapabilityStatement.class).execute();
    assertEquals("5.0.0", statement.getFhirVersion().toCode());
    assertEquals(BASE, statement.getImplementation().getUrl());
    List<CapabilityStatementRestResourceComponent> types =
        statement.getRestFirstRep().getResource();
    assertEquals(
        new TreeSet<>(InR5.TYPES),
        new TreeSet<>(
            types.stream().map(CapabilityStatementRestResourceComponent::getType).toList()));
    types.forEach(
        type ->
            type.getInteraction()
                .forEach(can -> assertFalse(can.getCode() == TypeRestfulInteraction.CREATE)));
  }

  @Test
  void aTokenOfOnePersonSeesNothingOfAnother() {
    Sender ofA =
        new Sender(SmartProfile.token("patient/*.cruds", TwoPeople.id(people.a().subject)));
    Bundle plans = bundle(ofA.get("/fhir/r5/CarePlan").body());
    assertEquals(1, plans.getTotal());
    assertEquals(404, ofA.get("/fhir/r5/CarePlan/" + people.ofB("CarePlan")).status());
    assertEquals(401, new Sender(null).get("/fhir/r5/CarePlan").status());
    assertEquals(200, new Sender(null).get("/fhir/r5/metadata").status());
  }

  @ParameterizedTest
  @CsvSource({
    "GET, /fhir/r5/Subscription, 404",
    "GET, /fhir/r5, 404",
    "GET, /fhir/r5/CarePlan/no-such-plan, 404",
    "GET, /fhir/r5/CarePlan?no-such-parameter=1, 400",
    "POST, /fhir/r5/CarePlan, 405",
    "PUT, /fhir/r5/CarePlan/1, 405",
    "DELETE, /fhir/r5/Goal/1, 405",
    "POST, /fhir/r5, 405"
  })
  void theRestIsRefusedInWordsOfFhir(String method, String path, int status) {
    String body = method.startsWith("P") ? "{\"resourceType\":\"CarePlan\"}" : null;
    Answer answer = people.all().send(method, path, body);
    assertEquals(status, answer.status(), answer.body());
    assertFalse(
        R5.newJsonParser()
            .parseResource(org.hl7.fhir.r5.model.OperationOutcome.class, answer.body())
            .getIssueFirstRep()
            .getDiagnostics()
            .isEmpty());
  }

  @ParameterizedTest
  @CsvSource({
    "'', application/fhir+xml, <",
    "?_format=xml, application/fhir+json, <",
    "?_format=json, application/fhir+xml, {",
    "'', application/fhir+json;fhirVersion=5.0, {"
  })
  void bothFormatsAreSpoken(String query, String accept, String begins) {
    String plan = "/fhir/r5/CarePlan/" + people.newest("CarePlan", people.a()) + query;
    Answer answer = people.all().send("GET", plan, null, "Accept", accept);
    assertEquals(200, answer.status(), answer.body());
    assertTrue(answer.body().startsWith(begins));
    assertTrue(answer.header("Content-Type").contains("fhirVersion=5.0"));
    Answer again = people.all().send("GET", plan, null, "If-None-Match", answer.header("ETag"));
    assertEquals(304, again.status());
  }

  private static String id(CarePlan plan) {
    return plan.getIdElement().getIdPart();
  }

  private static Bundle bundle(String text) {
    return R5.newJsonParser().parseResource(Bundle.class, text);
  }
}
