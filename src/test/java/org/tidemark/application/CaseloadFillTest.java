package org.tidemark.application;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import ca.uhn.fhir.context.FhirContext;
import io.quarkus.narayana.jta.QuarkusTransaction;
import io.quarkus.runtime.StartupEvent;
import io.quarkus.test.junit.QuarkusTest;
import jakarta.inject.Inject;
import java.io.IOException;
import java.io.InputStream;
import java.nio.charset.StandardCharsets;
import java.util.Optional;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.Patient;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Resource;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.extension.ExtendWith;
import org.tidemark.clinic.ActsForHome;
import org.tidemark.store.CaseloadStore;
import org.tidemark.store.StoredCase;

/** A start lists the plans that an earlier version of the service has left unlisted. */
@ExtendWith(ActsForHome.class)
@QuarkusTest
class CaseloadFillTest {
  @Inject Records records;
  @Inject Caseload caseload;
  @Inject CaseloadStore store;
  @Inject FhirContext context;

  @Test
  void aPlanThatIsNotListedIsListedAtTheNextStart() throws IOException {
    Patient patient = new Patient();
    patient.addName().setFamily("Solvang").addGiven("Ida");
    String person = records.create(patient).getIdElement().getIdPart();
    Resource plan = records.create(enrolment("Patient/" + person));
    String id = plan.getIdElement().getIdPart();
    StoredCase before = found(id).orElseThrow();
    assertEquals("Ida Solvang", before.person());

    QuarkusTransaction.requiringNew().run(() -> store.remove(id));
    assertTrue(found(id).isEmpty());
    caseload.fill(new StartupEvent());
    assertEquals(before, found(id).orElseThrow());
  }

  private Optional<StoredCase> found(String id) {
    return QuarkusTransaction.requiringNew().call(() -> store.find(id));
  }

  private CarePlan enrolment(String subject) throws IOException {
    try (InputStream file =
        getClass().getResourceAsStream("/fhir-profiles/example/care-plan-enrolment.json")) {
      CarePlan plan =
          context
              .newJsonParser()
              .parseResource(
                  CarePlan.class, new String(file.readAllBytes(), StandardCharsets.UTF_8));
      plan.setMeta(null);
      return plan.setSubject(new Reference(subject));
    }
  }
}
