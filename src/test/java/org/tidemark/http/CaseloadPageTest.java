package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.hamcrest.Matchers.containsString;
import static org.hamcrest.Matchers.not;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import java.util.ArrayList;
import java.util.List;
import java.util.UUID;
import java.util.regex.Matcher;
import java.util.regex.Pattern;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.CarePlan.CarePlanStatus;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.HumanName;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Patient;
import org.hl7.fhir.r4.model.Task;
import org.junit.jupiter.api.Test;
import org.tidemark.fhir.Codes;

/** The caseload lists the plans that run, those that need a clinician first. */
@QuarkusTest
class CaseloadPageTest {
  /** A name that nobody else in the tests has, so that a search finds these people only. */
  private final String family = "Q" + UUID.randomUUID().toString().substring(0, 12);

  private PlanPerson named(String given) {
    PlanPerson person = PlanPerson.here();
    rename(person, given);
    person.send(person.baseline());
    person.send(person.equipment());
    return person;
  }

  private void rename(PlanPerson person, String given) {
    Patient patient = new Patient();
    patient.setId(person.subject.replace("Patient/", ""));
    patient.addName(new HumanName().setFamily(family).addGiven(given));
    PlanPerson.client().update().resource(patient).execute();
  }

  private static String page(String query) {
    return given()
        .header("Accept-Language", "en")
        .get("/" + query)
        .then()
        .statusCode(200)
        .contentType("text/html;charset=UTF-8")
        .header("Content-Security-Policy", not(containsString("unsafe")))
        .body(not(containsString("NOT_FOUND")))
        .extract()
        .asString();
  }

  /** The people of this test on a page, each with what they need. */
  private List<String> listed(String page) {
    Matcher rows =
        Pattern.compile("data-need=\"([a-z-]+)\">.*?class=\"name\">([^<]*)<", Pattern.DOTALL)
            .matcher(page);
    List<String> found = new ArrayList<>();
    while (rows.find()) {
      found.add(rows.group(2).replace(" " + family, "") + " " + rows.group(1));
    }
    return found;
  }

  private List<String> mine() {
    return listed(page("?name=" + family));
  }

  @Test
  void aReportThatCouldNotBeUsedIsListedUntilItIsSortedOut() {
    PlanPerson person = named("Sideless");
    String plan = person.enrol().getIdElement().getIdPart();
    Observation morning = person.morning(1, 9);
    morning.setBodySite(null);
    Observation stored = person.send(morning);
    Task bare = new Task();
    bare.setStatus(Task.TaskStatus.REQUESTED).setIntent(Task.TaskIntent.ORDER);
    bare.getCode().addCoding().setSystem(Codes.CLINICIAN_TASK).setCode("sort-out");
    person.send(bare);
    String listed = "href=\"/plan/" + plan + "#needs\"><span class=\"name\">Sideless " + family;
    assertTrue(page("").contains(listed), page(""));
    assertFalse(page("?name=" + family).contains(listed), "a search is for plans");
    String task = person.open("sort-out").get(0).getIdElement().getIdPart();
    String asked = "id=\"ask-" + task + "\" class=\"ask sort-out\"";
    assertTrue(page("plan/" + plan).contains(asked), page("plan/" + plan));

    Observation mended = person.morning(1, 9);
    mended.setId(stored.getIdElement().getIdPart());
    person.amend(mended);
    assertFalse(page("").contains(listed));
    assertFalse(page("plan/" + plan).contains(asked));
  }

  @Test
  void plansStandByWhatTheyNeed() {
    PlanPerson quiet = named("Quiet");
    quiet.enrol();
    PlanPerson held = named("Held");
    held.enrol();
    held.amend(held.plan().setStatus(CarePlanStatus.ONHOLD));
    PlanPerson flared = named("Flared");
    flared.enrol();
    flared.send(flared.session(1, 8, 8));
    PlanPerson waiting = named("Waiting");
    CarePlan plan = waiting.enrolment();
    plan.getExtensionByUrl(PlanPerson.OURS + "change-control")
        .setValue(new CodeType("every-change"));
    waiting.send(plan);
    waiting.settled(1, 5);
    PlanPerson warned = named("Warned");
    warned.enrol();
    warned.send(warned.warning(1));
    PlanPerson bare = PlanPerson.here();
    rename(bare, "Bare");
    bare.enrol();
    assertEquals(
        List.of(
            "Warned warning",
            "Waiting sign-off",
            "Flared flare",
            "Bare missing",
            "Quiet none",
            "Held held"),
        mine());

    assertEquals(List.of("Waiting sign-off"), listed(page("?name=" + family + "&need=sign-off")));
    String signOff = page("?name=" + family.toUpperCase() + "&need=sign-off");
    assertTrue(signOff.contains("value=\"sign-off\" selected>Waits for sign-off (1)"), signOff);
    assertTrue(signOff.contains("1 plan, page 1 of 1"), signOff);

    waiting.amend(waiting.open("approve").get(0).setStatus(Task.TaskStatus.ACCEPTED));
    warned.amend(warned.open("review").get(0).setStatus(Task.TaskStatus.COMPLETED));
    flared.amend(flared.plan().setStatus(CarePlanStatus.REVOKED));
    held.amend(held.plan().setStatus(CarePlanStatus.ACTIVE));
    List<String> after = mine();
    assertTrue(after.contains("Waiting none"), after.toString());
    assertTrue(after.contains("Warned none"), after.toString());
    assertTrue(after.contains("Held none"), after.toString());
    assertFalse(after.toString().contains("Flared"), "a plan that is over is not listed");
  }

  @Test
  void aLineSaysWhatIsInForceAndSinceWhenAnAnswerWaits() {
    PlanPerson person = named("Line");
    person.enrol();
    String before = page("?name=" + family);
    assertTrue(before.contains("left knee"), before);
    assertTrue(before.contains("towel"), before);
    assertFalse(before.contains("class=\"since\""), before);
    person.send(person.warning(3));
    String after = page("?name=" + family);
    assertTrue(after.contains("since 16 April 2026"), after);
    assertTrue(after.contains("No exercise is asked for now."), after);
    person.send(person.session(4));
    assertTrue(page("?name=" + family).contains("since 16 April 2026"), "it is open since then");
  }

  @Test
  void aNameWithMarkupIsTextAndFollowsThePatient() {
    PlanPerson person = named("<script>alert(1)</script>");
    person.enrol();
    String page = page("?name=" + family);
    assertFalse(page.contains("<script>"), page);
    assertTrue(page.contains("&lt;script&gt;alert(1)&lt;/script&gt; " + family), page);
    String plan =
        given()
            .get("/plan/" + person.plan().getIdElement().getIdPart())
            .then()
            .extract()
            .asString();
    assertFalse(plan.contains("<script>alert"), plan);
    rename(person, "Renamed");
    assertEquals(List.of("Renamed none"), mine());
    given()
        .queryParam("name", "\"><img src=x>")
        .get("/")
        .then()
        .statusCode(200)
        .body(not(containsString("<img")));
  }

  @Test
  void whoHasNoNameStandsUnderTheId() {
    String id = UUID.randomUUID().toString();
    PlanPerson person = PlanPerson.elsewhere("https://records.example/fhir/Patient/" + id);
    person.send(person.baseline());
    person.send(person.equipment());
    person.enrol();
    assertTrue(page("?name=" + id).contains("1 plan, page 1 of 1"));
  }

  @Test
  void aWildCardIsALetterLikeAnyOther() {
    named("Wild").enrol();
    assertEquals(List.of(), listed(page("?name=" + family.replace('Q', '_'))));
    assertEquals(List.of(), listed(page("?name=%25" + family)));
  }

  @Test
  void theListGoesOnOverPages() {
    List<CarePlan> plans = new ArrayList<>();
    for (int i = 0; i < 51; i++) {
      PlanPerson person = PlanPerson.here();
      rename(person, "P" + (i + 10));
      plans.add(person.enrolment());
    }
    PlanPerson.transact(plans).statusCode(200);
    String first = page("?name=" + family);
    assertTrue(first.contains("51 plans, page 1 of 2"), first);
    assertEquals(50, listed(first).size());
    assertTrue(first.contains("rel=\"next\" href=\"/?name=" + family), first);
    assertFalse(first.contains("rel=\"prev\""), first);
    String second = page("?name=" + family + "&page=2");
    assertEquals(1, listed(second).size());
    assertTrue(second.contains("start=\"51\""), second);
    List<String> all = new ArrayList<>(listed(first));
    all.addAll(listed(second));
    assertEquals(51, all.stream().distinct().count());
    assertEquals(listed(second), listed(page("?name=" + family + "&page=99")));
    assertEquals(listed(first), listed(page("?name=" + family + "&page=x&need=nonsense")));
  }

  @Test
  void theWordsAreGermanForWhoReadsGerman() {
    given()
        .header("Accept-Language", "de")
        .get("/")
        .then()
        .statusCode(200)
        .body(containsString("<html lang=\"de\">"))
        .body(containsString("Alle Pläne"));
  }
}
