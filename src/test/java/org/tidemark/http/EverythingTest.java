package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import io.quarkus.test.junit.TestProfile;
import jakarta.inject.Inject;
import java.time.Instant;
import java.util.ArrayList;
import java.util.HashSet;
import java.util.List;
import java.util.Set;
import java.util.TreeSet;
import java.util.function.Predicate;
import java.util.stream.Collectors;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.Bundle.BundleEntryComponent;
import org.hl7.fhir.r4.model.Bundle.SearchEntryMode;
import org.hl7.fhir.r4.model.Resource;
import org.junit.jupiter.api.AfterEach;
import org.junit.jupiter.api.BeforeEach;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.application.PaperFiling;
import org.tidemark.http.Sender.Answer;

/**
 * {@code Patient/[id]/$everything} (R4, operation-patient-everything) of one of two people, with
 * tokens that reach all of it, a part of it, or nothing.
 */
@QuarkusTest
@TestProfile(SmartProfile.class)
class EverythingTest {
  @Inject PaperFiling papers;
  private TwoPeople people;
  private String ofA;

  @BeforeEach
  void people() {
    people = TwoPeople.seeded(papers);
    ofA = "/fhir/" + people.a().subject + "/$everything";
  }

  @AfterEach
  void open() {
    TwoPeople.leave();
  }

  private Sender with(String scopes) {
    return new Sender(SmartProfile.token(scopes, TwoPeople.id(people.a().subject)));
  }

  private static Bundle bundle(Answer answer) {
    assertEquals(200, answer.status(), answer.body());
    return PlanPerson.CONTEXT.newJsonParser().parseResource(Bundle.class, answer.body());
  }

  /** The entries of all pages. */
  private static List<BundleEntryComponent> entries(Sender sender, String path) {
    List<BundleEntryComponent> entries = new ArrayList<>();
    String page = path;
    while (page != null) {
      Bundle bundle = bundle(sender.get(page));
      assertEquals(Bundle.BundleType.SEARCHSET, bundle.getType());
      entries.addAll(bundle.getEntry());
      page =
          bundle.getLink("next") == null
              ? null
              : bundle.getLink("next").getUrl().replace("http://localhost:8081", "");
    }
    return entries;
  }

  private static List<String> names(
      List<BundleEntryComponent> entries, Predicate<SearchEntryMode> mode) {
    return entries.stream()
        .filter(entry -> mode.test(entry.getSearch().getMode()))
        .map(entry -> entry.getResource().getIdElement().toUnqualifiedVersionless().getValue())
        .toList();
  }

  private static List<String> matches(List<BundleEntryComponent> entries) {
    return names(entries, SearchEntryMode.MATCH::equals);
  }

  private static Set<String> types(List<BundleEntryComponent> entries) {
    return entries.stream()
        .map(entry -> entry.getResource().fhirType())
        .collect(Collectors.toCollection(TreeSet::new));
  }

  @Test
  void everythingAboutThePersonComesAndNothingOfAnother() {
    List<BundleEntryComponent> entries = entries(people.all(), ofA);
    Set<String> ids = new HashSet<>();
    entries.forEach(entry -> ids.add(entry.getResource().getIdElement().getIdPart()));
    Set<String> missing = TwoPeople.about(people.all(), people.a());
    missing.removeAll(ids);
    assertEquals(Set.of(), missing);
    ids.retainAll(people.ofB());
    assertEquals(Set.of(), ids);
    assertTrue(types(entries).containsAll(Set.of("Provenance", "Binary", "DocumentReference")));
  }

  @Test
  void whatTheRecordsReferToComesAlong() {
    List<String> along = names(entries(people.all(), ofA), SearchEntryMode.INCLUDE::equals);
    assertTrue(along.contains("PlanDefinition/knee-deep-flexion"), along.toString());
    assertTrue(along.stream().anyMatch(name -> name.startsWith("ActivityDefinition/")));
    assertTrue(along.stream().anyMatch(name -> name.startsWith("Device/")));
    assertTrue(along.stream().noneMatch(name -> name.startsWith("Patient/")));
  }

  /**
   * As R4 says, what comes without _count is a single Bundle as far as it goes; here 500 records.
   */
  @Test
  void pagesHaveEachRecordOnceAlsoWhenOthersAreWritten() {
    List<String> whole = matches(entries(people.all(), ofA));
    assertEquals(
        whole.size(),
        bundle(people.all().get(ofA)).getEntry().stream()
            .filter(entry -> entry.getSearch().getMode() == SearchEntryMode.MATCH)
            .count());
    List<String> paged = matches(entries(people.all(), ofA + "?_count=7"));
    assertEquals(whole, paged);
    assertEquals(paged.size(), new HashSet<>(paged).size());
    Bundle first = bundle(people.all().get(ofA + "?_count=7"));
    people.b().send(people.b().painScore(PlanPerson.at(1, "11:00"), 1));
    String next = first.getLink("next").getUrl().replace("http://localhost:8081", "");
    List<String> rest = matches(entries(people.all(), next));
    assertEquals(whole.subList(7, whole.size()), rest);
  }

  @Test
  void aPostWithParametersAsksTheSame() {
    String body =
        "{\"resourceType\":\"Parameters\",\"parameter\":[{\"name\":\"_type\",\"valueCode\":\"Goal\"},"
            + "{\"name\":\"_count\",\"valueInteger\":1}]}";
    Bundle posted = bundle(people.all().send("POST", ofA, body));
    Bundle got = bundle(people.all().get(ofA + "?_type=Goal&_count=1"));
    assertEquals(matches(got.getEntry()), matches(posted.getEntry()));
    String mark = "&_cursor=";
    assertEquals(
        got.getLink("next").getUrl().split(mark)[1],
        posted.getLink("next").getUrl().split(mark)[1]);
    assertEquals(200, people.all().send("POST", ofA, null).status());
  }

  @Test
  void startAndEndMeanTheDatesOfCareAndLeaveWhatHasNoDate() {
    String day = PlanPerson.at(2, "10:00").substring(0, 10);
    List<BundleEntryComponent> found = entries(people.all(), ofA + "?start=" + day + "&end=" + day);
    Bundle searched =
        bundle(
            people
                .all()
                .get(
                    "/fhir/Observation?patient=" + people.a().subject + "&_count=500&date=" + day));
    Set<String> expected = new TreeSet<>(matches(searched.getEntry()));
    assertFalse(expected.isEmpty());
    Set<String> observations = new TreeSet<>(matches(found));
    observations.removeIf(name -> !name.startsWith("Observation/"));
    assertEquals(expected, observations);
    assertTrue(matches(found).contains(people.a().subject), "a Patient has no date of care");
    assertTrue(matches(found).stream().anyMatch(name -> name.startsWith("CarePlan/")));
    assertFalse(
        matches(entries(people.all(), ofA + "?end=2020-01-01")).stream()
            .anyMatch(name -> name.startsWith("Observation/")));
  }

  /** "Resources updated after this period": after, not at. */
  @Test
  void sinceMeansWrittenAfterThatMoment() {
    Resource newest =
        bundle(
                people
                    .all()
                    .get(
                        "/fhir/Observation?_sort=-_lastUpdated&_count=1&patient="
                            + people.a().subject))
            .getEntryFirstRep()
            .getResource();
    Instant written = newest.getMeta().getLastUpdated().toInstant();
    String name = newest.getIdElement().toUnqualifiedVersionless().getValue();
    String since = ofA + "?_type=Observation&_since=";
    assertTrue(matches(entries(people.all(), since + written.minusMillis(1))).contains(name));
    assertEquals(List.of(), matches(entries(people.all(), since + written)));
  }

  @ParameterizedTest(name = "{0}: {1}")
  @CsvSource(
      delimiter = ';',
      value = {
        "patient/Patient.r; Patient",
        "patient/Patient.r patient/Goal.rs; Goal Patient",
        "patient/Patient.r patient/Goal.s; Goal Patient",
        "patient/Patient.r patient/Goal.cud; Patient",
        "user/Patient.r user/Flag.rs; Flag Patient",
      })
  void aTokenSeesTheTypesThatItMay(String scopes, String types) {
    assertEquals(types, String.join(" ", types(entries(with(scopes), ofA))));
  }

  @Test
  void aTokenOfThePersonReachesTheirCompartmentAndNobodyElse() {
    Sender own = with("patient/*.rs");
    List<String> all = matches(entries(people.all(), ofA));
    List<String> seen = matches(entries(own, ofA));
    List<String> beyond = new ArrayList<>(all);
    beyond.removeAll(seen);
    assertTrue(all.containsAll(seen));
    assertTrue(beyond.stream().allMatch(name -> name.startsWith("Provenance/")), "" + beyond);
    String ofB = "/fhir/" + people.b().subject + "/$everything";
    assertEquals(404, own.get(ofB).status());
    assertEquals(own.get("/fhir/Patient/nobody/$everything").status(), own.get(ofB).status());
  }

  @Test
  void aConditionOfAScopeHolds() {
    String code = "https://tidemark.example/fhir/CodeSystem/report-item|session";
    List<BundleEntryComponent> found =
        entries(with("patient/Patient.r patient/Observation.rs?code=" + code), ofA);
    assertEquals("Observation Patient", String.join(" ", types(found)));
    Bundle searched =
        bundle(
            people
                .all()
                .get(
                    "/fhir/Observation?_count=500&patient="
                        + people.a().subject
                        + "&code="
                        + code));
    assertEquals(searched.getEntry().size() + 1, found.size());
  }

  @Test
  void withoutARightForThePatientItIsForbidden() {
    assertEquals(403, with("patient/Goal.rs").get(ofA).status());
    assertEquals(403, with("patient/Patient.r").get(ofA + "?_type=Goal").status());
    assertEquals(401, new Sender(null).get(ofA).status());
  }

  @ParameterizedTest(name = "{0}")
  @CsvSource({
    "?_type=Encounter, 400, _type",
    "?_count=-1, 400, _count",
    "?start=yesterday, 400, start",
    "?_since=soon, 400, _since",
    "?_cursor=x, 400, _cursor",
    "?_sort=date, 400, _sort",
    "?start=2026-01-01&start=2026-02-01, 400, start",
  })
  void whatCannotBeUnderstoodIsNamed(String query, int status, String named) {
    Answer answer = people.all().get(ofA + query);
    assertEquals(status, answer.status(), answer.body());
    assertTrue(answer.body().contains("\"expression\":[\"" + named + "\"]"), answer.body());
  }
}
