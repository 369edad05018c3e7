package org.tidemark.application;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import io.quarkus.test.junit.QuarkusTestProfile;
import io.quarkus.test.junit.TestProfile;
import jakarta.enterprise.inject.Alternative;
import jakarta.inject.Inject;
import jakarta.inject.Singleton;
import java.util.ArrayList;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.OptionalLong;
import java.util.Set;
import java.util.UUID;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.DateTimeType;
import org.hl7.fhir.r4.model.Flag;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Patient;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Resource;
import org.junit.jupiter.api.BeforeEach;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.extension.ExtendWith;
import org.tidemark.clinic.ActsForHome;
import org.tidemark.fhir.Problem;

/** Writes with consequences in one transaction, and the reads of the engine. */
@ExtendWith(ActsForHome.class)
@QuarkusTest
@TestProfile(RecordsTest.WithConsequences.class)
class RecordsTest {

  /** Puts the test's consequences in the place of the service's own. */
  public static final class WithConsequences implements QuarkusTestProfile {
    @Override
    public Set<Class<?>> getEnabledAlternatives() {
      return Set.of(Recorded.class);
    }
  }

  /** Writes down what it is asked, and flags every person with a report. */
  @Alternative
  @Singleton
  static class Recorded implements Consequences {
    @Override
    public void release(Resource former, Optional<String> subject) {}

    final List<List<Change>> followed = new ArrayList<>();
    final List<Optional<Resource>> formers = new ArrayList<>();
    boolean fails;
    @Inject Records records;

    @Override
    public Resource admit(Resource incoming, Optional<Resource> former) {
      formers.add(former);
      if (incoming instanceof Patient patient && patient.getLanguage() != null) {
        throw Problem.of(Problem.Kind.BUSINESS_RULE, "No languages.", "Patient.language");
      }
      return incoming;
    }

    @Override
    public void follow(List<Change> changes) {
      followed.add(List.copyOf(changes));
      for (Change change : changes) {
        if (change.resource() instanceof Observation observation) {
          assertTrue(records.find(observation.getSubject()).isPresent());
          Flag flag = new Flag();
          flag.setStatus(Flag.FlagStatus.ACTIVE).setSubject(observation.getSubject());
          flag.getCode().setText("reported");
          records.put(flag);
        }
        if (change.resource() instanceof CarePlan plan) {
          records.put(plan.copy().setTitle("placed"));
        }
      }
      if (fails) {
        throw new IllegalStateException("a fault after the writes");
      }
    }
  }

  @Inject Records records;
  @Inject Recorded consequences;
  private Patient patient;

  @BeforeEach
  void aPatient() {
    consequences.fails = false;
    patient = (Patient) records.create(new Patient());
    consequences.followed.clear();
    consequences.formers.clear();
  }

  private String reference() {
    return "Patient/" + patient.getIdPart();
  }

  private Observation report(String code, String date) {
    Observation observation = new Observation();
    observation.setStatus(Observation.ObservationStatus.FINAL);
    observation.getCode().addCoding().setSystem("http://loinc.org").setCode(code);
    observation.setSubject(new Reference(reference()));
    observation.setEffective(new DateTimeType(date));
    return observation;
  }

  @Test
  void consequencesAreDrawnOnceARequestAndCommittedWithIt() {
    Bundle bundle = new Bundle().setType(Bundle.BundleType.TRANSACTION);
    for (int day = 1; day <= 3; day++) {
      bundle
          .addEntry()
          .setResource(report("72514-3", "2026-01-0" + day))
          .getRequest()
          .setMethod(Bundle.HTTPVerb.POST)
          .setUrl("Observation");
    }
    records.transact(bundle);
    assertEquals(1, consequences.followed.size());
    assertEquals(3, consequences.followed.get(0).size());
    assertEquals(3, records.list("Flag", Map.of("patient", reference())).size());
  }

  @Test
  void aFaultInTheConsequencesLeavesNothing() {
    consequences.fails = true;
    assertThrows(
        IllegalStateException.class, () -> records.create(report("72514-3", "2026-01-01")));
    assertEquals(List.of(), records.list("Observation", Map.of("patient", reference())));
    assertEquals(List.of(), records.list("Flag", Map.of("patient", reference())));
  }

  @Test
  void aRefusalIsTheClientsAnswerAndNothingFollows() {
    Patient speaking = new Patient();
    speaking.setLanguage("en");
    Problem problem = assertThrows(Problem.class, () -> records.create(speaking));
    assertEquals(422, problem.status());
    assertEquals(List.of("Patient.language"), problem.issues().get(0).expressions());
    assertEquals(List.of(), consequences.followed);
  }

  @Test
  void theAnswerIsTheVersionThatTheEngineLeft() {
    CarePlan plan = new CarePlan();
    plan.setStatus(CarePlan.CarePlanStatus.ACTIVE).setIntent(CarePlan.CarePlanIntent.PLAN);
    plan.setSubject(new Reference(reference()));
    CarePlan answered = (CarePlan) records.create(plan);
    assertEquals("2", answered.getMeta().getVersionId());
    assertEquals("placed", answered.getTitle());
    assertEquals(1, consequences.followed.size());
  }

  @Test
  void anUpdateIsJudgedByTheVersionBefore() {
    Written written = records.update(patient.copy().setActive(true), OptionalLong.of(1));
    assertEquals("2", written.resource().getMeta().getVersionId());
    assertEquals("1", consequences.formers.get(0).orElseThrow().getMeta().getVersionId());
    assertEquals(
        Optional.empty(),
        consequences
            .followed
            .get(0)
            .get(0)
            .former()
            .map(Patient.class::cast)
            .map(Patient::getActive)
            .filter(a -> a));
  }

  @Test
  void recordsAreListedOldestFirstByTheirOwnDate() {
    records.create(report("72514-3", "2026-01-03"));
    records.create(report("41347-6", "2026-01-01"));
    records.create(report("72514-3", "2026-01-02T23:30:00-08:00"));
    assertEquals(
        List.of("2026-01-01", "2026-01-03", "2026-01-02T23:30:00-08:00"),
        dates(records.listBySubject("Observation", reference(), Set.of())));
    assertEquals(
        List.of("2026-01-03", "2026-01-02T23:30:00-08:00"),
        dates(
            records.listBySubject(
                "Observation", reference(), Set.of("http://loinc.org|72514-3", "99999-9"))));
    assertEquals(
        List.of("2026-01-01"),
        dates(records.list("Observation", Map.of("patient", reference(), "date", "lt2026-01-02"))));
  }

  private static List<String> dates(List<? extends Resource> observations) {
    return observations.stream()
        .map(o -> ((Observation) o).getEffectiveDateTimeType().getValueAsString())
        .toList();
  }

  @Test
  void versionsAreKeptAndReferencesKeepThem() {
    String id = UUID.randomUUID().toString();
    Observation observation = report("72514-3", "2026-01-01");
    observation.addDerivedFrom(new Reference("Observation/other/_history/3"));
    observation.setId(id);
    records.put(observation);
    records.put(observation.copy().setIssued(new java.util.Date(0)));
    assertEquals("2", records.find(Observation.class, id).orElseThrow().getMeta().getVersionId());
    Observation first = (Observation) records.findVersion("Observation", id, 1).orElseThrow();
    assertEquals("Observation/other/_history/3", first.getDerivedFromFirstRep().getReference());
    assertEquals(Optional.empty(), records.findVersion("Observation", id, 3));
    assertEquals(
        Optional.empty(), records.find(new Reference("https://elsewhere.example/Patient/1")));
  }
}
