package org.tidemark.demo;

import ca.uhn.fhir.rest.client.api.IGenericClient;
import ca.uhn.fhir.rest.client.api.ServerValidationModeEnum;
import java.io.IOException;
import java.io.PrintStream;
import java.net.URI;
import java.net.http.HttpClient;
import java.net.http.HttpRequest;
import java.net.http.HttpResponse;
import java.nio.charset.StandardCharsets;
import java.nio.file.Files;
import java.nio.file.Path;
import java.time.Duration;
import java.util.ArrayList;
import java.util.Base64;
import java.util.HashMap;
import java.util.List;
import java.util.Locale;
import java.util.Map;
import java.util.stream.Collectors;
import java.util.stream.Stream;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.Bundle.BundleEntryComponent;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.Composition;
import org.hl7.fhir.r4.model.Identifier;
import org.hl7.fhir.r4.model.Parameters;
import org.hl7.fhir.r4.model.Parameters.ParametersParameterComponent;
import org.hl7.fhir.r4.model.Patient;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.hl7.fhir.r4.model.UriType;
import org.tidemark.fhir.Codes;
import org.tidemark.http.PackagedService;

/**
 * One of the demo's people moves from one clinic to another, each a process of the packaged service
 * with a database of its own, and a plain FHIR record system takes the same plan. What each of them
 * sees is printed.
 */
public final class TwoClinics {
  static final String PERSON = "liesbet-quarmby";

  /** So much of the diary has come in when the person moves. */
  private static final int PAGES = 80;

  private static final int PAPERS = 2;
  private static final int SECONDS_FOR_PAPERS = 60;
  private static final int PATIENCE_MILLIS = 120_000;
  private static final String FIRST_NAME = "Marram Lane Movement Clinic (invented)";
  private static final String SECOND_NAME = "Sallow Reach Knee Clinic (invented)";

  private static final String FHIR = "application/fhir+json";

  private final HttpClient client =
      HttpClient.newBuilder().version(HttpClient.Version.HTTP_1_1).build();
  private final PrintStream out;
  private final List<PackagedService> clinics = new ArrayList<>();
  private final PlainRecordSystem records;
  private final int first = PackagedService.freePort();
  private final int second = PackagedService.freePort();
  private final String firstBase = base(first);
  private final String secondBase = base(second);

  /**
   * A demo whose clinics are not started yet.
   *
   * @param out where everything is told
   */
  TwoClinics(PrintStream out) throws IOException {
    this.out = out;
    records = new PlainRecordSystem(PackagedService.freePort());
    Diaries.R4.getRestfulClientFactory().setServerValidationMode(ServerValidationModeEnum.NEVER);
    Diaries.R4.getRestfulClientFactory().setSocketTimeout(PATIENCE_MILLIS);
  }

  private void start() throws IOException, InterruptedException {
    Map<String, String> trusting = settings("second", second, SECOND_NAME);
    trusting.put(
        "TIDEMARK_HANDOVER_TRUSTED",
        firstBase + "|http://localhost:" + first + "/.well-known/jwks.json");
    trusting.put("TIDEMARK_SUBSCRIPTIONS_ALLOWED_HOSTS", "localhost");
    trusting.put("TIDEMARK_RECORD_SYSTEM_BASE_URL", records.base());
    trusting.put("TIDEMARK_RECORD_SYSTEM_WRITE_BACK", "true");
    // The person is not there at first; then it is asked for.
    trusting.put("TIDEMARK_RECORD_SYSTEM_WRITE_BACK_PAUSE", "1h");
    clinics.add(PackagedService.start(first, settings("first", first, FIRST_NAME)));
    clinics.add(PackagedService.start(second, trusting));
    for (PackagedService clinic : clinics) {
      clinic.awaitReady();
    }
  }

  /** Runs the demo and ends. */
  public static void main(String[] args) throws IOException, InterruptedException {
    TwoClinics demo = new TwoClinics(new PrintStream(System.out, true, StandardCharsets.UTF_8));
    try {
      demo.tell();
    } finally {
      demo.stop();
    }
    // The threads of the record system's server would go on.
    System.exit(0);
  }

  private static String base(int port) {
    return "http://localhost:" + port + "/fhir";
  }

  private static Map<String, String> settings(String name, int port, String organisation)
      throws IOException {
    Path data = Path.of("target", "two-clinics", name).toAbsolutePath();
    Files.createDirectories(data);
    try (Stream<Path> old = Files.list(data)) {
      for (Path file : old.toList()) {
        Files.delete(file);
      }
    }
    Map<String, String> settings = new HashMap<>();
    settings.put("TIDEMARK_DATA", data.toString());
    settings.put("TIDEMARK_BASE_URL", base(port));
    settings.put("TIDEMARK_ORGANISATION", organisation);
    settings.put("TIDEMARK_SWEEP_CRON", "off");
    settings.put("QUARKUS_HTTP_HOST", "localhost");
    return settings;
  }

  IGenericClient first() {
    return Diaries.R4.newRestfulGenericClient(firstBase);
  }

  IGenericClient second() {
    return Diaries.R4.newRestfulGenericClient(secondBase);
  }

  IGenericClient recordSystem() {
    return Diaries.R4.newRestfulGenericClient(records.base());
  }

  // ---- the story ----

  /** Starts the clinics, moves the person, and tells it. */
  void tell() throws IOException, InterruptedException {
    start();
    say("TWO CLINICS AND A RECORD SYSTEM. Everyone in it is invented.");
    say("Access is open: not for real data, not for use without a clinician.");
    live();
    CarePlan plan = plan(first());
    String planUrl = "CarePlan/" + plan.getIdElement().getIdPart();
    List<ServiceRequest> firstNext = next(first(), planUrl);
    heading("1. " + FIRST_NAME + ", " + firstBase);
    tellPlan(first(), plan);
    tellNext(firstNext);

    heading("2. The document, " + planUrl + "/$handover");
    String json =
        http(HttpRequest.newBuilder(URI.create(firstBase + "/" + planUrl + "/$handover")));
    Bundle document = Diaries.R4.newJsonParser().parseResource(Bundle.class, json);
    tellDocument(document, json);

    heading("3. " + SECOND_NAME + ", " + secondBase);
    Parameters receipt = received(json);
    String successor = secondBase + "/" + reference(receipt, "plan");
    say("  taken over as %s: signed by a clinic that is trusted, and whole", successor);
    CarePlan there = plan(second());
    tellPlan(second(), there);
    List<ServiceRequest> secondNext =
        next(second(), "CarePlan/" + there.getIdElement().getIdPart());
    tellNext(secondNext);
    require(asked(firstNext).equals(asked(secondNext)), "what is asked next is not the same");
    say("  the same as the first would have asked: yes");
    require(!changed(received(json)), "the document again has changed something");
    say("  the same document again changes nothing: yes");

    heading("4. The first clinic again");
    Bundle transaction = transaction(planUrl);
    close(planUrl, document, successor);
    tellClosed(plan(first()));

    heading("5. A plain record system, " + records.base());
    tellRecordSystem(transaction, json);

    heading("6. What the second clinic writes back there");
    tellWrittenBack(there);
  }

  /** The person's first months at the first clinic, papers included. */
  private void live() throws InterruptedException {
    DemoClient client = new DemoClient(firstBase);
    client.transact(Diaries.clinic());
    client.transact(Diaries.enrolment(PERSON));
    Diaries.diary(PERSON).stream().limit(PAGES).forEach(client::send);
    for (int second = 0; count(first(), "DocumentReference") < PAPERS; second++) {
      require(second < SECONDS_FOR_PAPERS, "the papers are not made");
      Thread.sleep(1_000);
    }
  }

  private void tellPlan(IGenericClient clinic, CarePlan plan) {
    say(
        "  %s: plan %s, %s, since %s",
        name(clinic),
        plan.getIdElement().getIdPart(),
        plan.getStatus().toCode(),
        plan.getPeriod().getStartElement().getValueAsString());
    say(
        "  %d reports and measurements, %d decisions, each with its reasons",
        count(clinic, "Observation"), count(clinic, "GuidanceResponse"));
    for (ServiceRequest order : inForce(clinic)) {
      say("  in force: %s", order.getPatientInstruction());
    }
  }

  private void tellNext(List<ServiceRequest> next) {
    next.forEach(order -> say("  next: %s", order.getPatientInstruction()));
  }

  private void tellDocument(Bundle document, String json) {
    say(
        "  %d records, %,d kB",
        document.getEntry().size(), json.getBytes(StandardCharsets.UTF_8).length / 1_000);
    say("  %s", kinds(document.getEntry().stream().map(BundleEntryComponent::getResource)));
    String header =
        new String(document.getSignature().getData(), StandardCharsets.US_ASCII).split("\\.")[0];
    say(
        "  signed by %s: %s",
        FIRST_NAME, new String(Base64.getUrlDecoder().decode(header), StandardCharsets.UTF_8));
  }

  private void tellClosed(CarePlan closed) {
    say(
        "  plan %s: %s, continued by %s",
        closed.getIdElement().getIdPart(),
        closed.getStatus().toCode(),
        ((Reference) closed.getExtensionByUrl(Codes.structure("continued-by")).getValue())
            .getReference());
    say("  in force here: %s", inForce(first()).isEmpty() ? "nothing" : "something");
  }

  private void tellRecordSystem(Bundle transaction, String document)
      throws IOException, InterruptedException {
    recordSystem().transaction().withBundle(transaction).execute();
    CarePlan plan = (CarePlan) records.all("CarePlan").findFirst().orElseThrow();
    say("  the plan as a transaction: %s", kinds(stored()));
    say("  it shows of CarePlan/%s:", plan.getIdElement().getIdPart());
    Stream.of(plan.getText().getDiv().allText().split("\\R"))
        .map(String::strip)
        .filter(line -> !line.isEmpty())
        .forEach(line -> say("    %s", line));
    Map<String, Long> before = perType();
    recordSystem().transaction().withBundle(transaction).execute();
    Map<String, Long> after = perType();
    before.remove("Provenance");
    after.remove("Provenance");
    require(before.equals(after), "the transaction again has doubled records");
    say("  the same transaction again doubles nothing (but Provenances, which R4 cannot name)");
    Bundle kept =
        Diaries.R4
            .newJsonParser()
            .parseResource(
                Bundle.class,
                http(
                    HttpRequest.newBuilder(URI.create(records.base() + "/Bundle"))
                        .header("Content-Type", FHIR)
                        .POST(HttpRequest.BodyPublishers.ofString(document))));
    String id = "Bundle/" + kept.getIdElement().getIdPart();
    Composition words = (Composition) kept.getEntryFirstRep().getResource();
    say(
        "  the document as %s: \"%s\", %d sections, each told in words",
        id, words.getTitle(), words.getSection().size());
  }

  private void tellWrittenBack(CarePlan plan) throws InterruptedException {
    Parameters which = new Parameters();
    which
        .addParameter()
        .setName("plan")
        .setValue(new Reference("CarePlan/" + plan.getIdElement().getIdPart()));
    Parameters status =
        second().operation().onServer().named("$write-back").withParameters(which).execute();
    for (int tenth = 0; status.hasParameter("waiting"); tenth++) {
      require(
          tenth < SECONDS_FOR_PAPERS * 10,
          Diaries.R4.newJsonParser().encodeResourceToString(status));
      Thread.sleep(100);
      status =
          second()
              .operation()
              .onServer()
              .named("$write-back-status")
              .withNoParameters(Parameters.class)
              .execute();
    }
    say("  %s", kinds(stored().filter(this::isOfSecond)));
    CarePlan written =
        (CarePlan)
            stored()
                .filter(this::isOfSecond)
                .filter(CarePlan.class::isInstance)
                .findFirst()
                .orElseThrow();
    say(
        "  CarePlan/%s of %s, %s, as %s",
        written.getIdElement().getIdPart(),
        written.getSubject().getReference(),
        written.getStatus().toCode(),
        written.getMeta().getSource());
  }

  private boolean isOfSecond(Resource record) {
    return record.getMeta().hasSource() && record.getMeta().getSource().startsWith(secondBase);
  }

  // ---- what is asked ----

  /** What is signed is the text: it is sent on as it came. */
  private Parameters received(String document) throws IOException, InterruptedException {
    return Diaries.R4
        .newJsonParser()
        .parseResource(
            Parameters.class,
            http(
                HttpRequest.newBuilder(URI.create(secondBase + "/$receive-handover"))
                    .header("Content-Type", FHIR)
                    .POST(HttpRequest.BodyPublishers.ofString(document))));
  }

  private String http(HttpRequest.Builder request) throws IOException, InterruptedException {
    HttpResponse<String> answer =
        client.send(
            request.header("Accept", FHIR).timeout(Duration.ofMillis(PATIENCE_MILLIS)).build(),
            HttpResponse.BodyHandlers.ofString());
    require(answer.statusCode() / 100 == 2, answer.statusCode() + " " + answer.body());
    return answer.body();
  }

  private Bundle transaction(String planUrl) {
    Parameters form = new Parameters();
    form.addParameter().setName("form").setValue(new org.hl7.fhir.r4.model.CodeType("transaction"));
    return operation(first(), planUrl, "$handover", form, Bundle.class, true);
  }

  private void close(String planUrl, Bundle document, String successor) {
    Parameters told = new Parameters();
    told.addParameter()
        .setName("document")
        .setValue(new Identifier().setValue(document.getIdentifier().getValue()));
    told.addParameter().setName("successor").setValue(new UriType(successor));
    operation(first(), planUrl, "$close-handover", told, CarePlan.class, false);
  }

  private static <T extends Resource> T operation(
      IGenericClient clinic,
      String on,
      String name,
      Parameters parameters,
      Class<T> answer,
      boolean reads) {
    var operation =
        clinic
            .operation()
            .onInstance(on)
            .named(name)
            .withParameters(parameters)
            .returnResourceType(answer);
    return (reads ? operation.useHttpGet() : operation).execute();
  }

  static List<ServiceRequest> next(IGenericClient clinic, String planUrl) {
    return operation(
            clinic, planUrl, "$next-prescription", new Parameters(), Parameters.class, true)
        .getParameter()
        .stream()
        .filter(parameter -> parameter.getName().equals("prescription"))
        .map(ParametersParameterComponent::getResource)
        .map(ServiceRequest.class::cast)
        .toList();
  }

  static CarePlan plan(IGenericClient clinic) {
    return list(clinic, CarePlan.class, "").get(0);
  }

  static List<ServiceRequest> inForce(IGenericClient clinic) {
    return list(clinic, ServiceRequest.class, "&status=active&intent=order");
  }

  private static <T extends Resource> List<T> list(
      IGenericClient clinic, Class<T> type, String more) {
    return clinic
        .search()
        .byUrl(type.getSimpleName() + "?patient=Patient/" + PERSON + more)
        .returnBundle(Bundle.class)
        .execute()
        .getEntry()
        .stream()
        .map(entry -> type.cast(entry.getResource()))
        .toList();
  }

  static int count(IGenericClient clinic, String type) {
    return clinic
        .search()
        .byUrl(type + "?patient=Patient/" + PERSON + "&_summary=count")
        .returnBundle(Bundle.class)
        .execute()
        .getTotal();
  }

  private static String name(IGenericClient clinic) {
    return clinic
        .read()
        .resource(Patient.class)
        .withId(PERSON)
        .execute()
        .getNameFirstRep()
        .getNameAsSingleString();
  }

  /** Everything that prescriptions ask, in an order. */
  static List<String> asked(List<ServiceRequest> orders) {
    return orders.stream()
        .map(
            order -> {
              ServiceRequest asked = new ServiceRequest();
              asked.setCode(order.getCode()).setOccurrence(order.getOccurrence());
              asked.setPatientInstruction(order.getPatientInstruction());
              order.getExtension().forEach(asked::addExtension);
              return Diaries.R4.newJsonParser().encodeResourceToString(asked);
            })
        .sorted()
        .toList();
  }

  private static String reference(Parameters receipt, String name) {
    return ((Reference) receipt.getParameter(name).getValue()).getReference();
  }

  private static boolean changed(Parameters receipt) {
    return receipt.getParameterBool("changed");
  }

  private Stream<Resource> stored() {
    return Diaries.R4.getResourceTypes().stream().flatMap(records::all).map(Resource.class::cast);
  }

  private Map<String, Long> perType() {
    return stored().collect(Collectors.groupingBy(Resource::fhirType, Collectors.counting()));
  }

  /** Such as {@code 1 CarePlan, 40 Observation}. */
  static String kinds(Stream<Resource> records) {
    return records
        .collect(
            Collectors.groupingBy(
                Resource::fhirType, java.util.TreeMap::new, Collectors.counting()))
        .entrySet()
        .stream()
        .map(type -> type.getValue() + " " + type.getKey())
        .collect(Collectors.joining(", "));
  }

  // ---- telling ----

  private static void require(boolean holds, String otherwise) {
    if (!holds) {
      throw new IllegalStateException(otherwise);
    }
  }

  private void heading(String text) {
    say("");
    say("%s", text);
  }

  private void say(String format, Object... values) {
    out.println(String.format(Locale.ROOT, format, values));
  }

  void stop() throws InterruptedException {
    records.close();
    for (PackagedService clinic : clinics) {
      clinic.stop();
    }
  }
}
