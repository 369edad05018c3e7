package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import jakarta.inject.Inject;
import java.math.BigDecimal;
import java.time.OffsetDateTime;
import java.util.List;
import java.util.concurrent.CompletableFuture;
import java.util.stream.Stream;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.CarePlan.CarePlanStatus;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.DateTimeType;
import org.hl7.fhir.r4.model.Flag;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Period;
import org.hl7.fhir.r4.model.Task;
import org.junit.jupiter.api.Test;
import org.tidemark.application.Sweep;

/** What only the clock brings about becomes one Task each, which ends with its cause. */
@QuarkusTest
class SweepTest {
  private static final String LIMIT = "https://tidemark.example/fhir/StructureDefinition/limit";

  @Inject Sweep sweep;

  private void afterDays(int days) {
    sweep.run(OffsetDateTime.now().plusDays(days));
  }

  private static String need(PlanPerson person) {
    String id = person.plan().getIdElement().getIdPart();
    String page = given().get("/?name=Brandvik").then().extract().asString();
    for (int next = 2; !page.contains("data-plan=\"" + id) && next < 20; next++) {
      page = given().get("/?name=Brandvik&page=" + next).then().extract().asString();
    }
    String row = page.substring(page.indexOf("data-plan=\"" + id));
    row = row.substring(row.indexOf("data-need=\"") + "data-need=\"".length());
    return row.substring(0, row.indexOf('"'));
  }

  @Test
  void silenceIsAskedAfterOnceUntilAReportComes() {
    PlanPerson person = PlanPerson.enrolled();
    person.settled(1, 2);
    afterDays(6);
    assertEquals(List.of(), person.open("silence"));
    afterDays(8);
    Task task = person.open("silence").get(0);
    assertEquals(
        "CarePlan/" + person.plan().getIdElement().getIdPart(), task.getFocus().getReference());
    assertEquals(person.subject, task.getFor().getReference());
    assertTrue(task.getDescription().contains("16 April 2026"), task.getDescription());
    assertEquals("silence", need(person));
    afterDays(8);
    afterDays(9);
    assertEquals(1, person.open("silence").size());
    person.send(person.session(1));
    assertEquals(1, person.open("silence").size(), "an older report that comes late ends nothing");
    person.send(person.session(4));
    assertEquals(List.of(), person.open("silence"));
    assertEquals("none", need(person));
    assertEquals(
        List.of(Task.TaskStatus.CANCELLED),
        person.all(Task.class).stream().map(Task::getStatus).toList());
  }

  @Test
  void anAnswerToSilenceStandsUntilItHasEnded() {
    PlanPerson person = PlanPerson.enrolled();
    afterDays(8);
    person.amend(person.open("silence").get(0).setStatus(Task.TaskStatus.COMPLETED));
    assertEquals("none", need(person));
    afterDays(20);
    assertEquals(List.of(), person.open("silence"));
    person.send(person.session(1));
    afterDays(30);
    assertEquals(1, person.open("silence").size(), "it is another silence");
  }

  @Test
  void whoIsAskedForNothingIsNotSilent() {
    PlanPerson held = PlanPerson.enrolled();
    held.amend(held.plan().setStatus(CarePlanStatus.ONHOLD));
    PlanPerson warned = PlanPerson.enrolled();
    warned.send(warned.warning(1));
    PlanPerson silent = PlanPerson.enrolled();
    afterDays(8);
    assertEquals(List.of(), held.open("silence"));
    assertEquals(List.of(), warned.open("silence"));
    assertEquals(1, silent.open("silence").size());
    silent.amend(silent.plan().setStatus(CarePlanStatus.REVOKED));
    assertEquals(List.of(), silent.open("silence"), "it ends with the plan");
  }

  @Test
  void twoSweepsAtOnceRaiseAMatterOnce() {
    PlanPerson person = PlanPerson.enrolled();
    OffsetDateTime now = OffsetDateTime.now().plusDays(8);
    CompletableFuture.allOf(
            Stream.generate(() -> CompletableFuture.runAsync(() -> sweep.run(now)))
                .limit(3)
                .toArray(CompletableFuture[]::new))
        .join();
    assertEquals(1, person.open("silence").size());
  }

  @Test
  void anAnswerThatWaitsTooLongIsOverdueUntilItComes() {
    PlanPerson person = PlanPerson.here();
    person.send(person.baseline());
    person.send(person.equipment());
    CarePlan plan = person.enrolment();
    plan.getExtensionByUrl(PlanPerson.OURS + "change-control")
        .setValue(new CodeType("every-change"));
    person.send(plan);
    person.settled(1, 5);
    afterDays(2);
    assertEquals(List.of(), person.open("overdue"));
    afterDays(4);
    afterDays(5);
    Task approval = person.open("approve").get(0);
    assertEquals(
        List.of("Task/" + approval.getIdElement().getIdPart()),
        person.open("overdue").stream().map(task -> task.getFocus().getReference()).toList());
    assertEquals("sign-off", need(person));
    String page =
        given()
            .header("Accept-Language", "en")
            .get("/plan/" + person.plan().getIdElement().getIdPart())
            .then()
            .extract()
            .asString();
    assertTrue(page.contains("class=\"overdue\">overdue"), page);
    person.amend(approval.setStatus(Task.TaskStatus.ACCEPTED));
    assertEquals(List.of(), person.open("overdue"));
  }

  private static Flag limit(PlanPerson person, String last, boolean clearance) {
    Flag flag = person.limit("towel-thickness", "least", BigDecimal.ONE, "cm");
    flag.setPeriod(
        new Period()
            .setStartElement(new DateTimeType(PlanPerson.date(1)))
            .setEndElement(new DateTimeType(last)));
    if (clearance) {
      flag.getExtensionByUrl(LIMIT)
          .addExtension("needs-clearance", new org.hl7.fhir.r4.model.BooleanType(true));
    }
    return flag;
  }

  @Test
  void aPrecautionThatEndsIsToldOnceOnTheDayAfterItsLast() {
    PlanPerson person = PlanPerson.enrolled();
    OffsetDateTime last = OffsetDateTime.now().plusDays(2);
    Flag flag = person.send(limit(person, last.toLocalDate().toString(), false));
    sweep.run(last);
    assertEquals(List.of(), person.open("precaution-ended"));
    sweep.run(last.plusDays(1));
    sweep.run(last.plusDays(2));
    Task task = person.open("precaution-ended").get(0);
    assertEquals(1, person.open("precaution-ended").size());
    assertTrue(task.getDescription().contains("The surgeon's limit"), task.getDescription());
    flag.getPeriod().setEndElement(new DateTimeType(last.plusDays(30).toLocalDate().toString()));
    person.amend(flag);
    assertEquals(List.of(), person.open("precaution-ended"), "it has been made longer");
  }

  @Test
  void aPrecautionThatNeedsClearanceAsksForItUntilItIsLifted() {
    PlanPerson person = PlanPerson.enrolled();
    OffsetDateTime last = OffsetDateTime.now().plusDays(2);
    Flag flag = person.send(limit(person, last.toLocalDate().toString(), true));
    sweep.run(last.plusDays(1));
    assertEquals(List.of(), person.open("precaution-ended"));
    assertEquals(1, person.open("clearance-due").size());
    person.amend(flag.setStatus(Flag.FlagStatus.INACTIVE));
    assertEquals(List.of(), person.open("clearance-due"));
    sweep.run(last.plusDays(2));
    assertEquals(List.of(), person.open("precaution-ended"), "who has lifted it knows");
  }

  @Test
  void aSweepDecidesNothing() {
    PlanPerson person = PlanPerson.enrolled();
    List<Observation> before = person.all(Observation.class);
    String version = person.plan().getMeta().getVersionId();
    int decisions = person.decisions().size();
    afterDays(60);
    assertEquals(decisions, person.decisions().size());
    assertEquals(version, person.plan().getMeta().getVersionId());
    assertEquals(before.size(), person.all(Observation.class).size());
  }
}
