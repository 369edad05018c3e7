package org.tidemark.http;

import java.math.BigDecimal;
import java.time.OffsetDateTime;
import java.util.Date;
import java.util.List;
import java.util.Optional;
import java.util.Random;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.Goal;
import org.hl7.fhir.r4.model.IntegerType;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.PositiveIntType;
import org.hl7.fhir.r4.model.Quantity;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.hl7.fhir.r4.model.Task;

/**
 * A random course of a plan through the endpoint: quiet days, and between them everything that
 * reports and clinicians can bring, late corrections included.
 */
final class RandomCourse {
  private final PlanPerson person;
  private final Random random;
  private int day;

  RandomCourse(PlanPerson person, long seed) {
    this(person, seed, 0);
  }

  /**
   * A course that goes on.
   *
   * @param day the last day that something was reported of
   */
  RandomCourse(PlanPerson person, long seed, int day) {
    this.person = person;
    this.random = new Random(seed);
    this.day = day;
  }

  /** The last day that something was reported of. */
  int day() {
    return day;
  }

  void happens(int events) {
    for (int i = 0; i < events; i++) {
      one();
    }
  }

  private void one() {
    switch (random.nextInt(18)) {
      case 0, 1, 2, 3, 4 -> quiet(1 + random.nextInt(6));
      case 5, 6 -> painful();
      case 7 -> person.send(person.range(++day, 90 + random.nextInt(50)));
      case 8 -> warned();
      case 9, 10 -> answerAll();
      case 11 -> limited();
      case 12 -> byHand();
      case 13 -> held();
      case 14 -> target();
      case 15 -> corrected();
      case 16 -> takenBack();
      default -> day += random.nextInt(30);
    }
  }

  private void quiet(int days) {
    person.settled(day + 1, day + days);
    day += days;
  }

  private void painful() {
    day++;
    person.send(person.session(day, random.nextInt(4), random.nextInt(7)));
    person.send(person.morning(day, random.nextInt(4)));
  }

  private void warned() {
    person.send(person.warning(++day));
  }

  /** Whatever waits is accepted, rejected or looked at, sometimes with a time of its own. */
  private void answerAll() {
    for (Task task : person.all(Task.class)) {
      if (task.getStatus() == Task.TaskStatus.REQUESTED) {
        boolean approval = task.getCode().getCodingFirstRep().getCode().equals("approve");
        task.setStatus(
            approval && random.nextInt(3) == 0
                ? Task.TaskStatus.REJECTED
                : approval ? Task.TaskStatus.ACCEPTED : Task.TaskStatus.COMPLETED);
        if (random.nextBoolean()) {
          task.getExecutionPeriod()
              .setEnd(Date.from(OffsetDateTime.parse(PlanPerson.at(day, "22:00")).toInstant()));
        }
        person.amend(task);
      }
    }
  }

  private void limited() {
    person.send(
        person.limit("towel-thickness", "least", BigDecimal.valueOf(3 + random.nextInt(12)), "cm"));
  }

  private void byHand() {
    List<ServiceRequest> orders = List.copyOf(person.inForce().values());
    if (!orders.isEmpty()) {
      ServiceRequest order = orders.get(random.nextInt(orders.size()));
      order
          .getExtensionByUrl(PlanPerson.OURS + "dose")
          .getExtensionByUrl("sets")
          .setValue(new PositiveIntType(1 + random.nextInt(4)));
      person.amend(order);
    }
  }

  private void held() {
    CarePlan plan = person.plan();
    boolean held = plan.getStatus() == CarePlan.CarePlanStatus.ONHOLD;
    plan.setStatus(held ? CarePlan.CarePlanStatus.ACTIVE : CarePlan.CarePlanStatus.ONHOLD);
    person.amend(plan);
  }

  private void target() {
    for (Goal goal : person.all(Goal.class)) {
      if (goal.getTargetFirstRep().getDetail() instanceof Quantity detail
          && "deg".equals(detail.getCode())) {
        detail.setValue(120 + random.nextInt(20));
        person.amend(goal);
        return;
      }
    }
  }

  private void corrected() {
    reports()
        .ifPresent(
            report -> {
              report.setStatus(Observation.ObservationStatus.AMENDED);
              report.getComponent().stream()
                  .filter(c -> c.hasValueQuantity() || c.hasValueIntegerType())
                  .filter(c -> c.getCode().getCodingFirstRep().getCode().startsWith("pain"))
                  .forEach(
                      c -> {
                        int pain = random.nextInt(3);
                        if (c.hasValueQuantity()) {
                          c.getValueQuantity().setValue(pain);
                        } else {
                          c.setValue(new IntegerType(pain));
                        }
                      });
              person.amend(report);
            });
  }

  private void takenBack() {
    reports()
        .ifPresent(
            report -> {
              report.setStatus(Observation.ObservationStatus.ENTEREDINERROR);
              person.amend(report);
            });
  }

  private Optional<Observation> reports() {
    List<Observation> reports =
        person.all(Observation.class).stream()
            .filter(
                o ->
                    List.of("session", "morning")
                        .contains(o.getCode().getCodingFirstRep().getCode()))
            .toList();
    return reports.isEmpty()
        ? Optional.empty()
        : Optional.of(reports.get(random.nextInt(reports.size())));
  }
}
