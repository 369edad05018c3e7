package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertNotEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import io.quarkus.test.junit.TestProfile;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.UUID;
import java.util.concurrent.Callable;
import java.util.concurrent.ExecutorService;
import java.util.concurrent.Executors;
import java.util.concurrent.Future;
import java.util.stream.IntStream;
import java.util.stream.Stream;
import org.hl7.fhir.r4.model.AuditEvent;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.CarePlan;
import org.junit.jupiter.api.AfterAll;
import org.junit.jupiter.api.BeforeAll;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.ValueSource;

/** A clinician signs in on the pages, works there by their own token, and signs out. */
@QuarkusTest
@TestProfile(SignInProfile.class)
class SignInTest {
  private static final String NOTHING = "{}";

  private static PlanPerson person;
  private static String plan;

  private final Browser browser = new Browser();

  @BeforeAll
  static void somebodyHasAPlan() {
    SignInProfile.sends();
    person = PlanPerson.enrolled();
    plan = "/plan/" + TwoClinics.planOf(person);
  }

  @AfterAll
  static void othersSendWithoutAToken() {
    TwoClinics.leave();
  }

  private static String fhir() {
    return plan.replace("/plan/", "/fhir/CarePlan/");
  }

  @Test
  void whoAsksForAPageSignsInAndComesBackToIt() {
    Browser.Got asked = browser.get(plan);
    assertEquals(302, asked.status());
    assertTrue(asked.location().startsWith(SignInProfile.issuer() + "/authorize?"));
    assertTrue(
        asked.cookies().stream()
            .allMatch(
                cookie ->
                    cookie.contains("; HttpOnly")
                        && cookie.contains("; SameSite=Lax")
                        && cookie.contains("; Path=/")),
        asked.cookies().toString());
    Browser.Got back = browser.get(browser.atIssuer(asked.location(), NOTHING));
    assertEquals(303, back.status(), back.body());
    assertEquals(plan, back.location());
    Browser.Got page = browser.get(plan);
    assertEquals(200, page.status(), page.body());
    assertTrue(page.body().contains("Brandvik"));
    assertTrue(page.body().contains("Signed in as Ada Wren &lt;ada&gt;"), "the name, as text");
    assertTrue(page.body().contains("action=\"/signin/out\""));
    assertEquals(200, browser.get("/?name=Brandvik&need=").status());
    assertEquals(200, browser.get("/guide").status());
  }

  @ParameterizedTest
  @ValueSource(strings = {"/", "/?name=Brand%20vik&need=warning&page=1", "/guide", "/plan/x-1.2"})
  void everyPageIsComeBackTo(String page) {
    Browser.Got back = browser.signIn(page, NOTHING);
    assertEquals(303, back.status(), back.body());
    assertEquals(page, back.location());
  }

  /** As the script of the page does: a FHIR request with the cookie and without a token. */
  private Browser.Got patch(String version, String operations, String... more) {
    String[] headers = {
      "Content-Type", "application/json-patch+json",
      "Accept", "application/fhir+json",
      "If-Match", "W/\"" + version + "\"",
      "Sec-Fetch-Site", "same-origin",
      "Origin", Browser.HERE
    };
    String[] all = Stream.concat(Stream.of(headers), Stream.of(more)).toArray(String[]::new);
    return browser.send("PATCH", fhir(), operations, all);
  }

  @Test
  void whatIsDoneOnThePageIsDoneByTheClinician() {
    browser.signIn(plan, NOTHING);
    CarePlan before = person.plan();
    String held = "[{\"op\":\"replace\",\"path\":\"/status\",\"value\":\"on-hold\"}]";
    Browser.Got done = patch(before.getMeta().getVersionId(), held);
    assertEquals(200, done.status(), done.body());
    Bundle trail =
        PlanPerson.client()
            .search()
            .byUrl("Provenance?target=CarePlan/" + TwoClinics.planOf(person) + "&_count=100")
            .returnBundle(Bundle.class)
            .execute();
    assertTrue(
        PlanPerson.json(trail).contains("Practitioner/ada-wren"),
        "the trail names the clinician who was signed in");
    String resumed = held.replace("on-hold", "active");
    assertEquals(200, patch(person.plan().getMeta().getVersionId(), resumed).status());
  }

  @Test
  void theAuditTrailNamesWhoSignedInAndNoCode() {
    AuditEvents trail =
        new AuditEvents(new Sender(SignInProfile.token("system/*.cruds", Map.of())));
    AuditEvent in = event(trail, browser.signIn("/", NOTHING).header("X-Request-ID"));
    assertEquals("GET /signin/callback", AuditEvents.query(in));
    assertEquals(AuditEvent.AuditEventOutcome._0, in.getOutcome());
    assertTrue(PlanPerson.json(in).contains("Practitioner/ada-wren"), PlanPerson.json(in));
    String id = UUID.randomUUID().toString();
    browser.get(plan, "X-Request-ID", id);
    assertTrue(PlanPerson.json(event(trail, id)).contains("Practitioner/ada-wren"));
    Browser.Got forged = browser.get("/signin/callback?code=a&state=b");
    AuditEvent refused = event(trail, forged.header("X-Request-ID"));
    assertEquals(AuditEvent.AuditEventOutcome._4, refused.getOutcome());
  }

  private static AuditEvent event(AuditEvents trail, String requestId) {
    return trail.ofRequest(requestId).get(0);
  }

  @Test
  void whoSignsOutIsOutHereAndAtTheIssuer() {
    browser.signIn("/", NOTHING);
    String secret = browser.session("localhost", "tidemark");
    int before = Browser.count("logout");
    Browser.Got out =
        browser.send(
            "POST", "/signin/out", "", "Origin", Browser.HERE, "Sec-Fetch-Site", "same-origin");
    assertEquals(200, out.status(), out.body());
    assertTrue(out.body().contains("http-equiv=\"refresh\""), out.body());
    assertEquals("", browser.session("localhost", "tidemark"));
    String leads =
        out.body().replaceAll("(?s).*content=\"0; url=([^\"]+)\".*", "$1").replace("&amp;", "&");
    Browser.Got left = browser.get(leads);
    assertEquals(before + 1, Browser.count("logout"));
    assertEquals(Browser.HERE + "/signin/left", left.location());
    assertTrue(browser.get(left.location()).body().contains("You are signed out"));
    browser.cookies.get("localhost").put("tidemark", secret);
    assertEquals(302, browser.get("/").status(), "a copy of the cookie is worth nothing");
    assertEquals(303, new Browser().send("POST", "/signin/out", "").status(), "nobody signs out");
  }

  // ---- renewal ----

  @Test
  void anAccessTokenThatExpiresIsRenewed() {
    browser.signIn("/", "{\"seconds\":20,\"refresh\":true}");
    int before = Browser.count("refresh_token");
    assertEquals(200, browser.get("/").status());
    assertEquals(before + 1, Browser.count("refresh_token"));
    assertEquals(200, browser.get("/").status());
    assertEquals(before + 2, Browser.count("refresh_token"), "what it got lives 20 s too");
    assertEquals(0, Browser.count("refused refresh"), "each was used once");
  }

  @Test
  void ofManyRequestsAtOnceOneRenews() throws Exception {
    browser.signIn("/", "{\"seconds\":1,\"refresh\":true,\"renewed\":{\"exp\":4000000000}}");
    Thread.sleep(1_100);
    int before = Browser.count("refresh_token");
    ExecutorService threads = Executors.newFixedThreadPool(8);
    try {
      List<Callable<Integer>> requests =
          IntStream.range(0, 16).<Callable<Integer>>mapToObj(i -> () -> status("/")).toList();
      for (Future<Integer> request : threads.invokeAll(requests)) {
        assertEquals(200, request.get());
      }
    } finally {
      threads.shutdownNow();
    }
    assertEquals(before + 1, Browser.count("refresh_token"));
  }

  private int status(String page) {
    Browser same = new Browser();
    same.cookies.put("localhost", new LinkedHashMap<>(browser.cookies.get("localhost")));
    return same.get(page).status();
  }

  @Test
  void whatCannotBeRenewedIsSignedInAnewAndComeBackTo() throws Exception {
    browser.signIn(plan, "{\"seconds\":1}");
    Thread.sleep(1_100);
    Browser.Got act = patch("1", "[]");
    assertEquals(401, act.status(), "the script says that the sign-in has ended");
    assertTrue(act.body().contains("OperationOutcome"));
    Browser.Got back = browser.signIn(plan, NOTHING);
    assertEquals(plan, back.location());
    assertEquals(200, browser.get(plan).status());
  }

  @Test
  void anIssuerThatDoesNotAnswerEndsNothing() throws Exception {
    browser.signIn("/", "{\"seconds\":3,\"refresh\":true,\"refreshStatus\":500}");
    assertEquals(200, browser.get("/").status(), "the token is still good");
    Thread.sleep(3_100);
    Browser.Got waits = browser.get("/");
    assertEquals(503, waits.status());
    assertTrue(waits.body().contains("Please wait a moment"), waits.body());
    assertNotEquals("", waits.header("Retry-After"));
    assertNotEquals("", browser.session("localhost", "tidemark"));
  }

  @ParameterizedTest
  @ValueSource(
      strings = {
        "{\"fhirUser\":\"Practitioner/somebody-else\"}",
        "{\"fhirUser\":null}",
        "{\"aud\":\"https://elsewhere.example/fhir\"}",
        "{\"exp\":1}"
      })
  void whatIsRenewedForSomebodyElseEndsTheSession(String renewed) {
    browser.signIn("/", "{\"seconds\":20,\"refresh\":true,\"renewed\":" + renewed + "}");
    assertEquals(302, browser.get("/").status());
  }

  // ---- what is said to whom does not get in ----

  @ParameterizedTest(name = "{0}: {1}")
  @CsvSource(
      delimiter = ';',
      value = {
        "{\"error\":\"access_denied\"}; 403; Not signed in; Nicht angemeldet",
        "{\"error\":\"invalid_scope\"}; 502; did not work; nicht geklappt",
        "{\"status\":400}; 502; did not work; nicht geklappt",
        "{\"status\":500}; 503; does not answer; antwortet nicht",
        "{\"status\":302}; 502; did not work; nicht geklappt",
        "{\"access\":{\"fhirUser\":null}}; 403; For clinicians only; Nur für Fachpersonen",
        "{\"access\":{\"fhirUser\":\"Patient/p\"}}; 403; For clinicians only; Nur für Fachpersonen",
        "{\"access\":{\"aud\":\"x\"}}; 403; not let in here; keinen Zugang",
        "{\"access\":{\"clinic\":\"west\"}}; 403; another clinic; andere Klinik"
      })
  void eachRefusalIsAPageInTheLanguageThatIsAskedFor(
      String as, int status, String english, String german) {
    Browser.Got refused = browser.signIn("/", as);
    assertPage(refused, status, english, "en");
    assertPage(new Browser("de-AT, en;q=0.5").signIn("/", as), status, german, "de");
    assertEquals("", browser.session("localhost", "tidemark"));
    assertEquals(302, browser.get("/").status());
  }

  private static void assertPage(Browser.Got got, int status, String said, String language) {
    assertEquals(status, got.status(), got.body());
    assertTrue(got.header("Content-Type").startsWith("text/html"), got.header("Content-Type"));
    assertTrue(got.body().contains("<html lang=\"" + language), got.body());
    assertTrue(got.body().contains(said), got.body());
    assertFalse(got.body().contains("OperationOutcome"));
  }

  @Test
  void whoLacksRightsIsToldWhich() {
    browser.signIn("/", "{\"access\":{\"scope\":\"openid user/CarePlan.rs user/Goal.r\"}}");
    Browser.Got refused = browser.get(plan);
    assertPage(refused, 403, "Something is missing", "en");
    for (String type :
        List.of("Flag", "Goal", "Observation", "Patient", "ServiceRequest", "Task")) {
      assertTrue(refused.body().contains("user/" + type + ".rs"), type);
    }
    assertFalse(refused.body().contains("user/CarePlan.rs"));
    assertTrue(refused.body().contains("action=\"/signin/out\""), "they can sign out");
  }

  @Test
  void whoIsTheWrongPersonSignsInAsAnother() {
    Browser.Got refused = browser.signIn("/", "{\"access\":{\"fhirUser\":null}}");
    assertTrue(refused.body().contains("href=\"/signin/again\""));
    String again = browser.begin("/signin/again");
    assertTrue(again.contains("prompt=login"), again);
    assertEquals(303, browser.get(browser.atIssuer(again, NOTHING)).status());
    assertEquals(200, browser.get("/").status());
  }

  // ---- beside the pages ----

  @Test
  void whoSendsTokensIsAnsweredAsBefore() {
    Browser.Got client = browser.get("/", "Accept", "application/fhir+json");
    assertEquals(401, client.status());
    assertTrue(client.header("WWW-Authenticate").startsWith("Bearer"));
    assertEquals(401, browser.get("/fhir/Patient").status());
    assertEquals(401, browser.get("/", "Authorization", "Bearer x.y.z").status());
    assertEquals(200, browser.get("/", "Authorization", "Bearer " + PlanPerson.token).status());
    browser.signIn("/", NOTHING);
    assertEquals(
        401,
        browser.get("/fhir/Patient", "Authorization", "Bearer x.y.z").status(),
        "a bad token is not mended by a cookie");
  }

  @Test
  void eachClinicHasSessionsOfItsOwn() {
    Browser.Got back = browser.signIn(Browser.NORTH + "/", NOTHING);
    assertEquals(303, back.status(), back.body());
    String name = "__Host-tidemark";
    assertTrue(
        back.cookies().stream().allMatch(cookie -> cookie.contains("; Secure")),
        back.cookies().toString());
    Browser.Got page = browser.get(Browser.NORTH + "/");
    assertEquals(200, page.status(), page.body());
    assertFalse(page.body().contains("Brandvik"), "who is at home in the other clinic");
    assertEquals(404, browser.get(Browser.NORTH + plan).status());
    String secret = browser.session("127.0.0.1", name);
    assertNotEquals("", secret);
    browser.cookies.get("localhost").put("tidemark", secret);
    assertEquals(302, browser.get("/").status(), "it is not known in the other clinic");
  }

  @Test
  void severalPagesSignInAtOnce() {
    String first = browser.begin("/");
    String second = browser.begin(plan);
    assertEquals(plan, browser.get(browser.atIssuer(second, NOTHING)).location());
    assertEquals("/", browser.get(browser.atIssuer(first, NOTHING)).location());
    for (int i = 0; i < 40; i++) {
      browser.cookies.get("localhost").remove("tidemark");
      browser.begin("/");
    }
    assertTrue(browser.cookies.get("localhost").size() <= 9, "begun and never ended");
  }
}
