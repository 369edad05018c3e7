package org.tidemark.sample;

import ca.uhn.fhir.context.FhirContext;
import ca.uhn.fhir.rest.api.MethodOutcome;
import ca.uhn.fhir.rest.client.api.IGenericClient;
import ca.uhn.fhir.rest.client.api.ServerValidationModeEnum;
import java.io.IOException;
import java.io.PrintStream;
import java.nio.file.Files;
import java.nio.file.Path;
import java.time.LocalDate;
import java.util.List;
import java.util.stream.Collectors;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.DateTimeType;
import org.hl7.fhir.r4.model.GuidanceResponse;
import org.hl7.fhir.r4.model.IdType;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Parameters;
import org.hl7.fhir.r4.model.RequestGroup;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.hl7.fhir.r4.model.StringType;

/**
 * A record system that talks to the service by HAPI's client: it enrols an invented person, reports
 * sessions until the plan takes a step, and reads the new prescription. The person is that of
 * {@code demo-bundles/walk}, under an id of the caller's own.
 */
public final class ClientSample {
  private static final String REPORTS = "urn:example:reports";
  private static final String PLANS = "urn:example:plans";
  private static final Path WALK = Path.of("demo-bundles", "walk");
  private static final LocalDate ENROLLED = LocalDate.of(2026, 10, 5);

  private final FhirContext context = FhirContext.forR4();
  private final IGenericClient client;
  private final String person;
  private final PrintStream out;

  /**
   * @param base the address of the service, as {@code http://localhost:8080/fhir}
   * @param person the id of the Patient
   * @param out where it says what happens
   */
  ClientSample(String base, String person, PrintStream out) {
    context.getRestfulClientFactory().setServerValidationMode(ServerValidationModeEnum.NEVER);
    this.client = context.newRestfulGenericClient(base);
    this.person = person;
    this.out = out;
  }

  /** Runs against the service at the first argument, for a person with the id of the second. */
  public static void main(String[] args) throws IOException {
    new ClientSample(args[0], args[1], System.out).run();
  }

  void run() throws IOException {
    Bundle enrolment = read("enrol.json", Bundle.class);
    CarePlan plan = (CarePlan) enrolment.getEntry().remove(3).getResource();
    sendWhatIsKnown(enrolment);
    showWhereToStart();
    IdType enrolled = enrol(plan);

    List<String> first = prescribed(enrolled);
    first.forEach(asked -> out.println("Prescribed: " + asked));
    int day = 0;
    List<String> now = first;
    while (now.equals(first) && day < 14) {
      day++;
      report("session", day, day, "18:00");
      report("morning", day, day + 1, "07:30");
      now = prescribed(enrolled);
    }
    out.println("Sessions reported: " + day);
    now.forEach(asked -> out.println("Prescribed: " + asked));
    reasons().forEach(reason -> out.println("Because: " + reason));
  }

  /** The Patient, what there is at home, and the baseline: all are stored, or none is. */
  private void sendWhatIsKnown(Bundle records) {
    Bundle answer = client.transaction().withBundle(records).execute();
    out.println("Sent: " + answer.getEntry().size() + " records");
  }

  /** Asks where the programme would begin. Nothing is stored. */
  private void showWhereToStart() {
    CarePlan proposal =
        client
            .operation()
            .onInstance("PlanDefinition/knee-deep-flexion")
            .named("$apply")
            .withParameter(Parameters.class, "subject", new StringType("Patient/" + person))
            .andParameter("side", new CodeType("right"))
            .returnResourceType(CarePlan.class)
            .execute();
    proposal.getContained().stream()
        .filter(RequestGroup.class::isInstance)
        .map(RequestGroup.class::cast)
        .flatMap(group -> group.getAction().stream())
        .forEach(action -> out.println("Would start with: " + action.getTitle()));
  }

  /** Without an answer it could be sent again: a plan with this identifier is stored once. */
  private IdType enrol(CarePlan plan) {
    plan.setId((String) null);
    plan.addIdentifier().setSystem(PLANS).setValue(person);
    MethodOutcome outcome = createOnce(plan, PLANS, person);
    return new IdType("CarePlan", outcome.getId().getIdPart());
  }

  /** Sends a report twice, as after an answer that got lost: it counts once. */
  private void report(String what, int number, int day, String time) throws IOException {
    String key = person + "-" + what + "-" + number;
    Observation report = read(what + ".json", Observation.class);
    report.addIdentifier().setSystem(REPORTS).setValue(key);
    report.setEffective(new DateTimeType(ENROLLED.plusDays(day) + "T" + time + ":00+02:00"));
    MethodOutcome sent = createOnce(report, REPORTS, key);
    MethodOutcome again = createOnce(report, REPORTS, key);
    boolean same = sent.getId().getIdPart().equals(again.getId().getIdPart());
    out.println(
        "The %s of day %d: %s, then %s"
            .formatted(what, day, told(sent), same ? told(again) : "stored twice"));
  }

  private MethodOutcome createOnce(Resource resource, String system, String value) {
    return client
        .create()
        .resource(resource)
        .conditionalByUrl(resource.fhirType() + "?identifier=" + system + "|" + value)
        .execute();
  }

  private static String told(MethodOutcome outcome) {
    return Boolean.TRUE.equals(outcome.getCreated()) ? "stored" : "known already";
  }

  /** What the plan asks now: its activities refer to the prescriptions in force. */
  private List<String> prescribed(IdType id) {
    CarePlan plan = client.read().resource(CarePlan.class).withId(id).execute();
    return plan.getActivity().stream()
        .map(activity -> activity.getReference().getReferenceElement())
        .map(order -> client.read().resource(ServiceRequest.class).withId(order.getIdPart()))
        .map(request -> asked(request.execute()))
        .toList();
  }

  /** What, how much and how often, and how it is set: the first two lines for the person. */
  private static String asked(ServiceRequest prescription) {
    return prescription.getPatientInstruction().lines().limit(2).collect(Collectors.joining(" "));
  }

  /** Why the newest decision is as it is. */
  private List<String> reasons() {
    Bundle newest =
        client
            .search()
            .byUrl("GuidanceResponse?patient=" + person + "&_sort=-_lastUpdated&_count=1")
            .returnBundle(Bundle.class)
            .execute();
    return ((GuidanceResponse) newest.getEntryFirstRep().getResource())
        .getReasonCode().stream().map(reason -> reason.getCodingFirstRep().getDisplay()).toList();
  }

  private <T extends Resource> T read(String file, Class<T> type) throws IOException {
    String text = Files.readString(WALK.resolve(file)).replace("mara-quill", person);
    return context.newJsonParser().parseResource(type, text);
  }
}
