package org.tidemark.demo;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.io.IOException;
import java.nio.file.Files;
import java.time.temporal.ChronoUnit;
import java.util.Comparator;
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
    assertEquals(List.of(), errors("clinic"));
  }

  @ParameterizedTest
  @MethodSource("people")
  void everyPersonIsValid(String person) {
    assertEquals(List.of(), errors(person));
  }

  @ParameterizedTest
  @MethodSource("people")
  void everyDiaryIsValid(String person) {
    assertEquals(List.of(), errors(person + "-diary"));
  }

  /** A diary with one report that breaks its profile is seen to be wrong. */
  @Test
  void aReportThatBreaksItsProfileIsFound() {
    Bundle diary = claimed("yusra-delmarsh-diary");
    Observation session =
        diary.getEntry().stream()
            .map(Bundle.BundleEntryComponent::getResource)
            .filter(Observation.class::isInstance)
            .map(Observation.class::cast)
            .filter(report -> profile(report).equals("session-report"))
            .findFirst()
            .orElseThrow();
    session.getComponent().clear();
    assertFalse(ProfileValidation.errors(diary).isEmpty());
  }

  @ParameterizedTest
  @MethodSource("people")
  void aDiaryIsLongAndInOrder(String person) {
    List<Diaries.Page> diary = Diaries.diary(person);
    List<Diaries.Page> sorted =
        diary.stream().sorted(Comparator.comparing(Diaries.Page::at)).toList();
    assertEquals(sorted, diary);
    long days = ChronoUnit.DAYS.between(diary.get(0).at(), diary.get(diary.size() - 1).at());
    assertTrue(days >= DAYS, person + " reports for " + days + " days");
  }

  private static List<String> errors(String file) {
    return ProfileValidation.errors(claimed(file));
  }

  /** A file with every resource claiming the profile that it must fit. */
  private static Bundle claimed(String file) {
    Bundle bundle = (Bundle) ProfileFiles.parse(DemoBundles.FOLDER.resolve(file + ".json"));
    for (Bundle.BundleEntryComponent entry : bundle.getEntry()) {
      String profile = profile(entry.getResource());
      if (!profile.isEmpty()) {
        entry.getResource().getMeta().addProfile(Codes.structure(profile));
      }
    }
    return bundle;
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
