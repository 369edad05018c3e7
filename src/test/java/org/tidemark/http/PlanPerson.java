package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.junit.jupiter.api.Assertions.assertEquals;

import ca.uhn.fhir.context.FhirContext;
import ca.uhn.fhir.rest.client.api.IGenericClient;
import ca.uhn.fhir.rest.client.api.ServerValidationModeEnum;
import ca.uhn.fhir.rest.client.interceptor.BearerTokenAuthInterceptor;
import io.restassured.response.ValidatableResponse;
import java.io.IOException;
import java.io.InputStream;
import java.io.UncheckedIOException;
import java.math.BigDecimal;
import java.nio.charset.StandardCharsets;
import java.time.LocalDate;
import java.util.ArrayList;
import java.util.Comparator;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.UUID;
import java.util.stream.Collectors;
import org.hl7.fhir.r4.model.BooleanType;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.Coding;
import org.hl7.fhir.r4.model.DateTimeType;
import org.hl7.fhir.r4.model.Flag;
import org.hl7.fhir.r4.model.GuidanceResponse;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Parameters;
import org.hl7.fhir.r4.model.Patient;
import org.hl7.fhir.r4.model.Quantity;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.hl7.fhir.r4.model.Task;

/**
 * An invented person with a left knee, as a record system sees them: sends what is sent about them
 * and reads what the service made of it. Day 1 is the first day with a session.
 */
final class PlanPerson {
  static final FhirContext CONTEXT = FhirContext.forR4();

  /** Where the service listens; a packaged one elsewhere in each of several processes. */
  static final int PORT = Integer.getInteger("tidemark.test.port", 8081);

  static final String BASE = "http://localhost:" + PORT + "/fhir";
  static final String KNEE = "https://tidemark.example/fhir/PlanDefinition/knee-deep-flexion|1.0.0";
  static final String OURS = "https://tidemark.example/fhir/StructureDefinition/";

  private static final String REPORT_ITEM = "https://tidemark.example/fhir/CodeSystem/report-item";
  private static final LocalDate START = LocalDate.of(2026, 4, 13);
  private static final String OFFSET = "+02:00";

  static {
    CONTEXT.getRestfulClientFactory().setServerValidationMode(ServerValidationModeEnum.NEVER);
    CONTEXT.getRestfulClientFactory().setSocketTimeout(120_000);
  }

  /** The access token of the record system; null where access is open. */
  static String token;

  final String subject;

  private PlanPerson(String subject) {
    this.subject = subject;
  }

  /** Someone whose Patient is kept here. */
  static PlanPerson here() {
    String id = UUID.randomUUID().toString();
    Patient patient = new Patient();
    patient.setId(id);
    patient.addName().setFamily("Brandvik").addGiven("Tomas");
    client().update().resource(patient).execute();
    return new PlanPerson("Patient/" + id);
  }

  /** Someone whose Patient is kept in another record system. */
  static PlanPerson elsewhere(String reference) {
    return new PlanPerson(reference);
  }

  /** Someone with a complete baseline and equipment, on the programme of the knee. */
  static PlanPerson enrolled() {
    PlanPerson person = here();
    person.send(person.baseline());
    person.send(person.equipment());
    person.enrol();
    return person;
  }

  static IGenericClient client() {
    IGenericClient client = CONTEXT.newRestfulGenericClient(BASE);
    if (token != null) {
      client.registerInterceptor(new BearerTokenAuthInterceptor(token));
    }
    return client;
  }

  /** A resource as clients send it, from the examples of the profiles; it claims none. */
  static <T extends Resource> T wire(String name, Class<T> type) {
    try (InputStream file =
        PlanPerson.class.getResourceAsStream("/fhir-profiles/example/" + name + ".json")) {
      T resource =
          CONTEXT
              .newJsonParser()
              .parseResource(type, new String(file.readAllBytes(), StandardCharsets.UTF_8));
      resource.setMeta(null);
      return resource;
    } catch (IOException e) {
      throw new UncheckedIOException(e);
    }
  }

  static String json(Resource resource) {
    return CONTEXT.newJsonParser().encodeResourceToString(resource);
  }

  /** A time on a day of the plan, in the person's own offset. */
  static String at(int day, String time) {
    return START.plusDays(day) + "T" + time + ":00" + OFFSET;
  }

  static String date(int day) {
    return START.plusDays(day).toString();
  }

  // ---- what is sent ----

  Observation baseline() {
    return about("baseline-assessment", at(0, "11:20"));
  }

  Observation equipment() {
    return about("home-equipment", at(0, "11:00"));
  }

  CarePlan enrolment() {
    CarePlan plan = wire("care-plan-enrolment", CarePlan.class);
    plan.setSubject(new Reference(subject));
    plan.getExtensionByUrl(OURS + "response-policy")
        .setValue(new org.hl7.fhir.r4.model.CodeType("symptom-free"));
    plan.getExtensionByUrl(OURS + "change-control")
        .setValue(new org.hl7.fhir.r4.model.CodeType("within-stage"));
    plan.getPeriod().setStartElement(new DateTimeType(at(0, "11:30")));
    return plan;
  }

  /** A settled session that names no prescription. */
  Observation session(int day) {
    Observation session = about("session-report", at(day, "17:30"));
    session.getBasedOn().clear();
    return session;
  }

  Observation session(int day, int during, int after) {
    Observation session = session(day);
    answer(session, "pain-during", during);
    answer(session, "pain-after", after);
    return session;
  }

  /** The quiet morning after the session of a day. */
  Observation morning(int sessionDay) {
    return about("morning-report", at(sessionDay + 1, "07:10"));
  }

  Observation morning(int sessionDay, int pain) {
    Observation morning = morning(sessionDay);
    answer(morning, "pain-next-morning", pain);
    return morning;
  }

  Observation warning(int day) {
    return about("warning-report", at(day, "20:00"));
  }

  Observation range(int day, int degrees) {
    Observation range = about("range-measurement", at(day, "11:00"));
    range.getValueQuantity().setValue(degrees);
    return range;
  }

  Observation painScore(String when, int score) {
    Observation pain = about("bare-pain-score", when);
    pain.getValueQuantity().setValue(score);
    return pain;
  }

  /** A surgeon's limit on a setting of loaded and unloaded exercises. */
  Flag limit(String variable, String bound, BigDecimal value, String unit) {
    Flag flag = wire("exercise-precaution", Flag.class);
    flag.setSubject(new Reference(subject));
    flag.setPeriod(null);
    var limit = flag.getExtensionByUrl(OURS + "limit");
    limit.getExtension().clear();
    limit.addExtension("applies-to", new org.hl7.fhir.r4.model.CodeType("all"));
    limit.addExtension("variable", new org.hl7.fhir.r4.model.CodeType(variable));
    limit.addExtension(
        bound, new Quantity().setValue(value).setSystem("http://unitsofmeasure.org").setCode(unit));
    limit.addExtension("side", new org.hl7.fhir.r4.model.CodeType("left"));
    flag.getCode().setText("The surgeon's limit on " + variable);
    return flag;
  }

  private Observation about(String file, String when) {
    Observation observation = wire(file, Observation.class);
    observation.setSubject(new Reference(subject));
    observation.setEffective(new DateTimeType(when));
    return observation;
  }

  /** Gives a report's component another number. */
  static void answer(Observation report, String item, int value) {
    component(report, item).getValueQuantity().setValue(value);
  }

  static void answer(Observation report, String item, boolean value) {
    component(report, item).setValue(new BooleanType(value));
  }

  static void answer(Observation report, String item, String value, String unit) {
    component(report, item)
        .setValue(
            new Quantity()
                .setValue(new BigDecimal(value))
                .setSystem("http://unitsofmeasure.org")
                .setCode(unit));
  }

  static void leaveOut(Observation report, String item) {
    report.getComponent().remove(component(report, item));
  }

  static Observation.ObservationComponentComponent component(Observation report, String item) {
    return report.getComponent().stream()
        .filter(c -> c.getCode().getCodingFirstRep().getCode().equals(item))
        .findFirst()
        .orElseThrow();
  }

  // ---- sending ----

  static ValidatableResponse post(Resource resource) {
    return given()
        .contentType(Fhir.JSON)
        .body(json(resource))
        .post("/fhir/" + resource.fhirType())
        .then();
  }

  static ValidatableResponse put(Resource resource) {
    return given()
        .contentType(Fhir.JSON)
        .body(json(resource))
        .put("/fhir/" + resource.fhirType() + "/" + resource.getIdPart())
        .then();
  }

  static ValidatableResponse transact(Resource... resources) {
    return transact(List.of(resources));
  }

  static ValidatableResponse transact(List<? extends Resource> resources) {
    Bundle bundle = new Bundle().setType(Bundle.BundleType.TRANSACTION);
    for (Resource resource : resources) {
      bundle
          .addEntry()
          .setFullUrl("urn:uuid:" + UUID.randomUUID())
          .setResource(resource)
          .getRequest()
          .setMethod(Bundle.HTTPVerb.POST)
          .setUrl(resource.fhirType());
    }
    return given().contentType(Fhir.JSON).body(json(bundle)).post("/fhir").then();
  }

  /** Posts a resource that is taken, and gives it back as it is stored. */
  @SuppressWarnings("unchecked")
  <T extends Resource> T send(T resource) {
    return (T) client().create().resource(resource).execute().getResource();
  }

  /** Puts a resource that is taken, and gives it back as it is stored. */
  @SuppressWarnings("unchecked")
  <T extends Resource> T amend(T resource) {
    return (T) client().update().resource(resource).execute().getResource();
  }

  CarePlan enrol() {
    return send(enrolment());
  }

  /** Sends settled sessions with quiet mornings for some days, day by day. */
  void settled(int fromDay, int toDay) {
    for (int day = fromDay; day <= toDay; day++) {
      send(session(day));
      send(morning(day));
    }
  }

  // ---- reading ----

  <T extends Resource> List<T> all(Class<T> type) {
    String name = type.getSimpleName();
    Bundle found =
        client()
            .search()
            .byUrl(BASE + "/" + name + "?patient=" + subject + "&_count=500")
            .returnBundle(Bundle.class)
            .execute();
    return found.getEntry().stream()
        .map(entry -> type.cast(entry.getResource()))
        .collect(Collectors.toList());
  }

  CarePlan plan() {
    List<CarePlan> plans = all(CarePlan.class);
    assertEquals(1, plans.size());
    return plans.get(0);
  }

  /** The prescriptions in force, by variation. */
  Map<String, ServiceRequest> inForce() {
    Map<String, ServiceRequest> orders = new LinkedHashMap<>();
    for (ServiceRequest request : all(ServiceRequest.class)) {
      if (request.getStatus() == ServiceRequest.ServiceRequestStatus.ACTIVE
          && request.getIntent() == ServiceRequest.ServiceRequestIntent.ORDER) {
        ServiceRequest other = orders.put(variation(request), request);
        assertEquals(null, other, "two orders in force for " + variation(request));
      }
    }
    return orders;
  }

  static String variation(ServiceRequest request) {
    return request.getCode().getCodingFirstRep().getCode();
  }

  /** Everything that a prescription asks, in words that can be compared. */
  static String asked(ServiceRequest request) {
    List<String> settings = new ArrayList<>();
    request.getExtensionsByUrl(OURS + "setting").forEach(s -> settings.add(text(s)));
    settings.sort(Comparator.naturalOrder());
    return variation(request)
        + " "
        + settings
        + " "
        + text(request.getExtensionByUrl(OURS + "dose"))
        + " x"
        + request.getOccurrenceTiming().getRepeat().getFrequency();
  }

  private static String text(org.hl7.fhir.r4.model.Extension extension) {
    return extension.getExtension().stream()
        .map(
            part ->
                part.getValue() instanceof Quantity quantity
                    ? quantity.getValue().stripTrailingZeros().toPlainString() + quantity.getCode()
                    : part.getValue().primitiveValue())
        .collect(Collectors.joining(" "));
  }

  /** Everything that is in force, in words that can be compared. */
  List<String> asked() {
    return inForce().values().stream().map(PlanPerson::asked).sorted().toList();
  }

  /** The value of a setting of an exercise in force. */
  String setting(String variation, String variable) {
    return setting(inForce().get(variation), variable);
  }

  static String setting(ServiceRequest request, String variable) {
    return request.getExtensionsByUrl(OURS + "setting").stream()
        .filter(s -> s.getExtensionByUrl("variable").getValue().primitiveValue().equals(variable))
        .map(
            s ->
                s.getExtensionByUrl("value").getValue() instanceof Quantity quantity
                    ? quantity.getValue().stripTrailingZeros().toPlainString()
                    : s.getExtensionByUrl("value").getValue().primitiveValue())
        .findFirst()
        .orElseThrow();
  }

  /** The decisions, in the order they were taken. */
  List<GuidanceResponse> decisions() {
    List<GuidanceResponse> all = all(GuidanceResponse.class);
    all.sort(
        Comparator.comparing((GuidanceResponse g) -> g.getMeta().getLastUpdated())
            .thenComparing(g -> g.getOccurrenceDateTime()));
    return all;
  }

  GuidanceResponse lastDecision() {
    List<GuidanceResponse> all = decisions();
    return all.get(all.size() - 1);
  }

  static String verdict(GuidanceResponse decision) {
    var extension = decision.getExtensionByUrl(OURS + "decision");
    return extension == null ? "" : extension.getValue().primitiveValue();
  }

  static List<String> reasons(GuidanceResponse decision) {
    return decision.getReasonCode().stream()
        .map(reason -> reason.getCodingFirstRep().getCode())
        .toList();
  }

  /** The Tasks of a code that nobody has answered. */
  List<Task> open(String code) {
    return all(Task.class).stream()
        .filter(task -> task.getStatus() == Task.TaskStatus.REQUESTED)
        .filter(task -> task.getCode().getCodingFirstRep().getCode().equals(code))
        .toList();
  }

  /** What would be decided now, stored nowhere. */
  Parameters next() {
    return client()
        .operation()
        .onInstance("CarePlan/" + plan().getIdElement().getIdPart())
        .named("$next-prescription")
        .withNoParameters(Parameters.class)
        .useHttpGet()
        .execute();
  }

  /** The prescriptions that would be in force, in words that can be compared. */
  List<String> nextAsked() {
    return next().getParameter().stream()
        .filter(p -> p.getName().equals("prescription"))
        .map(p -> asked((ServiceRequest) p.getResource()))
        .sorted()
        .toList();
  }

  static Coding item(String code) {
    return new Coding().setSystem(REPORT_ITEM).setCode(code);
  }
}
