package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.List;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.CarePlan.CarePlanActivityComponent;
import org.hl7.fhir.r4.model.CodeableConcept;
import org.hl7.fhir.r4.model.Reference;
import org.junit.jupiter.api.Test;
import org.tidemark.decision.Decision;

class CarePlanWriterTest {

  @Test
  void listsOrdersThenProposalsThenWhatOthersPutThere() {
    CarePlan written =
        Sample.stored(CarePlan.class, apply(shared(), List.of("a", "b"), List.of("c")));
    assertEquals(
        List.of("ServiceRequest/a", "ServiceRequest/b", "ServiceRequest/c"),
        references(written).subList(0, 3));
    assertEquals(5, written.getActivity().size());
    assertTrue(written.getActivity().get(3).equalsDeep(shared().getActivity().get(0)));
    assertTrue(written.getActivity().get(4).equalsDeep(shared().getActivity().get(1)));
  }

  @Test
  void whatIsNoLongerInForceLeavesThePlan() {
    CarePlan first =
        Sample.stored(CarePlan.class, apply(shared(), List.of("a", "b"), List.of("c")));
    CarePlan second = apply(first, List.of("d"), List.of());
    assertEquals(
        List.of("ServiceRequest/d", "ServiceRequest/theirs"), references(second).subList(0, 1 + 1));
    assertEquals(3, second.getActivity().size());
  }

  @Test
  void anAcceptedProposalIsListedOnce() {
    CarePlan first = apply(new CarePlan(), List.of(), List.of("c"));
    first.getActivityFirstRep().setId("renamed-by-a-client");
    CarePlan second = apply(first, List.of("c"), List.of());
    assertEquals(List.of("ServiceRequest/c"), references(second));
  }

  @Test
  void withholdingLeavesOnlyWhatOthersPutThere() {
    CarePlan first = apply(shared(), List.of("a"), List.of());
    Decision stop = Sample.warned();
    CarePlan stopped =
        CarePlanWriter.apply(
            first, Sample.PLAN, List.of(), List.of(), List.of(), List.of(), stop, stop);
    assertEquals(2, stopped.getActivity().size());
    assertTrue(stopped.getText().getDivAsString().contains("NO EXERCISE"));
  }

  @Test
  void showsWhatOthersPutThere() {
    String div = apply(shared(), List.of("a"), List.of()).getText().getDivAsString();
    assertTrue(div.contains("Walking: 20 minutes at noon"), div);
    assertTrue(div.contains("See ServiceRequest/theirs."), div);
    assertFalse(div.contains("See ServiceRequest/a"), div);
  }

  @Test
  void addsTitleCategoryAndGoalsOnce() {
    CarePlan once = apply(shared(), List.of("a"), List.of());
    CarePlan twice = apply(Sample.stored(CarePlan.class, once), List.of("a"), List.of());
    assertEquals("Full bend under load, right knee", twice.getTitle());
    assertEquals(1, twice.getCategory().size());
    assertTrue(
        twice
            .getCategoryFirstRep()
            .hasCoding("http://hl7.org/fhir/us/core/CodeSystem/careplan-category", "assess-plan"));
    assertEquals(
        List.of("Goal/theirs", "Goal/g1", "Goal/g2"),
        twice.getGoal().stream().map(Reference::getReference).toList());
  }

  @Test
  void keepsTheTitleThatSomeoneGave() {
    assertEquals(
        "Ines, knee", apply(shared().setTitle("Ines, knee"), List.of(), List.of()).getTitle());
  }

  @Test
  void leavesThePlanThatWasPassedInAlone() {
    CarePlan current = shared();
    apply(current, List.of("a"), List.of("b"));
    assertTrue(current.equalsDeep(shared()));
  }

  @Test
  void theSameInputGivesTheSamePlan() {
    CarePlan once = Sample.stored(CarePlan.class, apply(shared(), List.of("a"), List.of("b")));
    CarePlan twice = Sample.stored(CarePlan.class, apply(once, List.of("a"), List.of("b")));
    assertTrue(once.equalsDeep(twice));
  }

  private static CarePlan apply(CarePlan current, List<String> orders, List<String> proposals) {
    return CarePlanWriter.apply(
        current,
        Sample.PLAN,
        orders,
        proposals,
        List.of("g1", "g2"),
        List.of("f"),
        Sample.progress(),
        Sample.progress());
  }

  /** A plan that another system has written into as well. */
  private static CarePlan shared() {
    CarePlan plan = new CarePlan();
    plan.setSubject(new Reference("Patient/ines-marlow"));
    plan.addGoal(new Reference("Goal/theirs"));
    plan.addActivity(
        new CarePlanActivityComponent().setReference(new Reference("ServiceRequest/theirs")));
    CarePlanActivityComponent walking = new CarePlanActivityComponent();
    walking
        .getDetail()
        .setCode(new CodeableConcept().setText("Walking"))
        .setDescription("20 minutes at noon")
        .setStatus(CarePlan.CarePlanActivityStatus.INPROGRESS);
    return plan.addActivity(walking);
  }

  private static List<String> references(CarePlan plan) {
    return plan.getActivity().stream()
        .filter(CarePlanActivityComponent::hasReference)
        .map(activity -> activity.getReference().getReference())
        .toList();
  }
}
