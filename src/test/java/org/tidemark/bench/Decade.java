package org.tidemark.bench;

import com.fasterxml.jackson.databind.JsonNode;
import com.fasterxml.jackson.databind.ObjectMapper;
import com.fasterxml.jackson.databind.node.ObjectNode;
import java.io.BufferedWriter;
import java.io.IOException;
import java.io.InputStream;
import java.nio.file.Files;
import java.nio.file.Path;
import java.time.LocalDate;

/**
 * Ten invented years of a clinic as NDJSON, one person after the other: the Patient, what was
 * measured and is owned, the enrolment, and then sessions with their mornings at even distances.
 * Every eleventh session hurts.
 */
final class Decade {
  private static final ObjectMapper MAPPER = new ObjectMapper();
  private static final LocalDate START = LocalDate.of(2014, 1, 6);
  private static final int DAYS = 3_650;
  private static final int FLARE_EVERY = 11;

  private final BufferedWriter out;
  private long observations;

  private Decade(BufferedWriter out) {
    this.out = out;
  }

  /**
   * Writes a file.
   *
   * @param name what ids begin with, so that files of several names can be loaded into one service
   * @return how many Observations it has
   */
  static long write(Path file, String name, int people, int sessionsOfEach) throws IOException {
    try (BufferedWriter out = Files.newBufferedWriter(file)) {
      Decade decade = new Decade(out);
      for (int p = 0; p < people; p++) {
        decade.person(name + "-" + p, START.plusDays(p % 90), sessionsOfEach);
      }
      return decade.observations;
    }
  }

  private void person(String id, LocalDate start, int sessions) throws IOException {
    ObjectNode patient = MAPPER.createObjectNode().put("resourceType", "Patient").put("id", id);
    patient.putArray("name").addObject().put("family", "Brandvik").putArray("given").add(id);
    line(patient);
    observation("baseline-assessment", id, "-b", start + "T11:20:00Z");
    observation("home-equipment", id, "-e", start + "T11:00:00Z");
    ObjectNode plan = example("care-plan-enrolment", id, "-plan");
    plan.withObject("/period").put("start", start + "T11:30:00Z");
    for (JsonNode extension : plan.get("extension")) {
      if (extension.get("url").asText().endsWith("/change-control")) {
        ((ObjectNode) extension).put("valueCode", "within-stage");
      }
    }
    line(plan);
    for (int i = 0; i < sessions; i++) {
      LocalDate day = start.plusDays(1 + (long) i * (DAYS - 2) / sessions);
      boolean flare = i % FLARE_EVERY == FLARE_EVERY - 1;
      ObjectNode session = example("session-report", id, "-s" + i);
      session.remove("basedOn");
      answer(session, "pain-during", flare ? 5 : 1);
      observation(session, day + "T17:30:00Z");
      ObjectNode morning = example("morning-report", id, "-m" + i);
      answer(morning, "pain-next-morning", flare ? 4 : 0);
      observation(morning, day.plusDays(1) + "T07:10:00Z");
    }
  }

  private void observation(String file, String id, String ending, String time) throws IOException {
    observation(example(file, id, ending), time);
  }

  private void observation(ObjectNode observation, String time) throws IOException {
    line(observation.put("effectiveDateTime", time));
    observations++;
  }

  private void line(ObjectNode resource) throws IOException {
    out.write(resource.toString());
    out.write('\n');
  }

  private static ObjectNode example(String file, String person, String ending) throws IOException {
    try (InputStream text =
        Decade.class.getResourceAsStream("/fhir-profiles/example/" + file + ".json")) {
      ObjectNode resource = (ObjectNode) MAPPER.readTree(text);
      resource.remove("meta");
      resource.put("id", person + ending);
      resource.withObject("/subject").put("reference", "Patient/" + person);
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
}
