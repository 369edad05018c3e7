package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.hamcrest.Matchers.containsString;
import static org.hamcrest.Matchers.equalTo;
import static org.hamcrest.Matchers.hasItem;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertNotEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import io.quarkus.test.junit.QuarkusTestProfile;
import io.quarkus.test.junit.TestProfile;
import io.restassured.response.ValidatableResponse;
import java.nio.charset.StandardCharsets;
import java.util.ArrayList;
import java.util.HashSet;
import java.util.List;
import java.util.Map;
import java.util.Set;
import java.util.UUID;
import java.util.concurrent.Callable;
import java.util.concurrent.Executors;
import java.util.concurrent.Future;
import java.util.stream.Collectors;
import org.hl7.fhir.r4.model.Binary;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.Composition;
import org.hl7.fhir.r4.model.DocumentReference;
import org.hl7.fhir.r4.model.GuidanceResponse;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Patient;
import org.hl7.fhir.r4.model.PlanDefinition;
import org.hl7.fhir.r4.model.Provenance;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.jose4j.jwk.JsonWebKeySet;
import org.jose4j.jws.JsonWebSignature;
import org.jose4j.lang.JoseException;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.ValueSource;
import org.tidemark.application.PaperFiling;
import org.tidemark.fhir.ProfileValidation;

/**
 * A plan moves from one clinic to another by a signed document, nothing is lost, and the next
 * decision there is the one that would have been taken here.
 */
@QuarkusTest
@TestProfile(HandoverTest.Trusting.class)
class HandoverTest {
  @jakarta.inject.Inject PaperFiling papers;

  /** A clinic that takes the documents of another. */
  public static final class Trusting implements QuarkusTestProfile {
    @Override
    public Map<String, String> getConfigOverrides() {
      return Map.of("tidemark.handover.trusted", OtherClinic.BASE + "|" + OtherClinic.keys());
    }
  }

  // ---- the document ----

  private static String document(PlanPerson person) {
    return given()
        .get("/fhir/CarePlan/" + planId(person) + "/$handover")
        .then()
        .statusCode(200)
        .extract()
        .asString();
  }

  private static String planId(PlanPerson person) {
    return person.plan().getIdElement().getIdPart();
  }

  private static Bundle parsed(String json) {
    return PlanPerson.CONTEXT.newJsonParser().parseResource(Bundle.class, json);
  }

  private static <T extends Resource> List<T> all(Bundle bundle, Class<T> type) {
    return bundle.getEntry().stream()
        .map(Bundle.BundleEntryComponent::getResource)
        .filter(type::isInstance)
        .map(type::cast)
        .collect(Collectors.toList());
  }

  private static PlanPerson withCourse(long seed, int events) {
    PlanPerson person = PlanPerson.enrolled();
    new RandomCourse(person, seed).happens(events);
    return person;
  }

  /** R4, documents: bdl-7, bdl-9 to bdl-11, and every reference of the Composition is held. */
  @Test
  void theDocumentIsValidAndHoldsAllThatThePlanRestsOn() {
    PlanPerson person = withCourse(3, 12);
    papers.file();
    Bundle document = parsed(document(person));
    assertEquals(Bundle.BundleType.DOCUMENT, document.getType());
    assertTrue(document.getEntryFirstRep().getResource() instanceof Composition);
    assertEquals(
        document.getEntry().size(),
        document.getEntry().stream().map(e -> e.getFullUrl()).distinct().count());
    for (Class<? extends Resource> type :
        List.of(
            Observation.class,
            ServiceRequest.class,
            GuidanceResponse.class,
            org.hl7.fhir.r4.model.Goal.class,
            org.hl7.fhir.r4.model.Task.class,
            org.hl7.fhir.r4.model.Flag.class,
            org.hl7.fhir.r4.model.RiskAssessment.class,
            DocumentReference.class)) {
      assertEquals(ids(person.all(type)), ids(all(document, type)), type.getSimpleName());
    }
    assertEquals(1, all(document, Patient.class).size());
    assertEquals(1, all(document, PlanDefinition.class).size());
    assertEquals(2, all(document, Binary.class).size());
    assertEquals(
        all(document, GuidanceResponse.class).size(), all(document, Provenance.class).size());
    List<String> errors = new ArrayList<>(ProfileValidation.errors(document));
    assertEquals(List.of(), errors);
  }

  /** JSON is sent as texts, other forms are encoded. */
  @ParameterizedTest
  @ValueSource(strings = {"_pretty=true", "_format=xml"})
  void theDocumentIsTheSameInEachForm(String form) {
    String path =
        "/fhir/CarePlan/" + withCourse(3, 4).plan().getIdElement().getIdPart() + "/$handover";
    String text = given().urlEncodingEnabled(false).get(path + "?" + form).asString();
    Bundle other =
        (text.startsWith("<")
                ? PlanPerson.CONTEXT.newXmlParser()
                : PlanPerson.CONTEXT.newJsonParser())
            .parseResource(Bundle.class, text);
    Bundle plain = parsed(given().urlEncodingEnabled(false).get(path).asString());
    assertTrue(other.getSignature().hasData());
    for (Bundle each : List.of(plain, other)) {
      each.setSignature(null).setTimestamp(null);
      ((Composition) each.getEntryFirstRep().getResource()).setDate(null).setText(null);
    }
    assertEquals(PlanPerson.json(plain), PlanPerson.json(other));
  }

  private static Set<String> ids(List<? extends Resource> resources) {
    return resources.stream().map(r -> r.getIdElement().getIdPart()).collect(Collectors.toSet());
  }

  @Test
  void whoReadsWordsAloneMissesNothing() {
    PlanPerson person = withCourse(5, 10);
    Bundle document = parsed(document(person));
    Composition composition = (Composition) document.getEntryFirstRep().getResource();
    StringBuilder words = new StringBuilder(composition.getText().getDiv().allText());
    composition
        .getSection()
        .forEach(
            section -> {
              words.append(section.getText().getDiv().allText());
              section.getSection().forEach(s -> words.append(s.getText().getDiv().allText()));
            });
    String said = words.toString();
    person.inForce().values().forEach(o -> assertTrue(said.contains(o.getPatientInstruction())));
    person
        .decisions()
        .forEach(
            d ->
                d.getReasonCode()
                    .forEach(r -> assertTrue(said.contains(r.getText()), r.getText())));
    person
        .all(Observation.class)
        .forEach(o -> assertTrue(said.contains(o.getEffective().primitiveValue())));
    assertTrue(said.contains(person.plan().getText().getDiv().allText()));
  }

  /** With a JWS library and a canonical JSON that are not those of the service. */
  @Test
  void anyoneCanVerifyTheSignature() throws Exception {
    String json = document(PlanPerson.enrolled());
    Bundle document = parsed(json);
    assertEquals("application/jose", document.getSignature().getSigFormat());
    assertTrue(
        document.getSignature().getTargetFormat().endsWith("/canonicalization/json#document"));
    String[] parts =
        new String(document.getSignature().getData(), StandardCharsets.US_ASCII).split("\\.", -1);
    assertEquals("", parts[1], "detached");
    JsonWebKeySet keys =
        new JsonWebKeySet(
            given().get("/.well-known/jwks.json").then().statusCode(200).extract().asString());
    assertFalse(keys.toJson().contains("\"d\""), "no private part");
    assertTrue(verifies(parts, keys, json));
    assertFalse(verifies(parts, keys, json.replace("Brandvik", "Brandvig")));
  }

  private static boolean verifies(String[] parts, JsonWebKeySet keys, String json)
      throws JoseException {
    JsonWebSignature jws = new JsonWebSignature();
    jws.setCompactSerialization(String.join(".", parts));
    jws.setPayload(OtherClinic.canonical(OtherClinic.json(json)));
    jws.setKey(keys.findJsonWebKey(jws.getKeyIdHeaderValue(), null, null, null).getKey());
    return jws.verifySignature();
  }

  @Test
  void theSameStateIsTheSameDocumentAndAnotherIsAnother() {
    PlanPerson person = PlanPerson.enrolled();
    String first = parsed(document(person)).getIdentifier().getValue();
    assertEquals(first, parsed(document(person)).getIdentifier().getValue());
    person.send(person.session(1));
    assertNotEquals(first, parsed(document(person)).getIdentifier().getValue());
  }

  @Test
  void onlyPlansOfTheServiceAreHandedOver() {
    given().get("/fhir/CarePlan/none/$handover").then().statusCode(404);
    given()
        .get("/fhir/CarePlan/" + planId(PlanPerson.enrolled()) + "/$handover?form=letter")
        .then()
        .statusCode(400)
        .body("issue[0].expression", hasItem("Parameters.parameter.where(name='form')"));
  }

  // ---- receiving ----

  private static ValidatableResponse receive(String document) {
    return given().contentType(Fhir.JSON).body(document).post("/fhir/$receive-handover").then();
  }

  private static String received(String document, String parameter) {
    return receive(document)
        .statusCode(200)
        .extract()
        .path("parameter.find { it.name == '" + parameter + "' }.valueReference.reference");
  }

  /** The person at the clinic that has received the plan. */
  private static PlanPerson there(String document) {
    return PlanPerson.elsewhere(received(document, "person"));
  }

  /** What would be decided now, with its reasons, its figures and what was considered. */
  private static List<String> decided(PlanPerson person) {
    GuidanceResponse last =
        person.next().getParameter().stream()
            .filter(p -> p.getName().equals("decision"))
            .map(p -> (GuidanceResponse) p.getResource())
            .findFirst()
            .orElseThrow();
    List<String> told = new ArrayList<>(PlanPerson.reasons(last));
    told.add(PlanPerson.verdict(last));
    last.getExtension().stream()
        .map(e -> PlanPerson.CONTEXT.newJsonParser().encodeToString(e))
        .forEach(told::add);
    return told;
  }

  @ParameterizedTest(name = "seed {0}")
  @ValueSource(longs = {1, 2, 3, 4})
  void theNextDecisionThereIsTheOneHere(long seed) {
    PlanPerson here = PlanPerson.enrolled();
    RandomCourse course = new RandomCourse(here, seed);
    course.happens(14 + (int) seed);
    PlanPerson there = there(OtherClinic.from(document(here)));
    assertNotEquals(here.subject, there.subject);
    assertEquals(here.plan().getStatus(), there.plan().getStatus());
    assertEquals(here.asked(), there.asked());
    assertEquals(here.nextAsked(), there.nextAsked());
    assertEquals(decided(here), decided(there));
    assertEquals(here.all(Observation.class).size(), there.all(Observation.class).size());
    assertEquals(here.decisions().size(), there.decisions().size());
    int next = course.day() + 1;
    for (PlanPerson person : List.of(here, there)) {
      new RandomCourse(person, 1000 + seed, next).happens(6);
    }
    assertEquals(here.asked(), there.asked());
    assertEquals(decided(here), decided(there));
    assertEquals(here.decisions().size(), there.decisions().size());
  }

  /** The fold starts anew when a report from before the handover is put right. */
  @Test
  void aReportFromBeforeIsPutRightThereAsHere() {
    PlanPerson here = withCourse(11, 16);
    PlanPerson there = there(OtherClinic.from(document(here)));
    for (PlanPerson person : List.of(here, there)) {
      person.all(Observation.class).stream()
          .filter(o -> o.getCode().getCodingFirstRep().getCode().equals("session"))
          .sorted(java.util.Comparator.comparing(o -> o.getEffective().primitiveValue()))
          .skip(2)
          .limit(1)
          .forEach(
              o -> {
                o.setStatus(Observation.ObservationStatus.ENTEREDINERROR);
                person.amend(o);
              });
    }
    assertEquals(here.asked(), there.asked());
    assertEquals(decided(here), decided(there));
  }

  @Test
  void recordsKeepWhereTheyComeFrom() {
    PlanPerson here = withCourse(4, 6);
    String document = OtherClinic.from(document(here));
    PlanPerson there = there(document);
    String id = here.subject.substring("Patient/".length());
    Patient patient =
        PlanPerson.client().read().resource(Patient.class).withUrl(there.subject).execute();
    assertTrue(
        patient.getIdentifier().stream()
            .anyMatch(
                i ->
                    (OtherClinic.BASE + "/Patient").equals(i.getSystem())
                        && id.equals(i.getValue())));
    CarePlan plan = there.plan();
    assertEquals(
        OtherClinic.BASE + "/CarePlan/" + planId(here),
        plan.getReplaces().get(plan.getReplaces().size() - 1).getReference());
    for (Observation report : there.all(Observation.class)) {
      assertTrue(report.getMeta().getSource().startsWith(OtherClinic.BASE + "/Observation/"));
      assertFalse(report.hasExtension(PlanPerson.OURS + "plan-fact"));
    }
    Provenance receipt =
        all(
                PlanPerson.client()
                    .search()
                    .byUrl(
                        PlanPerson.BASE
                            + "/Provenance?target=CarePlan/"
                            + plan.getIdElement().getIdPart()
                            + "&_count=500")
                    .returnBundle(Bundle.class)
                    .execute(),
                Provenance.class)
            .stream()
            .filter(Provenance::hasSignature)
            .findFirst()
            .orElseThrow();
    assertEquals(
        parsed(document).getIdentifier().getValue(),
        receipt.getEntityFirstRep().getWhat().getIdentifier().getValue());
  }

  @Test
  void sentTwiceItChangesNothing() throws Exception {
    PlanPerson here = withCourse(6, 6);
    String document = OtherClinic.from(document(here));
    String plan = received(document, "plan");
    PlanPerson there = there(document);
    long before = records(there);
    receive(document)
        .statusCode(200)
        .body("parameter.find { it.name == 'changed' }.valueBoolean", equalTo(false));
    assertEquals(plan, received(document, "plan"));
    assertEquals(before, records(there));
  }

  private static long records(PlanPerson person) {
    return person.all(Observation.class).size()
        + person.all(GuidanceResponse.class).size()
        + person.all(CarePlan.class).size();
  }

  @Test
  void ofManySendingsAtOnceOneIsTaken() throws Exception {
    String document = OtherClinic.from(document(PlanPerson.enrolled()));
    List<Callable<String>> sendings = new ArrayList<>();
    for (int i = 0; i < 6; i++) {
      sendings.add(() -> received(document, "plan"));
    }
    var threads = Executors.newFixedThreadPool(6);
    Set<String> plans = new HashSet<>();
    for (Future<String> plan : threads.invokeAll(sendings)) {
      plans.add(plan.get());
    }
    threads.shutdown();
    assertEquals(1, plans.size());
  }

  @Test
  void aLaterDocumentIsTakenUntilThePlanHasGoneOnThere() {
    PlanPerson here = PlanPerson.enrolled();
    here.settled(1, 2);
    PlanPerson there = there(OtherClinic.from(document(here)));
    here.settled(3, 8);
    String later = OtherClinic.from(document(here));
    assertEquals(there.subject, received(later, "person"));
    assertEquals(here.asked(), there.asked());
    assertEquals(here.all(Observation.class).size(), there.all(Observation.class).size());
    there.send(there.session(9));
    here.send(here.session(9, 3, 3));
    receive(OtherClinic.from(document(here)))
        .statusCode(422)
        .body("issue[0].details.coding[0].code", equalTo("business-rule"))
        .body("issue[0].details.text", containsString("has gone on here"));
  }

  @Test
  void aPersonWhoIsKnownKeepsTheirRecord() {
    PlanPerson here = PlanPerson.enrolled();
    PlanPerson known = PlanPerson.here();
    String document = OtherClinic.from(document(here));
    given()
        .contentType(Fhir.JSON)
        .body(document)
        .post("/fhir/$receive-handover?patient=" + known.subject.substring("Patient/".length()))
        .then()
        .statusCode(200);
    assertEquals(here.asked(), known.asked());
    given()
        .contentType(Fhir.JSON)
        .body(OtherClinic.from(document(PlanPerson.enrolled())))
        .post("/fhir/$receive-handover?patient=nobody-" + UUID.randomUUID())
        .then()
        .statusCode(422);
    given()
        .contentType(Fhir.JSON)
        .body(OtherClinic.from(document(PlanPerson.enrolled())))
        .post("/fhir/$receive-handover?patient=" + known.subject.substring("Patient/".length()))
        .then()
        .statusCode(422)
        .body("issue[0].details.text", containsString("already has an open plan"));
  }

  // ---- refusals ----

  private static void refused(String document, String code, String expression) {
    receive(document)
        .statusCode(422)
        .body("issue[0].details.coding[0].code", equalTo(code))
        .body("issue.expression.flatten()", hasItem(expression));
  }

  @Test
  void whatIsNotSignedByATrustedClinicIsRefused() {
    PlanPerson here = PlanPerson.enrolled();
    String ours = document(here);
    refused(ours, "not-trusted", "Bundle.identifier.system");
    String theirs = OtherClinic.from(ours);
    Bundle unsigned = parsed(theirs);
    unsigned.setSignature(null);
    refused(PlanPerson.json(unsigned), "missing", "Bundle.signature");
    refused(
        ours.replace(PlanPerson.BASE, OtherClinic.BASE), "not-trusted", "Bundle.signature.data");
    assertEquals(1, here.all(CarePlan.class).size());
  }

  @Test
  void aDocumentInXmlIsRefusedAsItIsSignedInJson() {
    String theirs = OtherClinic.from(document(withCourse(12, 3)));
    given()
        .contentType("application/fhir+xml; charset=UTF-8")
        .body(PlanPerson.CONTEXT.newXmlParser().encodeResourceToString(parsed(theirs)))
        .post("/fhir/$receive-handover")
        .then()
        .statusCode(415);
  }

  @Test
  void aTamperedDocumentIsRefused() {
    String theirs = OtherClinic.from(document(withCourse(2, 4)));
    for (String[] change :
        List.of(
            new String[] {"Brandvik", "Brandvig"},
            new String[] {"\"status\":\"final\"", "\"status\":\"amended\""},
            new String[] {"\\\"value\\\":", "\\\"value\\\":1"})) {
      String tampered =
          theirs.replaceFirst(
              java.util.regex.Pattern.quote(change[0]),
              java.util.regex.Matcher.quoteReplacement(change[1]));
      assertNotEquals(theirs, tampered, change[0]);
      refused(tampered, "not-trusted", "Bundle.signature.data");
    }
  }

  /** Signed rightly, but not whole. */
  @Test
  void anIncompleteDocumentIsRefusedByWhatIsMissing() {
    PlanPerson here = withCourse(9, 8);
    String theirs = OtherClinic.from(document(here));
    Bundle noComposition = parsed(theirs);
    noComposition.getEntry().remove(0);
    refused(signed(noComposition), "missing", "Bundle.entry[0].resource");
    Bundle noReport = parsed(theirs);
    noReport.getEntry().removeIf(e -> e.getResource() instanceof Observation);
    receive(signed(noReport))
        .statusCode(422)
        .body("issue[0].expression[0]", containsString("Bundle.entry[0].resource.section["));
    Bundle unnamed = parsed(theirs);
    unnamed.setIdentifier(new org.hl7.fhir.r4.model.Identifier().setSystem(OtherClinic.BASE));
    refused(signed(unnamed), "missing", "Bundle.identifier");
    Bundle twice = parsed(theirs);
    twice.addEntry(twice.getEntry().get(4).copy());
    refused(
        signed(twice), "duplicate", "Bundle.entry[" + (twice.getEntry().size() - 1) + "].fullUrl");
    Bundle foreign = parsed(theirs);
    foreign.getEntry().get(3).setFullUrl("http://third.example/fhir/Observation/x");
    refused(signed(foreign), "not-valid", "Bundle.entry[3].fullUrl");
    assertEquals(1, here.all(CarePlan.class).size());
  }

  /** The records and what is in force must agree: a fact that is left out is noticed. */
  @Test
  void factsThatDoNotLeadToWhatIsInForceAreRefused() {
    PlanPerson here = PlanPerson.enrolled();
    here.settled(1, 8);
    Bundle document = parsed(OtherClinic.from(document(here)));
    all(document, Observation.class).stream()
        .filter(o -> o.getCode().getCodingFirstRep().getCode().equals("session"))
        .forEach(o -> o.getExtension().clear());
    receive(signed(document))
        .statusCode(422)
        .body("issue[0].details.coding[0].code", equalTo("not-valid"))
        .body("issue[0].expression[0]", containsString(".activity"));
  }

  private static String signed(Bundle document) {
    return OtherClinic.signed(PlanPerson.json(document));
  }

  // ---- closing ----

  private static ValidatableResponse close(String planId, String identifier, String successor) {
    return given()
        .contentType(Fhir.JSON)
        .body(
            """
            {"resourceType": "Parameters", "parameter": [
              {"name": "document", "valueIdentifier": {"value": "%s"}},
              {"name": "successor", "valueUri": "%s"}]}
            """
                .formatted(identifier, successor))
        .post("/fhir/CarePlan/" + planId + "/$close-handover")
        .then();
  }

  @Test
  void thePlanIsClosedWithAPointerOnlyWhenTold() {
    PlanPerson here = PlanPerson.enrolled();
    here.settled(1, 2);
    String json = document(here);
    String plan = planId(here);
    String identifier = parsed(json).getIdentifier().getValue();
    String successor = received(OtherClinic.from(json), "plan");
    assertEquals(CarePlan.CarePlanStatus.ACTIVE, here.plan().getStatus());
    here.send(here.session(3));
    close(plan, identifier, successor).statusCode(412);
    assertEquals(CarePlan.CarePlanStatus.ACTIVE, here.plan().getStatus());
    String again = document(here);
    received(OtherClinic.from(again), "plan");
    close(plan, parsed(again).getIdentifier().getValue(), successor).statusCode(200);
    close(plan, parsed(again).getIdentifier().getValue(), successor).statusCode(200);
    CarePlan closed = here.plan();
    assertEquals(CarePlan.CarePlanStatus.REVOKED, closed.getStatus());
    assertEquals(
        successor,
        ((org.hl7.fhir.r4.model.Reference)
                closed.getExtensionByUrl(PlanPerson.OURS + "continued-by").getValue())
            .getReference());
    assertEquals(Map.of(), here.inForce());
    close(plan, "", "").statusCode(422);
  }

  // ---- for servers that know no documents ----

  @Test
  void theTransactionHoldsTheSameAndRefersToItself() {
    PlanPerson person = withCourse(3, 8);
    papers.file();
    Bundle document = parsed(document(person));
    Bundle transaction =
        parsed(
            given()
                .get("/fhir/CarePlan/" + planId(person) + "/$handover?form=transaction")
                .then()
                .statusCode(200)
                .extract()
                .asString());
    assertEquals(
        document.getEntry().size() - all(document, Binary.class).size(),
        transaction.getEntry().size());
    Set<String> urls =
        transaction.getEntry().stream().map(e -> e.getFullUrl()).collect(Collectors.toSet());
    transaction
        .getEntry()
        .forEach(
            entry ->
                org.tidemark.fhir.ReferenceWalk.each(
                    entry.getResource(),
                    (path, reference) ->
                        assertTrue(
                            urls.contains(reference.getReference())
                                || reference.getReference().startsWith("http"),
                            path + " " + reference.getReference())));
    assertEquals(
        List.of("Provenance"),
        transaction.getEntry().stream()
            .filter(e -> !e.getRequest().hasIfNoneExist())
            .map(e -> e.getResource().fhirType())
            .distinct()
            .toList());
    all(transaction, DocumentReference.class)
        .forEach(d -> assertTrue(d.getContentFirstRep().getAttachment().getData().length > 1000));
    assertEquals(List.of(), ProfileValidation.errors(transaction));
  }
}
