package org.tidemark.http;

import static org.hamcrest.Matchers.hasItem;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import java.math.BigDecimal;
import java.util.List;
import org.hl7.fhir.r4.model.BooleanType;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.DateTimeType;
import org.hl7.fhir.r4.model.Flag;
import org.hl7.fhir.r4.model.GuidanceResponse;
import org.hl7.fhir.r4.model.Quantity;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.junit.jupiter.api.Test;

/** A surgeon's limit is kept to from the moment it is known until it has ended and is cleared. */
@QuarkusTest
class PlanPrecautionsTest {
  private static final String TOWEL = "towel-flexion-stretch";

  private static Flag thick(PlanPerson person) {
    return person.limit("towel-thickness", "least", new BigDecimal("12"), "cm");
  }

  @Test
  void aLimitThatWhatStandsBreaksMovesInsideItAtOnce() {
    PlanPerson person = PlanPerson.enrolled();
    assertEquals("10", person.setting(TOWEL, "towel-thickness"));
    person.send(thick(person));
    assertEquals("15", person.setting(TOWEL, "towel-thickness"));
    assertEquals("regress", PlanPerson.verdict(person.lastDecision()));
    assertTrue(PlanPerson.reasons(person.lastDecision()).contains("precaution-broken"));
    person.settled(1, 12);
    assertEquals("15", person.setting(TOWEL, "towel-thickness"), "never outside it");
  }

  @Test
  void aLimitKnownBeforeThePlanShapesItsStart() {
    PlanPerson person = PlanPerson.here();
    person.send(thick(person));
    person.send(person.baseline());
    person.send(person.equipment());
    person.enrol();
    assertTrue(
        person.inForce().values().stream()
            .noneMatch(
                o ->
                    PlanPerson.variation(o).equals(TOWEL)
                        && PlanPerson.setting(o, "towel-thickness").equals("10")));
  }

  @Test
  void case72ALimitEndsWithItsLastDayUnlessAClearanceIsNeeded() {
    for (boolean clearance : List.of(false, true)) {
      PlanPerson person = PlanPerson.enrolled();
      Flag limit = thick(person);
      limit.getPeriod().setEndElement(new DateTimeType(PlanPerson.date(3)));
      limit
          .getExtensionByUrl(PlanPerson.OURS + "limit")
          .addExtension("needs-clearance", new BooleanType(clearance));
      Flag stored = person.send(limit);
      person.settled(1, 2);
      byHand(person, 422);
      person.settled(3, 4);
      byHand(person, clearance ? 422 : 200);
      if (clearance) {
        Flag lifted = person.amend(stored.setStatus(Flag.FlagStatus.INACTIVE));
        byHand(person, 200);
        int decisions = person.all(GuidanceResponse.class).size();
        person.amend(lifted);
        assertEquals(decisions, person.all(GuidanceResponse.class).size());
      }
    }
  }

  /** A limit of three days that is cleared on the tenth held for nine: the past stays as it was. */
  @Test
  void aLimitHeldUntilItWasCleared() {
    PlanPerson person = PlanPerson.enrolled();
    Flag limit = thick(person);
    limit.getPeriod().setEndElement(new DateTimeType(PlanPerson.date(3)));
    limit
        .getExtensionByUrl(PlanPerson.OURS + "limit")
        .addExtension("needs-clearance", new BooleanType(true));
    Flag stored = person.send(limit);
    person.settled(1, 9);
    assertEquals("15", person.setting(TOWEL, "towel-thickness"));
    person.amend(stored.setStatus(Flag.FlagStatus.INACTIVE));
    assertEquals("15", person.setting(TOWEL, "towel-thickness"), "nothing is made up for");
    assertTrue(person.open("approve").isEmpty());
    byHand(person, 200);
    assertEquals("10", person.setting(TOWEL, "towel-thickness"), "from now on it may go down");
  }

  /** A clinician tries the thinner roll. */
  private static void byHand(PlanPerson person, int status) {
    ServiceRequest order = person.inForce().get(TOWEL);
    order.getExtensionsByUrl(PlanPerson.OURS + "setting").stream()
        .filter(
            s ->
                s.getExtensionByUrl("variable")
                    .getValue()
                    .primitiveValue()
                    .equals("towel-thickness"))
        .forEach(s -> ((Quantity) s.getExtensionByUrl("value").getValue()).setValue(10));
    PlanPerson.put(order).statusCode(status);
  }

  @Test
  void aFlagThatWasAMistakeLeavesNoTrace() {
    PlanPerson person = PlanPerson.enrolled();
    List<String> start = person.asked();
    Flag flag = person.send(thick(person));
    person.amend(flag.setStatus(Flag.FlagStatus.ENTEREDINERROR));
    assertEquals(start, person.asked());
  }

  @Test
  void theSameFlagAgainDecidesNothing() {
    PlanPerson person = PlanPerson.enrolled();
    Flag limit = thick(person);
    limit.getPeriod().setStartElement(new DateTimeType(PlanPerson.date(20)));
    Flag stored = person.send(limit);
    int decisions = person.all(GuidanceResponse.class).size();
    person.amend(stored);
    assertEquals(decisions, person.all(GuidanceResponse.class).size());
    assertEquals("10", person.setting(TOWEL, "towel-thickness"), "it begins later");
    person.send(person.session(21));
    assertEquals("15", person.setting(TOWEL, "towel-thickness"), "now it has begun");
  }

  @Test
  void aLimitOnTheOtherSideIsNotOurs() {
    PlanPerson person = PlanPerson.enrolled();
    Flag limit = thick(person);
    limit
        .getExtensionByUrl(PlanPerson.OURS + "limit")
        .getExtensionByUrl("side")
        .setValue(new CodeType("right"));
    person.send(limit);
    assertEquals("10", person.setting(TOWEL, "towel-thickness"));
  }

  @Test
  void aLimitThatForbidsEverythingWithholds() {
    PlanPerson person = PlanPerson.enrolled();
    Flag nothing = thick(person);
    nothing
        .getExtensionByUrl(PlanPerson.OURS + "limit")
        .getExtension()
        .removeIf(e -> List.of("variable", "least").contains(e.getUrl()));
    nothing.getCode().setText("No exercise at all");
    person.send(nothing);
    assertTrue(person.inForce().isEmpty());
    assertEquals("withhold", PlanPerson.verdict(person.lastDecision()));
    assertEquals(1, person.open("review").size());
  }

  @Test
  void aLimitThatCannotBeReadIsRefusedByItsElement() {
    PlanPerson person = PlanPerson.enrolled();
    String limit = "Flag.extension[0]";
    Flag unit = thick(person);
    unit.getExtensionByUrl(PlanPerson.OURS + "limit")
        .getExtensionByUrl("least")
        .setValue(
            new org.hl7.fhir.r4.model.Quantity()
                .setValue(12)
                .setSystem("http://unitsofmeasure.org")
                .setCode("kg"));
    PlanPerson.post(unit)
        .statusCode(422)
        .body("issue[0].details.coding[0].code", org.hamcrest.Matchers.equalTo("wrong-unit"));
    Flag part = thick(person);
    part.getExtensionByUrl(PlanPerson.OURS + "limit")
        .addExtension("perhaps", new BooleanType(true));
    PlanPerson.post(part)
        .statusCode(422)
        .body("issue.expression.flatten()", hasItem(limit + ".extension[4]"));
    assertTrue(person.all(Flag.class).isEmpty());
    assertEquals("10", person.setting(TOWEL, "towel-thickness"));
  }
}
