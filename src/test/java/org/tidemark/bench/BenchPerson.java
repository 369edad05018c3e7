package org.tidemark.bench;

import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.ObjectMapper;
import com.fasterxml.jackson.databind.node.ObjectNode;
import java.io.IOException;
import java.io.InputStream;
import java.time.LocalDate;
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

  private final BenchClient client;
  private final String subject = "Patient/" + UUID.randomUUID();
  private final String plan = "CarePlan/" + UUID.randomUUID();
  private int day;

  BenchPerson(BenchClient client) {
    this.client = client;
  }

  /** Registers, measures and enrols the person. */
  void enrol() throws IOException {
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
  long liveOneDay() throws IOException {
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
  void trainOneDay() throws IOException {
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
  long prescriptions() throws IOException {
    return get("ServiceRequest?intent=order&_summary=count&subject=" + subject)
        .get("total")
        .asLong();
  }

  private String prescription() throws IOException {
    JsonNode found =
        get("ServiceRequest?intent=order&status=active&_count=1&subject=" + subject).at("/entry/0");
    if (found.isMissingNode()) {
      throw new IllegalStateException("there is no prescription in force on day " + day);
    }
    return "ServiceRequest/" + found.at("/resource/id").asText();
  }

  private void acceptProposals() throws IOException {
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

  private void post(ObjectNode resource) throws IOException {
    client.post(resource.get("resourceType").asText(), resource.toString());
  }

  private void put(String path, ObjectNode resource) throws IOException {
    client.put(path, resource.toString());
  }

  private JsonNode get(String path) throws IOException {
    return MAPPER.readTree(client.get(path));
  }
}
