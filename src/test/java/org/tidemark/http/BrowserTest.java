package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import java.io.IOException;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.CodeType;
import org.junit.jupiter.api.Test;

/**
 * The pages in a real browser: what a clinician does on them, WCAG 2.2 AA by axe-core, and that
 * nothing is cut or overlaps from 320 to 1280 pixels, in English and German. Screenshots and prints
 * are left in {@code target/pages}.
 */
@QuarkusTest
class BrowserTest {
  @Test
  void thePagesDoWhatAClinicianAsksOfThem() throws IOException, InterruptedException {
    NodeScript.run("pages.mjs", plans());
  }

  /** The plans that the pages are looked at with, as JSON. */
  private static String plans() {
    PlanPerson warned = running("within-stage");
    warned.send(warned.warning(3));
    return "{\"waiting\":\"%s\",\"refused\":\"%s\",\"running\":\"%s\",\"warned\":\"%s\"}"
        .formatted(
            id(waiting().plan()),
            id(waiting().plan()),
            id(running("within-stage").plan()),
            id(warned.plan()));
  }

  private static String id(CarePlan plan) {
    return plan.getIdElement().getIdPart();
  }

  /** Someone whose every step a clinician signs, settled until one is proposed. */
  private static PlanPerson waiting() {
    PlanPerson person = running("every-change");
    for (int day = 3; person.open("approve").isEmpty(); day++) {
      assertTrue(day < 40, "no step is proposed");
      person.settled(day, day);
    }
    return person;
  }

  private static PlanPerson running(String control) {
    PlanPerson person = PlanPerson.here();
    person.send(person.baseline());
    person.send(person.equipment());
    CarePlan enrolment = person.enrolment();
    enrolment.getExtensionByUrl(PlanPerson.OURS + "change-control").setValue(new CodeType(control));
    person.send(enrolment);
    person.settled(1, 2);
    person.send(person.range(2, 121));
    return person;
  }
}
