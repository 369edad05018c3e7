package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import ca.uhn.fhir.context.FhirContext;
import ca.uhn.fhir.rest.api.MethodOutcome;
import ca.uhn.fhir.rest.client.api.IGenericClient;
import ca.uhn.fhir.rest.client.api.ServerValidationModeEnum;
import ca.uhn.fhir.rest.server.exceptions.InvalidRequestException;
import ca.uhn.fhir.rest.server.exceptions.UnprocessableEntityException;
import io.quarkus.test.junit.QuarkusTest;
import jakarta.inject.Inject;
import java.util.List;
import java.util.regex.Pattern;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.CapabilityStatement;
import org.hl7.fhir.r4.model.DateTimeType;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Patient;
import org.junit.jupiter.api.BeforeEach;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.application.Types;

/** The endpoint as HAPI's own client sees it. */
@QuarkusTest
class ClientTest {
  private static final Pattern MODIFIER = Pattern.compile("[ ,]:([a-z]+)(?=[,.])");

  @Inject FhirContext context;
  private IGenericClient client;

  @BeforeEach
  void connect() {
    context.getRestfulClientFactory().setServerValidationMode(ServerValidationModeEnum.NEVER);
    client = context.newRestfulGenericClient("http://localhost:8081/fhir");
  }

  private Observation report(String patient, DateTimeType when) {
    Observation observation = new Observation();
    observation.setStatus(Observation.ObservationStatus.FINAL);
    observation.getCode().addCoding().setSystem("http://loinc.org").setCode("72514-3");
    observation.getSubject().setReference(patient);
    observation.setEffective(when);
    return observation;
  }

  @Test
  void createsReadsUpdatesAndSearches() {
    MethodOutcome created = client.create().resource(new Patient().setActive(true)).execute();
    assertTrue(created.getCreated());
    Patient patient =
        client.read().resource(Patient.class).withId(created.getId().getIdPart()).execute();
    assertEquals("1", patient.getIdElement().getVersionIdPart());
    patient.setActive(false);
    assertEquals("2", client.update().resource(patient).execute().getId().getVersionIdPart());
    client
        .create()
        .resource(report("Patient/" + created.getId().getIdPart(), new DateTimeType("2026-01-02")))
        .execute();
    Bundle found =
        client
            .search()
            .forResource(Observation.class)
            .where(Observation.PATIENT.hasId(created.getId().getIdPart()))
            .and(Observation.CODE.exactly().systemAndCode("http://loinc.org", "72514-3"))
            .returnBundle(Bundle.class)
            .execute();
    assertEquals(1, found.getEntry().size());
    assertEquals(Bundle.SearchEntryMode.MATCH, found.getEntryFirstRep().getSearch().getMode());
  }

  @Test
  void aRefusalReachesTheClientAsItsException() {
    UnprocessableEntityException refused =
        assertThrows(
            UnprocessableEntityException.class,
            () ->
                client
                    .create()
                    .resource(report("Patient/absent", new DateTimeType("2026-01-02")))
                    .execute());
    assertFalse(refused.getOperationOutcome().isEmpty());
  }

  @ParameterizedTest(
      name = "{0}: {1} found of 2026-01-02, its 10:00 UTC, 2026-01 and an open period")
  @CsvSource({
    "2026-01-02, 2",
    "eq2026-01, 3",
    "2026-01-02T10:00:00Z, 1",
    "2026-01-02T15:30:00+05:30, 1",
    "2026-01-02T10:00Z, 1",
    "gt2026-01-02, 2",
    "ge2026-01-02, 4",
    "sa2026-01-02, 1",
    "lt2026-01-02, 1",
    "le2026-01-02, 3",
    "eb2026-01-02, 0",
    "eb2026-02-01, 3",
    "ne2026-01-02, 2",
    "ap2026-01-31, 2"
  })
  void datesAreComparedByTheTimeTheyCover(String date, int count) {
    String patient = "Patient/dates";
    if (client.search().byUrl("Patient?_id=dates").returnBundle(Bundle.class).execute().getTotal()
        == 0) {
      Patient person = new Patient();
      person.setId("dates");
      client.update().resource(person).execute();
      for (String when : List.of("2026-01-02", "2026-01-02T10:00:00Z", "2026-01")) {
        client.create().resource(report(patient, new DateTimeType(when))).execute();
      }
      Observation open = report(patient, null);
      open.getEffectivePeriod().getStartElement().setValueAsString("2026-01-31");
      client.create().resource(open).execute();
    }
    Bundle found =
        client
            .search()
            .byUrl("Observation?patient=dates&date=" + date.replace("+", "%2B"))
            .returnBundle(Bundle.class)
            .execute();
    assertEquals(count, found.getEntry().size());
  }

  @Test
  void case43EveryDeclaredParameterAndLinkWorksAndOthersAreRefused() {
    CapabilityStatement statement =
        client.capabilities().ofType(CapabilityStatement.class).execute();
    assertEquals(
        Types.served().count() + 1,
        statement.getRestFirstRep().getResource().size(),
        "the records and the audit trail");
    for (CapabilityStatement.CapabilityStatementRestResourceComponent resource :
        statement.getRestFirstRep().getResource()) {
      for (CapabilityStatement.CapabilityStatementRestResourceSearchParamComponent parameter :
          resource.getSearchParam()) {
        String value =
            switch (parameter.getType()) {
              case DATE -> "2026";
              case REFERENCE -> "Patient/none";
              case QUANTITY -> "gt1";
              default -> "none";
            };
        search(resource, parameter.getName() + "=" + value);
        for (String modifier :
            MODIFIER
                .matcher(parameter.getDocumentation())
                .results()
                .map(found -> found.group(1))
                .toList()) {
          String modified = modifier.equals("missing") ? "true" : value;
          search(resource, parameter.getName() + ":" + modifier + "=" + modified);
        }
        if (parameter.getDocumentation().endsWith("Can be sorted by.")) {
          search(resource, "_sort=" + parameter.getName() + ",-" + parameter.getName());
        }
      }
      resource.getSearchInclude().forEach(link -> search(resource, "_id=none&_include=" + link));
      resource
          .getSearchRevInclude()
          .forEach(link -> search(resource, "_id=none&_revinclude=" + link));
      for (String undeclared :
          List.of(
              "_has:Observation:patient:code=1",
              "patient.name=x",
              "_include=*",
              "_include=" + resource.getType() + ":nothing",
              "_revinclude=*",
              "_revinclude=Observation:nothing",
              "_include:iterate=CarePlan:goal",
              "_id:missing=true",
              "_contained=true",
              "_tag=x",
              "_text=x",
              "_filter=x")) {
        assertThrows(
            InvalidRequestException.class,
            () -> search(resource, undeclared),
            () -> resource.getType() + "?" + undeclared);
      }
      boolean creates =
          resource.getInteraction().stream()
              .anyMatch(i -> i.getCode() == CapabilityStatement.TypeRestfulInteraction.CREATE);
      assertEquals(
          org.tidemark.application.Types.WRITTEN.contains(resource.getType()),
          creates,
          resource.getType());
    }
  }

  private void search(
      CapabilityStatement.CapabilityStatementRestResourceComponent resource, String query) {
    client.search().byUrl(resource.getType() + "?" + query).returnBundle(Bundle.class).execute();
  }
}
