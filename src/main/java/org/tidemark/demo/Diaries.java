package org.tidemark.demo;

import ca.uhn.fhir.context.FhirContext;
import java.io.IOException;
import java.io.InputStream;
import java.io.UncheckedIOException;
import java.time.Instant;
import java.util.ArrayList;
import java.util.Date;
import java.util.List;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.DateTimeType;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.Task;

/** The clinic, the people and their diaries, as they lie in {@code demo-bundles}. */
public final class Diaries {
  static final FhirContext R4 = FhirContext.forR4Cached();

  /** Everyone who takes part, by the id of the Patient, which is also the name of the files. */
  public static final List<String> PEOPLE =
      List.of(
          "liesbet-quarmby",
          "tobin-ashgrove",
          "saoirse-vantongeren",
          "ambrose-kettlewick",
          "yusra-delmarsh");

  private static final String FOLDER = "/demo-bundles/";

  private Diaries() {}

  /**
   * One thing that came in.
   *
   * @param person the id of the Patient
   * @param at when it was so
   * @param resource what to send
   */
  public record Page(String person, Instant at, Resource resource) {}

  /** The clinic and those who work there, as a transaction. */
  public static Bundle clinic() {
    return bundle("clinic");
  }

  /** A person with baseline, equipment, limits and enrolment, as a transaction. */
  public static Bundle enrolment(String person) {
    return bundle(person);
  }

  /** What a person and those who care for the person did, in the order it came in. */
  public static List<Page> diary(String person) {
    List<Page> pages = new ArrayList<>();
    Instant at = Instant.MIN;
    for (Bundle.BundleEntryComponent entry : bundle(person + "-diary").getEntry()) {
      Instant said = when(entry.getResource());
      at = said != null && said.isAfter(at) ? said : at;
      pages.add(new Page(person, at, entry.getResource()));
    }
    return pages;
  }

  /** How many pages all diaries have together. */
  static int pages() {
    return PEOPLE.stream().mapToInt(person -> diary(person).size()).sum();
  }

  /** When it was so; null when it does not say. What does not comes in right after the former. */
  private static Instant when(Resource resource) {
    Date at = null;
    if (resource instanceof Observation observation && observation.hasEffective()) {
      at =
          observation.getEffective() instanceof DateTimeType time
              ? time.getValue()
              : observation.getEffectivePeriod().getStart();
    } else if (resource instanceof Task task) {
      at = task.getExecutionPeriod().getEnd();
    }
    return at == null ? null : at.toInstant();
  }

  private static Bundle bundle(String name) {
    String file = FOLDER + name + ".json";
    try (InputStream json = Diaries.class.getResourceAsStream(file)) {
      if (json == null) {
        throw new IllegalStateException(file + " is missing from the package");
      }
      return (Bundle) R4.newJsonParser().parseResource(json);
    } catch (IOException e) {
      throw new UncheckedIOException(e);
    }
  }
}
