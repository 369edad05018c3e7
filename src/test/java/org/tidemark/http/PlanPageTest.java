package org.tidemark.http;

import static io.restassured.RestAssured.given;
import static org.hamcrest.Matchers.containsString;
import static org.hamcrest.Matchers.equalTo;
import static org.hamcrest.Matchers.not;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import java.util.Date;
import java.util.List;
import java.util.regex.Matcher;
import java.util.regex.Pattern;
import java.util.stream.Stream;
import org.hl7.fhir.r4.model.Annotation;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.CarePlan.CarePlanStatus;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.hl7.fhir.r4.model.StringType;
import org.hl7.fhir.r4.model.Task;
import org.junit.jupiter.api.Test;

/** The page of a plan shows what its records say, and offers what can be done about it. */
@QuarkusTest
class PlanPageTest {

  private static String page(PlanPerson person) {
    return page(person, "en");
  }

  private static String page(PlanPerson person, String language) {
    return given()
        .header("Accept-Language", language)
        .get("/plan/" + person.plan().getIdElement().getIdPart())
        .then()
        .statusCode(200)
        .contentType("text/html;charset=UTF-8")
        .header("Content-Security-Policy", containsString("default-src 'none'"))
        .header("Content-Security-Policy", containsString("script-src 'self'"))
        .header("Content-Security-Policy", not(containsString("unsafe")))
        .body(not(containsString("NOT_FOUND")))
        .extract()
        .asString();
  }

  /** The forms of a page, each as it is written, by what they do. */
  private static List<String> acts(String page) {
    Matcher forms = Pattern.compile("data-act=\"([a-z]+)\"").matcher(page);
    return forms.results().map(form -> form.group(1)).toList();
  }

  @Test
  void thePageShowsEachPrescriptionInWordsAndAsAPicture() {
    PlanPerson person = PlanPerson.enrolled();
    String page = page(person);
    assertFalse(person.inForce().isEmpty());
    for (ServiceRequest order : person.inForce().values()) {
      String id = order.getIdElement().getIdPart();
      assertTrue(
          page.contains("<h3 id=\"order-" + id + "-title\">" + order.getCode().getText() + "</h3>"),
          page);
      assertTrue(page.contains("data-order=\"" + id + "\" data-version=\"1\""), page);
    }
    assertTrue(page.contains("<svg"), page);
    assertTrue(page.contains(person.plan().getText().getDivAsString()));
    assertTrue(page.contains("<h1>Tomas Brandvik</h1>"), page);
    assertTrue(page.contains("Nothing waits for an answer."), page);
    assertEquals(List.of("set", "set", "hold", "note"), acts(page));
  }

  @Test
  void whatIsNoPlanIsNotFound() {
    given().get("/plan/nobody").then().statusCode(404).body(containsString("No such plan"));
    given().get("/plan/").then().statusCode(404).body(containsString("No such plan"));
    given().get("/plan/%3Cscript%3E").then().statusCode(404).body(not(containsString("<script>")));
  }

  @Test
  void anExerciseCanBeSetToWhatThePersonHas() {
    PlanPerson person = PlanPerson.enrolled();
    ServiceRequest order = person.inForce().get("towel-flexion-stretch");
    String page = page(person);
    String form = page.substring(page.indexOf("data-order=\"" + order.getIdElement().getIdPart()));
    form = form.substring(0, form.indexOf("</form>"));
    assertTrue(form.contains("name=\"setting.towel-thickness\""), form);
    assertTrue(form.contains("value=\"" + PlanPerson.setting(order, "towel-thickness")), form);
    assertTrue(form.contains("<option value=\"5\"></option>"), form);
    assertTrue(form.contains("name=\"dose.sets\""), form);
    assertTrue(form.contains("name=\"dose.hold\""), form);
    assertTrue(form.contains("name=\"times\""), form);
  }

  @Test
  void aProposalIsAnsweredAndThenAsksNoMore() {
    PlanPerson person = PlanPerson.here();
    person.send(person.baseline());
    person.send(person.equipment());
    CarePlan plan = person.enrolment();
    plan.getExtensionByUrl(PlanPerson.OURS + "change-control")
        .setValue(new CodeType("every-change"));
    person.send(plan);
    person.settled(1, 5);
    Task task = person.open("approve").get(0);
    String id = task.getIdElement().getIdPart();
    String page = page(person);
    assertTrue(page.contains("id=\"ask-" + id + "\" class=\"ask sign-off\""), page);
    assertTrue(page.contains("data-act=\"accept\" data-task=\"" + id + "\" data-version=\"1\""));
    assertTrue(page.contains("data-act=\"reject\" data-task=\"" + id + "\""), page);
    String focus = task.getFocus().getReference().replace("ServiceRequest/", "");
    assertTrue(page.contains("id=\"proposal-" + focus + "\""), page);
    assertFalse(page.contains("data-order=\"" + focus + "\""), "a proposal is not set by hand");
    person.amend(task.setStatus(Task.TaskStatus.ACCEPTED));
    assertFalse(page(person).contains("ask-" + id));
  }

  @Test
  void aWarningAsksForALook() {
    PlanPerson person = PlanPerson.enrolled();
    person.send(person.warning(1));
    String page = page(person);
    assertTrue(page.contains("class=\"ask warning\""), page);
    assertEquals(List.of("complete", "hold", "note"), acts(page));
  }

  @Test
  void aPlanOnHoldIsResumedAndAPlanThatIsOverIsOnlyRead() {
    PlanPerson person = PlanPerson.enrolled();
    person.amend(person.plan().setStatus(CarePlanStatus.ONHOLD));
    assertEquals(List.of("resume", "note"), acts(page(person)));
    person.amend(person.plan().setStatus(CarePlanStatus.REVOKED));
    assertEquals(List.of("note"), acts(page(person)));
  }

  @Test
  void notesStandNewestFirstAndAreTextOnly() {
    PlanPerson person = PlanPerson.enrolled();
    CarePlan plan = person.plan();
    plan.addNote(note("Older note", "2026-04-20T08:00:00Z", new StringType("Ada <b>Bold</b>")));
    plan.addNote(
        note(
            "Newer <script>note</script>",
            "2026-04-21T08:00:00Z",
            new Reference().setDisplay("Ravi Solund")));
    person.amend(plan);
    String page = page(person);
    assertTrue(page.indexOf("Newer &lt;script&gt;") < page.indexOf("Older note"), page);
    assertTrue(page.contains("Newer &lt;script&gt;note"), page);
    assertTrue(page.contains("Ada &lt;b&gt;Bold&lt;/b&gt;, 20 April 2026"), page);
    assertTrue(page.contains("Ravi Solund, 21 April 2026"), page);
    assertTrue(page.contains("data-notes=\"2\""), page);
  }

  private static Annotation note(String text, String time, org.hl7.fhir.r4.model.Type author) {
    Annotation note = new Annotation();
    note.setText(text).setTime(Date.from(java.time.Instant.parse(time))).setAuthor(author);
    return note;
  }

  /** What the script sends to write a note and to hold a plan, with the version of the page. */
  @Test
  void whatThePageSendsIsTakenOnceAndThenHasChanged() {
    PlanPerson person = PlanPerson.enrolled();
    CarePlan plan = person.plan();
    String address = "/fhir/CarePlan/" + plan.getIdElement().getIdPart();
    String match = "W/\"" + plan.getMeta().getVersionId() + "\"";
    String note =
        "[{\"op\":\"add\",\"path\":\"/note\",\"value\":[{\"authorString\":\"Ada Norlund\","
            + "\"time\":\"2026-04-20T08:00:00.000Z\",\"text\":\"Seen today.\"}]}]";
    patch(address, match, note).statusCode(200).body("note[0].text", equalTo("Seen today."));
    patch(address, match, note).statusCode(412);
    plan = person.plan();
    String hold = "[{\"op\":\"replace\",\"path\":\"/status\",\"value\":\"on-hold\"}]";
    patch(address, "W/\"" + plan.getMeta().getVersionId() + "\"", hold).statusCode(200);
    assertTrue(person.inForce().isEmpty());
    assertTrue(page(person).contains("Seen today."));
  }

  private static io.restassured.response.ValidatableResponse patch(
      String address, String match, String body) {
    return given()
        .contentType("application/json-patch+json")
        .header("If-Match", match)
        .body(body)
        .patch(address)
        .then();
  }

  @Test
  void theWordsOfThePageAreGermanForWhoReadsGerman() {
    PlanPerson person = PlanPerson.enrolled();
    String page = page(person, "de-AT,de;q=0.9,en;q=0.5");
    assertTrue(page.contains("<html lang=\"de\">"), page);
    assertTrue(page.contains("Was verordnet ist"), page);
    assertTrue(page.contains("-title\">Kniebeugung auf eine Handtuchrolle</h3>"), page);
    assertTrue(page(person, "fr").contains("<html lang=\"en\">"));
  }

  @Test
  void scriptAndStyleAreFilesOfOurs() {
    Stream.of("plan.js", "page.css")
        .forEach(
            file -> given().get("/assets/" + file).then().statusCode(200).body(not(equalTo(""))));
  }
}
