package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.hamcrest.Matchers.equalTo;
import static org.hamcrest.Matchers.everyItem;
import static org.hamcrest.Matchers.hasItem;
import static org.hamcrest.Matchers.nullValue;
import static org.hamcrest.Matchers.startsWith;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import java.io.IOException;
import java.io.InputStream;
import java.io.UncheckedIOException;
import java.nio.charset.StandardCharsets;
import java.util.List;
import java.util.UUID;
import org.hl7.fhir.r4.model.ActivityDefinition;
import org.hl7.fhir.r4.model.CanonicalType;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.Enumerations.PublicationStatus;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.PlanDefinition;
import org.hl7.fhir.r4.model.Resource;
import org.junit.jupiter.api.Test;

/** A clinic brings a programme of its own. */
@QuarkusTest
class PlanProgrammesTest {
  private static final String SHIPPED = "https://tidemark.example/fhir/";

  /** A clinic's programme: the definition and its one variation, under addresses of its own. */
  private record Own(PlanDefinition plan, ActivityDefinition variation) {
    static Own make() {
      String base = "https://clinic.example/" + UUID.randomUUID() + "/";
      Own own =
          new Own(
              shipped("PlanDefinition/standing-heel-raise", base, PlanDefinition.class),
              shipped("ActivityDefinition/standing-heel-raise", base, ActivityDefinition.class));
      own.plan.setId((String) null);
      own.variation.setId((String) null);
      return own;
    }

    String canonical() {
      return plan.getUrl() + "|" + plan.getVersion();
    }

    private static <T extends Resource> T shipped(String name, String base, Class<T> type) {
      try (InputStream file =
          PlanProgrammesTest.class.getResourceAsStream("/fhir-profiles/" + name + ".json")) {
        String text =
            new String(file.readAllBytes(), StandardCharsets.UTF_8)
                .replace(SHIPPED + "PlanDefinition/", base + "PlanDefinition/")
                .replace(SHIPPED + "ActivityDefinition/", base + "ActivityDefinition/");
        return PlanPerson.CONTEXT.newJsonParser().parseResource(type, text);
      } catch (IOException e) {
        throw new UncheckedIOException(e);
      }
    }
  }

  private static CarePlan enrolment(PlanPerson person, String canonical) {
    CarePlan plan = person.enrolment();
    plan.setInstantiatesCanonical(List.of(new CanonicalType(canonical)));
    return plan;
  }

  private static PlanPerson withBaseline() {
    PlanPerson person = PlanPerson.here();
    Observation baseline = person.baseline();
    baseline.getBodySite().getCoding().get(0).setCode("344001");
    person.send(baseline);
    person.send(person.equipment());
    return person;
  }

  private static int stored(String type, String url) {
    return given().queryParam("url", url).get("/fhir/" + type).jsonPath().getInt("total");
  }

  @Test
  void aProgrammeThatCameInOneTransactionCanBeFollowed() {
    Own own = Own.make();
    PlanPerson.transact(own.plan, own.variation).statusCode(200);
    PlanPerson person = withBaseline();
    person.send(enrolment(person, own.canonical()));
    assertEquals(1, person.inForce().size());
    PlanPerson another = withBaseline();
    another.send(enrolment(another, own.plan.getUrl()));
    assertEquals(1, another.inForce().size(), "without a version the newest is meant");
  }

  @Test
  void aProgrammeAndItsFirstPersonMayComeTogether() {
    Own own = Own.make();
    PlanPerson person = withBaseline();
    PlanPerson.transact(enrolment(person, own.canonical()), own.plan, own.variation)
        .statusCode(200);
    assertEquals(1, person.inForce().size());
  }

  @Test
  void everyFaultOfAProgrammeIsNamedAndNothingIsStored() {
    Own own = Own.make();
    own.plan.setTitle(null);
    own.plan
        .getAction()
        .get(0)
        .getExtension()
        .removeIf(e -> e.getUrl().endsWith("/tolerated-rate"));
    own.plan.getExtension().removeIf(e -> e.getUrl().endsWith("/maintenance-frequency"));
    PlanPerson.transact(own.variation, own.plan)
        .statusCode(422)
        .body("issue.expression.flatten()", everyItem(startsWith("Bundle.entry[1].resource")))
        .body("issue.expression.flatten()", hasItem("Bundle.entry[1].resource.title"))
        .body(
            "issue.expression.flatten()", hasItem(startsWith("Bundle.entry[1].resource.action[0]")))
        .body("issue.size()", equalTo(3));
    assertEquals(0, stored("PlanDefinition", own.plan.getUrl()));
    assertEquals(0, stored("ActivityDefinition", own.variation.getUrl()));
    PlanPerson person = withBaseline();
    PlanPerson.post(enrolment(person, own.canonical()))
        .statusCode(422)
        .body("issue[0].details.coding[0].code", equalTo("unknown-programme"));
  }

  @Test
  void aProgrammeWhoseBundleIsRefusedIsNotServed() {
    Own own = Own.make();
    PlanPerson person = withBaseline();
    CarePlan sideless = enrolment(person, own.canonical());
    sideless.getExtension().clear();
    PlanPerson.transact(own.plan, own.variation, sideless).statusCode(422);
    assertEquals(0, stored("PlanDefinition", own.plan.getUrl()));
    PlanPerson.post(enrolment(person, own.canonical()))
        .statusCode(422)
        .body("issue[0].details.coding[0].code", equalTo("unknown-programme"));
    PlanPerson.transact(own.plan, own.variation).statusCode(200);
    PlanPerson.post(enrolment(person, own.canonical())).statusCode(201);
  }

  @Test
  void aProgrammeWithoutItsVariationIsRefused() {
    Own own = Own.make();
    PlanPerson.post(own.plan)
        .statusCode(422)
        .body(
            "issue.expression.flatten()",
            hasItem(startsWith("PlanDefinition.action[0].action[0].definition")));
    assertEquals(0, stored("PlanDefinition", own.plan.getUrl()));
  }

  @Test
  void anActiveDefinitionDoesNotChangeInAnyWay() {
    Own own = Own.make();
    PlanPerson.transact(own.variation, own.plan).statusCode(200);
    PlanDefinition plan = only(PlanDefinition.class, own.plan.getUrl());
    ActivityDefinition variation = only(ActivityDefinition.class, own.variation.getUrl());

    PlanPerson.put(plan.copy().setTitle("Another"))
        .statusCode(422)
        .body("issue[0].details.coding[0].code", equalTo("immutable"));
    PlanPerson.put(variation.copy().setDescription("Another"))
        .statusCode(422)
        .body("issue[0].details.coding[0].code", equalTo("immutable"));
    PlanPerson.put(plan.copy().setStatus(PublicationStatus.DRAFT))
        .statusCode(422)
        .body("issue[0].expression[0]", equalTo("PlanDefinition.status"));

    PlanDefinition twin = plan.copy().setTitle("A twin under the same name");
    twin.setId((String) null);
    PlanPerson.post(twin)
        .statusCode(422)
        .body("issue[0].details.coding[0].code", equalTo("duplicate"))
        .body("issue[0].expression[0]", equalTo("PlanDefinition.version"));
    ActivityDefinition sister = variation.copy().setTitle("A twin under the same name");
    sister.setId((String) null);
    PlanPerson.post(sister)
        .statusCode(422)
        .body("issue[0].expression[0]", equalTo("ActivityDefinition.version"));

    PlanDefinition next = plan.copy().setVersion("2.0.0").setTitle("The next version");
    next.setId((String) null);
    PlanPerson.post(next).statusCode(201);
  }

  @Test
  void case74NobodyBeginsWithARetiredProgrammeButWhoIsOnItGoesOn() {
    Own own = Own.make();
    PlanPerson.transact(own.variation, own.plan).statusCode(200);
    PlanPerson person = withBaseline();
    person.send(enrolment(person, own.canonical()));
    PlanDefinition plan = only(PlanDefinition.class, own.plan.getUrl());
    PlanPerson.put(plan.setStatus(PublicationStatus.RETIRED)).statusCode(200);
    PlanPerson late = withBaseline();
    PlanPerson.post(enrolment(late, own.canonical()))
        .statusCode(422)
        .body("issue[0].details.coding[0].code", equalTo("unknown-programme"))
        .body("issue[0].expression[0]", equalTo("CarePlan.instantiatesCanonical[0]"));
    assertTrue(late.all(CarePlan.class).isEmpty());
    int before = person.decisions().size();
    Observation session = person.session(1);
    session.getBodySite().getCoding().get(0).setCode("344001");
    person.send(session);
    assertEquals(before + 1, person.decisions().size());
  }

  @Test
  void aDefinitionOfAnotherKindIsKeptAsItIs() {
    PlanPerson.post(
            new PlanDefinition()
                .setUrl("https://clinic.example/other/" + UUID.randomUUID())
                .setStatus(PublicationStatus.ACTIVE)
                .setTitle("Somebody else's protocol"))
        .statusCode(201);
  }

  private static <T extends Resource> T only(Class<T> type, String url) {
    var found =
        PlanPerson.client()
            .search()
            .byUrl(PlanPerson.BASE + "/" + type.getSimpleName() + "?url=" + url)
            .returnBundle(org.hl7.fhir.r4.model.Bundle.class)
            .execute();
    assertEquals(1, found.getEntry().size());
    assertFalse(found.getEntryFirstRep().getResource().isEmpty());
    return type.cast(found.getEntryFirstRep().getResource());
  }

  @Test
  void whatIsServedIsFoundByItsAddressAndVersion() {
    given()
        .queryParam("url", SHIPPED + "PlanDefinition/knee-deep-flexion")
        .queryParam("version", "1.0.0")
        .get("/fhir/PlanDefinition")
        .then()
        .statusCode(200)
        .body("total", equalTo(1))
        .body("entry[1]", nullValue());
  }
}
