package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import io.quarkus.test.junit.TestProfile;
import jakarta.inject.Inject;
import java.math.BigDecimal;
import java.util.List;
import java.util.Map;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.Flag;
import org.hl7.fhir.r4.model.GuidanceResponse;
import org.hl7.fhir.r4.model.Provenance;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.RiskAssessment;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.hl7.fhir.r4.model.Task;
import org.junit.jupiter.api.AfterEach;
import org.junit.jupiter.api.BeforeEach;
import org.junit.jupiter.api.Test;
import org.tidemark.application.PaperFiling;
import org.tidemark.http.Sender.Answer;

/**
 * Who may what: what answers for a plan is a clinician's, what binds it from outside is not the
 * person's own, and what the service has decided is written by the service alone.
 */
@QuarkusTest
@TestProfile(SmartProfile.class)
class WhoMayTest {
  private static final String ADA = "https://record.example/fhir/Practitioner/ada";

  @Inject PaperFiling papers;
  private PlanPerson person;
  private Sender clinician;
  private List<Sender> others;

  @BeforeEach
  void callers() {
    TwoPeople.seeded(papers);
    person = PlanPerson.enrolled();
    clinician = by("user/*.cruds", ADA);
    others =
        List.of(
            by("system/*.cruds", null),
            by("system/*.cruds", ADA),
            by("system/*.cruds user/Observation.cruds", ADA),
            by("user/*.cruds", null),
            by("user/*.cruds", person.subject),
            by("user/*.cruds", "https://record.example/fhir/RelatedPerson/kin"),
            new Sender(
                SmartProfile.token(
                    "patient/*.cruds",
                    Map.of("patient", TwoPeople.id(person.subject), "fhirUser", ADA))));
  }

  @AfterEach
  void open() {
    TwoPeople.leave();
  }

  private static Sender by(String scopes, String user) {
    return new Sender(
        SmartProfile.token(
            scopes, user == null ? Map.<String, Object>of() : Map.of("fhirUser", user)));
  }

  private static Answer put(Sender by, Resource resource) {
    return by.send(
        "PUT",
        "/fhir/" + resource.fhirType() + "/" + resource.getIdElement().getIdPart(),
        PlanPerson.json(resource));
  }

  /** Others are refused in clear words and change nothing; then the clinician does it. */
  private void onlyTheClinician(Resource act) {
    String place = "/fhir/" + act.fhirType() + "/" + act.getIdElement().getIdPart();
    String before = clinician.get(place).body();
    for (Sender other : others) {
      Answer refused = put(other, act);
      assertEquals(403, refused.status(), refused.body());
      assertTrue(refused.body().contains("Only a clinician"), refused.body());
      assertTrue(refused.body().contains("user/" + act.fhirType() + ".u"), refused.body());
    }
    assertEquals(before, clinician.get(place).body());
    Answer done = put(clinician, act);
    assertEquals(200, done.status(), done.body());
    assertEquals(
        List.of("Device/tidemark-engine", ADA),
        trail().getAgent().stream().map(agent -> agent.getWho().getReference()).toList());
  }

  /** The Provenance that was written last about the plan. */
  private Provenance trail() {
    String plan = person.plan().getIdElement().getIdPart();
    org.hl7.fhir.r4.model.Bundle found =
        PlanPerson.CONTEXT
            .newJsonParser()
            .parseResource(
                org.hl7.fhir.r4.model.Bundle.class,
                clinician.get("/fhir/Provenance?target=CarePlan/" + plan + "&_count=500").body());
    return found.getEntry().stream()
        .map(entry -> (Provenance) entry.getResource())
        .max(
            java.util.Comparator.comparing((Provenance p) -> p.getMeta().getLastUpdated())
                .thenComparing(p -> p.getIdElement().getIdPart()))
        .orElseThrow();
  }

  @Test
  void theWordThatExerciseMayGoOn() {
    person.send(person.warning(1));
    Task task = person.open("review").get(0);
    task.setStatus(Task.TaskStatus.COMPLETED);
    onlyTheClinician(task);
  }

  @Test
  void holding() {
    CarePlan plan = person.plan();
    plan.setStatus(CarePlan.CarePlanStatus.ONHOLD);
    onlyTheClinician(plan);
  }

  @Test
  void settingAnExerciseByHand() {
    ServiceRequest order = person.inForce().values().iterator().next();
    var dose = order.getExtensionByUrl(PlanPerson.OURS + "dose").getExtensionByUrl("repetitions");
    var sets = order.getExtensionByUrl(PlanPerson.OURS + "dose").getExtensionByUrl("sets");
    var changed = dose != null ? dose : sets;
    changed.setValue(new org.hl7.fhir.r4.model.PositiveIntType(3));
    onlyTheClinician(order);
  }

  /** A PractitionerRole is a clinician too; what changes nothing that one answers for is no act. */
  @Test
  void whatIsNoActIsLeftToOthers() {
    CarePlan plan = person.plan();
    plan.addNote().setText("Rang in.");
    assertEquals(200, put(others.get(0), plan).status());
    plan = person.plan();
    plan.setStatus(CarePlan.CarePlanStatus.ONHOLD);
    assertEquals(200, put(by("user/*.cruds", "PractitionerRole/ada-here"), plan).status());
    Answer report =
        others.get(0).send("POST", "/fhir/Observation", PlanPerson.json(person.session(1)));
    assertEquals(201, report.status());
  }

  /** No Provenance of what a report led to names whoever sent it. */
  @Test
  void aReportIsNoAct() {
    assertEquals(
        201,
        clinician.send("POST", "/fhir/Observation", PlanPerson.json(person.session(1))).status());
    assertEquals(1, trail().getAgent().size());
  }

  @Test
  void nobodyLiftsTheirOwnPrecaution() {
    Flag limit = person.send(person.limit("towel-thickness", "least", new BigDecimal("12"), "cm"));
    limit.setStatus(Flag.FlagStatus.INACTIVE);
    Sender own = others.get(others.size() - 1);
    for (Answer refused :
        List.of(
            put(own, limit),
            own.send(
                "PATCH",
                "/fhir/Flag/" + limit.getIdElement().getIdPart(),
                "[{\"op\":\"replace\",\"path\":\"/status\",\"value\":\"inactive\"}]",
                "Content-Type",
                "application/json-patch+json"),
            own.send("DELETE", "/fhir/Flag/" + limit.getIdElement().getIdPart(), null))) {
      assertEquals(403, refused.status(), refused.body());
      assertTrue(refused.body().contains("about themselves"), refused.body());
    }
    assertEquals(200, put(others.get(0), limit).status(), "the record system passes it on");
  }

  @Test
  void nobodyElseWritesInTheNameOfTheService() {
    person.settled(1, 2);
    person.send(person.range(2, 95));
    for (Class<? extends Resource> type :
        List.of(GuidanceResponse.class, RiskAssessment.class, ServiceRequest.class, Task.class)) {
      person.send(person.warning(3));
      Resource known = person.all(type).get(0);
      known.setId((String) null);
      known.setMeta(null);
      Answer refused =
          clinician.send("POST", "/fhir/" + type.getSimpleName(), PlanPerson.json(known));
      assertEquals(422, refused.status(), refused.body());
      assertTrue(refused.body().contains("in its own name"), refused.body());
    }
    Provenance trail = trail();
    trail.setId((String) null);
    assertEquals(422, clinician.send("POST", "/fhir/Provenance", PlanPerson.json(trail)).status());
    RiskAssessment forecast = person.all(RiskAssessment.class).get(0);
    forecast.setStatus(RiskAssessment.RiskAssessmentStatus.CORRECTED);
    Answer rewritten = put(clinician, forecast);
    assertEquals(422, rewritten.status());
    assertTrue(rewritten.body().contains("immutable"), rewritten.body());
  }
}
