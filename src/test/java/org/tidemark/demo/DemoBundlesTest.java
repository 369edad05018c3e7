package org.tidemark.demo;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.io.IOException;
import java.nio.file.Files;
import java.time.temporal.ChronoUnit;
import java.util.ArrayList;
import java.util.List;
import java.util.Map;
import java.util.stream.Stream;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.Coding;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Resource;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.MethodSource;
import org.tidemark.fhir.Codes;
import org.tidemark.fhir.ProfileFiles;
import org.tidemark.fhir.ProfileValidation;

/**
 * The files of {@code demo-bundles} are those of the generator, valid, and long enough. After a
 * change of the stories they are written anew by {@link DemoBundles#main}.
 */
class DemoBundlesTest {
  /** A person's reports span at least this many days. */
  private static final long DAYS = 120;

  private static final Map<String, String> PROFILES =
      Map.of(
          "baseline", "baseline-assessment",
          "home-equipment", "home-equipment",
          "session", "session-report",
          "morning", "morning-report",
          "warning", "warning-report");

  static Stream<String> files() {
    return DemoBundles.files().keySet().stream();
  }

  static Stream<String> people() {
    return Diaries.PEOPLE.stream();
  }

  @ParameterizedTest
  @MethodSource("files")
  void everyFileIsTheGenerators(String file) throws IOException {
    assertEquals(DemoBundles.files().get(file), Files.readString(DemoBundles.FOLDER.resolve(file)));
  }

  @Test
  void theClinicIsValid() {
    assertEquals(List.of(), errors(Diaries.clinic()));
  }

  @ParameterizedTest
  @MethodSource("people")
  void everyDiaryIsAValidBundle(String person) {
    assertEquals(
        List.of(),
        ProfileValidation.errors(
            ProfileFiles.parse(DemoBundles.FOLDER.resolve(person + "-diary.json"))));
  }

  @ParameterizedTest
  @MethodSource("people")
  void everyResourceIsValid(String person) {
    List<String> errors = new ArrayList<>(errors(Diaries.enrolment(person)));
    Diaries.diary(person).forEach(page -> errors.addAll(errors(page.resource())));
    assertEquals(List.of(), errors);
  }

  @ParameterizedTest
  @MethodSource("people")
  void aDiaryIsLongAndInOrder(String person) {
    List<Diaries.Page> diary = Diaries.diary(person);
    List<Diaries.Page> sorted =
        diary.stream().sorted(java.util.Comparator.comparing(Diaries.Page::at)).toList();
    assertEquals(sorted, diary);
    long days = ChronoUnit.DAYS.between(diary.get(0).at(), diary.get(diary.size() - 1).at());
    assertTrue(days >= DAYS, person + " reports for " + days + " days");
  }

  private static List<String> errors(Bundle bundle) {
    List<String> errors = new ArrayList<>(ProfileValidation.errors(bundle));
    bundle.getEntry().forEach(entry -> errors.addAll(errors(entry.getResource())));
    return errors;
  }

  private static List<String> errors(Resource resource) {
    String profile = profile(resource);
    return profile.isEmpty()
        ? ProfileValidation.errors(resource)
        : ProfileValidation.errors(resource, Codes.structure(profile));
  }

  private static String profile(Resource resource) {
    return switch (resource.fhirType()) {
      case "CarePlan" -> "graded-care-plan";
      case "Flag" -> "exercise-precaution";
      case "Observation" -> profile((Observation) resource);
      default -> "";
    };
  }

  private static String profile(Observation observation) {
    Coding code = observation.getCode().getCodingFirstRep();
    if (code.getCode().equals(Codes.LOINC_PAIN)) {
      return "";
    }
    return PROFILES.getOrDefault(code.getCode(), "range-measurement");
  }
}
