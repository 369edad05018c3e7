package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertNotEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import ca.uhn.fhir.rest.api.RequestTypeEnum;
import ca.uhn.fhir.rest.client.api.IGenericClient;
import ca.uhn.fhir.rest.server.exceptions.InternalErrorException;
import ca.uhn.fhir.rest.server.exceptions.InvalidRequestException;
import io.quarkus.test.junit.QuarkusTest;
import io.quarkus.test.junit.QuarkusTestProfile;
import io.quarkus.test.junit.TestProfile;
import jakarta.inject.Inject;
import java.nio.charset.StandardCharsets;
import java.util.HashSet;
import java.util.List;
import java.util.Map;
import java.util.Set;
import java.util.UUID;
import java.util.concurrent.atomic.AtomicBoolean;
import java.util.stream.Collectors;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.DocumentReference;
import org.hl7.fhir.r4.model.Goal;
import org.hl7.fhir.r4.model.Identifier;
import org.hl7.fhir.r4.model.Narrative;
import org.hl7.fhir.r4.model.OperationOutcome;
import org.hl7.fhir.r4.model.Parameters;
import org.hl7.fhir.r4.model.Patient;
import org.hl7.fhir.r4.model.Provenance;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.hl7.fhir.r4.model.StringType;
import org.hl7.fhir.r4.model.Type;
import org.hl7.fhir.r4.model.UriType;
import org.junit.jupiter.api.AfterEach;
import org.junit.jupiter.api.BeforeEach;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.api.extension.ExtendWith;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.ValueSource;
import org.tidemark.application.PaperFiling;
import org.tidemark.clinic.ActsForHome;
import org.tidemark.demo.PlainRecordSystem;
import org.tidemark.recordsystem.WriteBack;

/** Writes plans to HAPI's own server, with HAPI's own store. */
@ExtendWith(ActsForHome.class)
@QuarkusTest
@TestProfile(WriteBackTest.WithRecordSystem.class)
class WriteBackTest {
  private static final String NATIONAL = "https://numbers.example/person";
  private static final Set<String> TYPES =
      Set.of("Patient", "CarePlan", "Goal", "ServiceRequest", "Provenance", "DocumentReference");

  /** A record system on this machine. */
  public static final class WithRecordSystem implements QuarkusTestProfile {
    @Override
    public Map<String, String> getConfigOverrides() {
      return Map.of(
          "tidemark.subscriptions.allowed-hosts", "localhost",
          "tidemark.record-system.base-url", "http://localhost:" + port() + "/fhir",
          "tidemark.record-system.write-back", "true",
          "tidemark.record-system.write-back.every", "off",
          "tidemark.record-system.write-back.pause", "1ms");
    }

    /** The same in each class loader of the tests. */
    static int port() {
      String name = "tidemark.tests.written-to";
      if (System.getProperty(name) == null) {
        System.setProperty(name, Integer.toString(PackagedService.freePort()));
      }
      return Integer.getInteger(name);
    }
  }

  @Inject WriteBack writeBack;
  @Inject PaperFiling papers;
  private PlainRecordSystem there;
  private PlanPerson person;
  private Identifier number;

  @BeforeEach
  void begin() {
    start(true);
  }

  private void start(boolean transactions) {
    there = new PlainRecordSystem(WithRecordSystem.port(), transactions, TYPES);
    number = new Identifier().setSystem(NATIONAL).setValue(UUID.randomUUID().toString());
    person = PlanPerson.enrolled();
    Patient patient =
        PlanPerson.client().read().resource(Patient.class).withId(id(person.subject)).execute();
    PlanPerson.client().update().resource(patient.addIdentifier(number)).execute();
    there.put(new Patient().addIdentifier(number).setId("their-" + number.getValue()));
  }

  @AfterEach
  void end() {
    there.close();
  }

  private static String id(String reference) {
    return reference.substring(reference.indexOf('/') + 1);
  }

  private IGenericClient record() {
    return PlanPerson.CONTEXT.newRestfulGenericClient(there.base());
  }

  /** What the record system has of a type that comes from here. */
  private <T extends Resource> List<T> there(Class<T> type) {
    return there
        .all(type.getSimpleName())
        .map(type::cast)
        .filter(record -> record.getMeta().hasSource())
        .filter(record -> record.getMeta().getSource().startsWith(PlanPerson.BASE))
        .toList();
  }

  private CarePlan planThere() {
    return only(there(CarePlan.class));
  }

  private static <T> T only(List<T> all) {
    assertEquals(1, all.size());
    return all.get(0);
  }

  private static String itself(Resource record) {
    return record.fhirType() + "/" + record.getIdElement().getIdPart();
  }

  private Parameters status() {
    return PlanPerson.client()
        .operation()
        .onServer()
        .named("$write-back-status")
        .withNoParameters(Parameters.class)
        .execute();
  }

  /** Of this person's plan; those of other tests wait for other record systems. */
  private List<Parameters.ParametersParameterComponent> waiting() {
    return status().getParameter().stream()
        .filter(one -> one.getName().equals("waiting"))
        .filter(one -> ((Reference) part(one, "plan")).equalsDeep(plan()))
        .toList();
  }

  private List<Parameters.ParametersParameterComponent> conflicts() {
    return status().getParameter().stream()
        .filter(one -> one.getName().equals("conflict"))
        .filter(one -> ((UriType) part(one, "there")).getValue().startsWith(there.base() + "/"))
        .filter(one -> isOfThePlan(((Reference) part(one, "record")).getReference()))
        .toList();
  }

  private boolean isOfThePlan(String record) {
    CarePlan plan = person.plan();
    return record.equals(plan().getReference())
        || plan.getGoal().stream().anyMatch(goal -> record.equals(goal.getReference()))
        || plan.getActivity().stream()
            .anyMatch(activity -> record.equals(activity.getReference().getReference()));
  }

  private static Type part(Parameters.ParametersParameterComponent told, String name) {
    return told.getPart().stream()
        .filter(one -> one.getName().equals(name))
        .map(Parameters.ParametersParameterComponent::getValue)
        .findFirst()
        .orElseThrow();
  }

  private Parameters ask(Map<String, Type> values) {
    Parameters parameters = new Parameters();
    values.forEach((name, value) -> parameters.addParameter().setName(name).setValue(value));
    return PlanPerson.client()
        .operation()
        .onServer()
        .named("$write-back")
        .withParameters(parameters)
        .execute();
  }

  private Reference plan() {
    return new Reference("CarePlan/" + person.plan().getIdElement().getIdPart());
  }

  /** Lets the service look at the plan again. */
  private void writeAgain() {
    ask(Map.of("plan", plan()));
    writeBack.write();
  }

  @ParameterizedTest
  @ValueSource(booleans = {true, false})
  void aPlanIsThereWithAllThatTellsOfIt(boolean transactions) {
    if (!transactions) {
      end();
      start(false);
    }
    papers.file();
    writeBack.write();
    assertEquals(List.of(), waiting());
    CarePlan here = person.plan();
    CarePlan plan = planThere();
    assertEquals("Patient/their-" + number.getValue(), plan.getSubject().getReference());
    assertEquals(here.getStatus(), plan.getStatus());
    assertTrue(
        plan.getIdentifier().stream()
            .anyMatch(
                one ->
                    one.getSystem().equals(PlanPerson.BASE + "/CarePlan")
                        && one.getValue().equals(here.getIdElement().getIdPart())));
    Set<String> orders =
        there(ServiceRequest.class).stream().map(WriteBackTest::itself).collect(Collectors.toSet());
    assertEquals(person.inForce().size(), orders.size());
    writeAgain();
    assertEquals(
        orders,
        planThere().getActivity().stream()
            .map(activity -> activity.getReference().getReference())
            .collect(Collectors.toSet()));
    Set<String> goals =
        there(Goal.class).stream().map(WriteBackTest::itself).collect(Collectors.toSet());
    assertFalse(goals.isEmpty());
    assertEquals(
        goals,
        planThere().getGoal().stream().map(Reference::getReference).collect(Collectors.toSet()));
    List<DocumentReference> documents = there(DocumentReference.class);
    assertEquals(2, documents.size());
    for (DocumentReference document : documents) {
      byte[] pdf = document.getContentFirstRep().getAttachment().getData();
      assertEquals("%PDF-", new String(pdf, 0, 5, StandardCharsets.US_ASCII));
    }
    Set<String> known = new HashSet<>(orders);
    known.addAll(goals);
    known.add(itself(plan));
    assertFalse(there(Provenance.class).isEmpty());
    for (Provenance trail : there(Provenance.class)) {
      assertTrue(trail.getTarget().stream().map(Reference::getReference).anyMatch(known::contains));
    }
  }

  @ParameterizedTest
  @ValueSource(booleans = {true, false})
  void whatChangesHereIsChangedThereAndNothingIsDoubled(boolean transactions) {
    if (!transactions) {
      end();
      start(false);
    }
    writeBack.write();
    CarePlan before = planThere();
    person.settled(1, 4);
    writeBack.write();
    CarePlan after = planThere();
    assertEquals(itself(before), itself(after));
    assertNotEquals(before.getMeta().getVersionId(), after.getMeta().getVersionId());
    assertEquals(person.plan().getMeta().getVersionId(), version(after));
    assertEquals(
        person.inForce().size(),
        there(ServiceRequest.class).stream()
            .filter(order -> order.getStatus() == ServiceRequest.ServiceRequestStatus.ACTIVE)
            .count());
    long trails = there(Provenance.class).size();
    writeAgain();
    assertEquals(trails, there(Provenance.class).size());
    assertEquals(after.getMeta().getVersionId(), planThere().getMeta().getVersionId());
    Set<String> named = new HashSet<>();
    there(Provenance.class).forEach(trail -> named.add(trail.getMeta().getSource()));
    assertEquals(trails, named.size(), "each is there once");
  }

  private static String version(Resource record) {
    return record.getMeta().getSource().replaceFirst(".*/_history/", "").replaceFirst("#.*", "");
  }

  @ParameterizedTest
  @ValueSource(booleans = {true, false})
  void lostAnswersDoubleNothing(boolean transactions) {
    if (!transactions) {
      end();
      start(false);
    }
    int goals = person.plan().getGoal().size();
    for (int again = 0; again < 30 && !isAllThere(); again++) {
      loseAnAnswer();
      writeAgain();
      sleep();
    }
    there.beforeAnswers(method -> {});
    writeAgain();
    assertTrue(isAllThere(), () -> PlanPerson.json(status()));
    planThere();
    assertEquals(goals, there(Goal.class).size());
    assertEquals(person.inForce().size(), there(ServiceRequest.class).size());
    List<Provenance> trails = there(Provenance.class);
    assertEquals(
        trails.size(),
        trails.stream().map(trail -> trail.getMeta().getSource()).distinct().count());
    person.settled(1, 3);
    loseAnAnswer();
    writeBack.write();
    sleep();
    writeAgain();
    assertTrue(isAllThere(), () -> PlanPerson.json(status()));
    assertEquals(person.plan().getMeta().getVersionId(), version(planThere()));
  }

  /** Of the next write. */
  private void loseAnAnswer() {
    AtomicBoolean lost = new AtomicBoolean();
    there.beforeAnswers(
        method -> {
          if (method != RequestTypeEnum.GET && lost.compareAndSet(false, true)) {
            throw new InternalErrorException("The answer is lost.");
          }
        });
  }

  private boolean isAllThere() {
    return waiting().isEmpty() && conflicts().isEmpty() && !there(CarePlan.class).isEmpty();
  }

  /** The pauses after failures are of milliseconds here. */
  private static void sleep() {
    try {
      Thread.sleep(20);
    } catch (InterruptedException e) {
      Thread.currentThread().interrupt();
    }
  }

  @Test
  void aPauseSetThereHoldsThePlanHere() {
    writeBack.write();
    CarePlan edited = planThere().copy();
    edited.setStatus(CarePlan.CarePlanStatus.ONHOLD);
    record().update().resource(edited).execute();
    person.settled(1, 1);
    writeBack.write();
    assertEquals(CarePlan.CarePlanStatus.ONHOLD, person.plan().getStatus());
    assertTrue(person.plan().getMeta().getSource().startsWith(there.base() + "/" + itself(edited)));
    assertEquals(CarePlan.CarePlanStatus.ONHOLD, planThere().getStatus());
    assertEquals(List.of(), conflicts());
    assertTrue(
        there(ServiceRequest.class).stream()
            .allMatch(order -> order.getStatus() == ServiceRequest.ServiceRequestStatus.ONHOLD));
  }

  @Test
  void anExerciseSetThereIsInForceHere() {
    writeBack.write();
    ServiceRequest order = there(ServiceRequest.class).get(0);
    ServiceRequest edited = order.copy();
    org.hl7.fhir.r4.model.Timing timing = edited.getOccurrenceTiming();
    int often = timing.getRepeat().getFrequency();
    timing.getRepeat().setFrequency(often + 1);
    record().update().resource(edited).execute();
    writeAgain();
    String told = PlanPerson.json(status());
    ServiceRequest here =
        PlanPerson.client()
            .read()
            .resource(ServiceRequest.class)
            .withId(
                order.getIdentifier().stream()
                    .filter(one -> one.getSystem().startsWith(PlanPerson.BASE))
                    .findFirst()
                    .orElseThrow()
                    .getValue())
            .execute();
    assertEquals(often + 1, here.getOccurrenceTiming().getRepeat().getFrequency(), told);
    assertTrue(PlanPerson.reasons(person.lastDecision()).contains("clinician-override"), told);
    assertEquals(List.of(), conflicts());
  }

  @Test
  void whatCannotBeTakenIsToldAndStandsThereUntilSomebodyDecides() {
    writeBack.write();
    ServiceRequest order = there(ServiceRequest.class).get(0).copy();
    order.setStatus(ServiceRequest.ServiceRequestStatus.REVOKED);
    record().update().resource(order).execute();
    writeAgain();
    Parameters.ParametersParameterComponent conflict = only(conflicts());
    OperationOutcome why =
        (OperationOutcome)
            conflict.getPart().stream()
                .filter(one -> one.getName().equals("outcome"))
                .findFirst()
                .orElseThrow()
                .getResource();
    assertEquals("ServiceRequest.status", why.getIssueFirstRep().getExpression().get(0).getValue());
    assertEquals(
        ServiceRequest.ServiceRequestStatus.REVOKED, read(order).getStatus(), "not overwritten");
    Reference record = (Reference) part(conflict, "record");
    InvalidRequestException wrong =
        assertThrows(
            InvalidRequestException.class,
            () -> ask(Map.of("plan", plan(), "record", record, "keep", new CodeType("neither"))));
    assertTrue(wrong.getResponseBody().contains("'keep'"), wrong.getResponseBody());
    ask(Map.of("plan", plan(), "record", record, "keep", new CodeType("here")));
    writeBack.write();
    assertEquals(ServiceRequest.ServiceRequestStatus.ACTIVE, read(order).getStatus());
    assertEquals(List.of(), conflicts());
  }

  private ServiceRequest read(ServiceRequest order) {
    return record()
        .read()
        .resource(ServiceRequest.class)
        .withId(order.getIdElement().getIdPart())
        .execute();
  }

  /** R4: "additional" is a narrative that may hold what the elements do not. */
  @Test
  void aNarrativeThatSomebodyAddedToIsNotWrittenOver() {
    writeBack.write();
    CarePlan edited = planThere().copy();
    edited.getText().setStatus(Narrative.NarrativeStatus.ADDITIONAL);
    edited.getText().setDivAsString("<div>Left knee: see the letter of 3 March</div>");
    record().update().resource(edited).execute();
    person.settled(1, 3);
    writeAgain();
    assertTrue(planThere().getText().getDivAsString().contains("3 March"));
    Parameters.ParametersParameterComponent conflict = only(conflicts());
    assertTrue(PlanPerson.json(status()).contains("CarePlan.text"));
    Reference record = (Reference) part(conflict, "record");
    ask(Map.of("plan", plan(), "record", record, "keep", new CodeType("here")));
    writeBack.write();
    assertFalse(planThere().getText().getDivAsString().contains("3 March"));
    assertEquals(List.of(), conflicts());
  }

  @Test
  void whatIsKeptThereIsLeftThere() {
    writeBack.write();
    Goal goal = there(Goal.class).get(0).copy();
    record().delete().resource(goal).execute();
    writeAgain();
    Reference record = (Reference) part(only(conflicts()), "record");
    ask(Map.of("plan", plan(), "record", record, "keep", new CodeType("there")));
    writeBack.write();
    assertEquals(List.of(), conflicts());
    assertTrue(there(Goal.class).stream().noneMatch(one -> itself(one).equals(itself(goal))));
  }

  @Test
  void aPersonWhoIsNotThereIsTold() {
    there.close();
    there = new PlainRecordSystem(WithRecordSystem.port(), true, TYPES);
    writeBack.write();
    Parameters.ParametersParameterComponent waiting = only(waiting());
    assertEquals(plan().getReference(), ((Reference) part(waiting, "plan")).getReference());
    assertTrue(
        ((StringType) part(waiting, "problem")).getValue().contains("nobody"),
        () -> PlanPerson.json(status()));
    there.put(new Patient().addIdentifier(number).setId("their-" + number.getValue()));
    writeAgain();
    assertEquals(List.of(), waiting());
    planThere();
  }

  @Test
  void anUnknownPlanIsRefused() {
    InvalidRequestException wrong =
        assertThrows(
            InvalidRequestException.class,
            () -> ask(Map.of("plan", new Reference("CarePlan/nowhere"))));
    assertTrue(wrong.getResponseBody().contains("name='plan'"), wrong.getResponseBody());
  }
}
