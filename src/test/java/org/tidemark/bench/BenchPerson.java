package org.tidemark.bench;

import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.ObjectMapper;
import com.fasterxml.jackson.databind.node.ObjectNode;
import java.io.IOException;
import java.io.InputStream;
import java.net.URI;
import java.net.http.HttpClient;
import java.net.http.HttpRequest;
import java.net.http.HttpRequest.BodyPublishers;
import java.net.http.HttpResponse;
import java.net.http.HttpResponse.BodyHandlers;
import java.time.LocalDate;
import java.util.Map;
import java.util.UUID;

/**
 * An invented person with a left knee who trains every day, in the shapes that clients send. Most
 * sessions settle, so that the plan goes up; every eleventh hurts, so that it is eased; a clinician
 * accepts what is proposed.
 */
final class BenchPerson {
  private static final ObjectMapper MAPPER = new ObjectMapper();
  private static final LocalDate START = LocalDate.of(2016, 1, 4);
  private static final int FLARE_EVERY_DAYS = 11;
  private static final int CLINICIAN_EVERY_DAYS = 5;

  private final HttpClient client;
  private final String base;
  private final String subject = "Patient/" + UUID.randomUUID();
  private final String plan = "CarePlan/" + UUID.randomUUID();
  private int day;

  BenchPerson(HttpClient client, String base) {
    this.client = client;
    this.base = base;
  }

  /** Registers, measures and enrols the person. */
  void enrol() throws IOException, InterruptedException {
    ObjectNode patient = MAPPER.createObjectNode().put("resourceType", "Patient");
    patient.put("id", subject.substring(subject.indexOf('/') + 1));
    patient.putArray("name").addObject().put("family", "Brandvik");
    put(subject, patient);
    post(observation("baseline-assessment", "11:20"));
    post(observation("home-equipment", "11:00"));
    ObjectNode carePlan = about("care-plan-enrolment");
    carePlan.put("id", plan.substring(plan.indexOf('/') + 1));
    carePlan.withObject("/period").put("start", START + "T11:30:00Z");
    for (JsonNode extension : carePlan.get("extension")) {
      if (extension.get("url").asText().endsWith("/change-control")) {
        ((ObjectNode) extension).put("valueCode", "within-stage");
      }
    }
    put(plan, carePlan);
  }

  /**
   * Lives one day: reports a session at the prescription in force, and how the knee was the next
   * morning.
   *
   * @return what the POST of the session took until its answer was read, in nanoseconds
   */
  long liveOneDay() throws IOException, InterruptedException {
    day++;
    boolean flare = day % FLARE_EVERY_DAYS == 0;
    ObjectNode session = session(flare);
    session.putArray("basedOn").addObject().put("reference", prescription());
    long began = System.nanoTime();
    post(session);
    long took = System.nanoTime() - began;
    ObjectNode morning = observation("morning-report", "07:10");
    morning.put("effectiveDateTime", START.plusDays(day + 1) + "T07:10:00Z");
    answer(morning, "pain-next-morning", flare ? 4 : 0);
    post(morning);
    if (day % CLINICIAN_EVERY_DAYS == 0) {
      acceptProposals();
    }
    return took;
  }

  /** Reports the session of one more day, without naming a prescription, and nothing else. */
  void trainOneDay() throws IOException, InterruptedException {
    day++;
    post(session(false));
  }

  private ObjectNode session(boolean flare) throws IOException {
    ObjectNode session = observation("session-report", "17:30");
    session.remove("basedOn");
    answer(session, "pain-during", flare ? 5 : 1);
    return session;
  }

  /** The id of the CarePlan. */
  String planId() {
    return plan.substring(plan.indexOf('/') + 1);
  }

  /** How many prescriptions the person has had so far: the proof that decisions were taken. */
  long prescriptions() throws IOException, InterruptedException {
    return get("ServiceRequest?intent=order&_summary=count&subject=" + subject)
        .get("total")
        .asLong();
  }

  private String prescription() throws IOException, InterruptedException {
    JsonNode found =
        get("ServiceRequest?intent=order&status=active&_count=1&subject=" + subject).at("/entry/0");
    if (found.isMissingNode()) {
      throw new IllegalStateException("there is no prescription in force on day " + day);
    }
    return "ServiceRequest/" + found.at("/resource/id").asText();
  }

  private void acceptProposals() throws IOException, InterruptedException {
    for (JsonNode entry : get("Task?status=requested&patient=" + subject).path("entry")) {
      ObjectNode task = (ObjectNode) entry.get("resource");
      boolean proposal = task.at("/code/coding/0/code").asText().equals("approve");
      put(
          "Task/" + task.get("id").asText(),
          task.put("status", proposal ? "accepted" : "completed"));
    }
  }

  private ObjectNode observation(String file, String time) throws IOException {
    return about(file).put("effectiveDateTime", START.plusDays(day) + "T" + time + ":00Z");
  }

  private ObjectNode about(String file) throws IOException {
    try (InputStream text =
        BenchPerson.class.getResourceAsStream("/fhir-profiles/example/" + file + ".json")) {
      ObjectNode resource = (ObjectNode) MAPPER.readTree(text);
      resource.remove("meta");
      resource.withObject("/subject").put("reference", subject);
      return resource;
    }
  }

  private static void answer(ObjectNode report, String item, int score) {
    for (JsonNode component : report.get("component")) {
      if (component.at("/code/coding/0/code").asText().equals(item)) {
        ((ObjectNode) component.get("valueQuantity")).put("value", score);
      }
    }
  }

  private void post(ObjectNode resource) throws IOException, InterruptedException {
    send(
        request(resource.get("resourceType").asText())
            .POST(BodyPublishers.ofString(resource.toString())));
  }

  private void put(String path, ObjectNode resource) throws IOException, InterruptedException {
    send(request(path).PUT(BodyPublishers.ofString(resource.toString())));
  }

  private JsonNode get(String path) throws IOException, InterruptedException {
    return MAPPER.readTree(send(request(path).GET()));
  }

  private HttpRequest.Builder request(String path) {
    return HttpRequest.newBuilder(URI.create(base + "/" + path))
        .headers("Content-Type", "application/fhir+json", "Accept", "application/fhir+json");
  }

  private String send(HttpRequest.Builder builder) throws IOException, InterruptedException {
    HttpRequest request = builder.build();
    HttpResponse<String> answer = client.send(request, BodyHandlers.ofString());
    if (answer.statusCode() >= 300) {
      throw new IOException(
          Map.of(request.method() + " " + request.uri(), answer.statusCode()) + answer.body());
    }
    return answer.body();
  }
}
