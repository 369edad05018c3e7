package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import java.util.ArrayList;
import java.util.List;
import java.util.concurrent.Callable;
import java.util.concurrent.ExecutorService;
import java.util.concurrent.Executors;
import java.util.concurrent.Future;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.GuidanceResponse;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Task;
import org.junit.jupiter.api.Test;

/** Many writers about one plan at the same time. */
@QuarkusTest
class PlanConcurrencyTest {

  private static List<Integer> atOnce(List<Callable<Integer>> writes) throws Exception {
    ExecutorService threads = Executors.newFixedThreadPool(8);
    try {
      List<Integer> statuses = new ArrayList<>();
      for (Future<Integer> status : threads.invokeAll(writes)) {
        statuses.add(status.get());
      }
      return statuses;
    } finally {
      threads.shutdown();
    }
  }

  private static Callable<Integer> posting(Observation report) {
    return () -> PlanPerson.post(report).extract().statusCode();
  }

  @Test
  void aWeekOfReportsAtOnceLeadsWhereTheWeekInOrderLeads() throws Exception {
    PlanPerson person = PlanPerson.enrolled();
    int before = person.all(GuidanceResponse.class).size();
    List<Callable<Integer>> writes = new ArrayList<>();
    for (int day = 1; day <= 6; day++) {
      writes.add(posting(person.session(day)));
      writes.add(posting(person.morning(day)));
    }
    List<Integer> statuses = atOnce(writes);
    assertTrue(statuses.stream().allMatch(s -> s == 201), statuses.toString());
    assertEquals(person.nextAsked(), person.asked(), "what stands is what a replay leads to");
    PlanPerson inOrder = PlanPerson.enrolled();
    inOrder.settled(1, 6);
    assertEquals(inOrder.asked(), person.asked());
    int decisions = person.all(GuidanceResponse.class).size() - before;
    assertTrue(decisions >= 1 && decisions <= 12, "at most one decision for a report");
  }

  @Test
  void ofEightEnrolmentsAtOnceOneOpensThePlan() throws Exception {
    PlanPerson person = PlanPerson.here();
    person.send(person.baseline());
    person.send(person.equipment());
    List<Callable<Integer>> writes = new ArrayList<>();
    for (int i = 0; i < 8; i++) {
      writes.add(() -> PlanPerson.post(person.enrolment()).extract().statusCode());
    }
    List<Integer> statuses = atOnce(writes);
    assertEquals(1, statuses.stream().filter(s -> s == 201).count(), statuses.toString());
    assertEquals(7, statuses.stream().filter(s -> s == 422).count(), statuses.toString());
    assertEquals(1, person.all(CarePlan.class).size());
    assertEquals(2, person.inForce().size());
  }

  @Test
  void anAnswerThatComesManyTimesCountsOnce() throws Exception {
    PlanPerson person = PlanPerson.enrolled();
    List<String> start = person.asked();
    person.send(person.warning(1));
    Task task = person.open("review").get(0).setStatus(Task.TaskStatus.COMPLETED);
    int before = person.all(GuidanceResponse.class).size();
    List<Callable<Integer>> writes = new ArrayList<>();
    for (int i = 0; i < 8; i++) {
      writes.add(() -> PlanPerson.put(task).extract().statusCode());
    }
    List<Integer> statuses = atOnce(writes);
    assertTrue(statuses.stream().allMatch(s -> s == 200), statuses.toString());
    assertEquals(before + 1, person.all(GuidanceResponse.class).size());
    assertEquals(start, person.asked());
  }
}
