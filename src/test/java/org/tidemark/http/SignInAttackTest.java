package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import io.quarkus.test.junit.TestProfile;
import java.net.URLEncoder;
import java.nio.charset.StandardCharsets;
import java.util.Base64;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Locale;
import java.util.Map;
import org.junit.jupiter.api.AfterAll;
import org.junit.jupiter.api.BeforeAll;
import org.junit.jupiter.api.Test;

/**
 * What is done to who signs in, or to get in as somebody else (RFC 9700, OpenID Connect Core 16).
 */
@QuarkusTest
@TestProfile(SignInProfile.class)
class SignInAttackTest {
  private static final String SESSION = "tidemark";
  private static final String NOTHING = "{}";

  private static String plan;

  private final Browser browser = new Browser();

  @BeforeAll
  static void somebodyHasAPlan() {
    SignInProfile.sends();
    plan = "/plan/" + TwoClinics.planOf(PlanPerson.enrolled());
  }

  @AfterAll
  static void othersSendWithoutAToken() {
    TwoClinics.leave();
  }

  /** Whether somebody has got in by an answer, or sees a page now. */
  private static boolean isIn(Browser by, Browser.Got answer) {
    boolean session =
        answer.cookies().stream().anyMatch(cookie -> cookie.matches("(__Host-)?tidemark=[^;].*"));
    return session || by.get(plan).body().contains("Brandvik") || answer.status() >= 504;
  }

  private void tried(Attack attack, String what, Browser by, Browser.Got answer) {
    boolean faulty = answer.status() == 500;
    attack.tried(what, isIn(by, answer) || faulty, answer.status() + answer.body());
  }

  // ---- coming back from the issuer ----

  /** Login CSRF: a code of the attacker's, or with no state, brought into somebody's browser. */
  @Test
  void forgedStates() {
    Attack attack = new Attack("sign-in: forged and foreign states");
    Browser attacker = new Browser();
    for (int i = 0; i < 3; i++) {
      String theirs = attacker.atIssuer(attacker.begin("/"), NOTHING);
      tried(attack, "no attempt", browser, browser.get(theirs));
      Browser victim = new Browser();
      String own = victim.begin("/");
      String state = own.replaceAll(".*[?&]state=([^&]+).*", "$1");
      String code = theirs.replaceAll(".*[?&]code=([^&]+).*", "$1");
      String callback = Browser.HERE + "/signin/callback?code=" + code;
      tried(attack, "foreign state", victim, victim.get(theirs));
      for (String forged :
          List.of(
              "",
              "&state=",
              "&state=x",
              "&state=" + state.substring(0, 16),
              "&state=" + state.substring(0, 42) + (state.endsWith("A") ? "B" : "A"),
              "&state=" + state.toLowerCase(Locale.ROOT),
              "&state=" + state + "A",
              "&state=" + state + "&state=" + state,
              "&state=" + state + "%00",
              "&state=%2e%2e%2f",
              "&state=" + "A".repeat(43))) {
        tried(attack, "state " + forged, victim, victim.get(callback + forged));
      }
    }
    attack.end(36);
  }

  /** A code that was given for another attempt: PKCE and the nonce tie it to its own. */
  @Test
  void injectedCodes() {
    Attack attack = new Attack("sign-in: injected codes");
    for (int i = 0; i < 3; i++) {
      Browser victim = new Browser();
      String stolen =
          victim.atIssuer(victim.begin("/"), NOTHING).replaceAll(".*[?&]code=([^&]+).*", "$1");
      Browser attacker = new Browser();
      String own = attacker.atIssuer(attacker.begin("/"), NOTHING);
      tried(
          attack,
          "a stolen code",
          attacker,
          attacker.get(own.replaceAll("([?&])code=[^&]+", "$1code=" + stolen)));
      for (String code :
          List.of("", "x", "%00", stolen + "&code=" + stolen, "x%26grant_type%3Dy")) {
        Browser other = new Browser();
        String back = other.atIssuer(other.begin("/"), NOTHING);
        tried(
            attack,
            "code " + code,
            other,
            other.get(back.replaceAll("([?&])code=[^&]+", "$1code=" + code)));
      }
    }
    attack.end(18);
  }

  @Test
  void replays() {
    Attack attack = new Attack("sign-in: replayed answers of the issuer");
    for (int i = 0; i < 3; i++) {
      Browser by = new Browser();
      String where = by.begin("/");
      Map<String, String> begun = new LinkedHashMap<>(by.cookies.get("localhost"));
      String back = by.atIssuer(where, NOTHING);
      assertEquals(303, by.get(back).status());
      by.cookies.get("localhost").clear();
      tried(attack, "the address alone", by, by.get(back));
      by.cookies.get("localhost").putAll(begun);
      tried(attack, "with its cookies", by, by.get(back));
      tried(attack, "elsewhere", new Browser(), new Browser().get(back));
    }
    assertTrue(Browser.count("refused code") >= 3, "the issuer knows its codes");
    attack.end(9);
  }

  /** Another issuer's answer (mix-up, RFC 9207). */
  @Test
  void otherIssuers() {
    Attack attack = new Attack("sign-in: answers in another issuer's name");
    for (String iss : List.of("https://evil.example", SignInProfile.issuer() + "/", " ")) {
      Browser by = new Browser();
      tried(attack, iss, by, by.signIn("/", "{\"iss\":\"" + iss + "\"}"));
    }
    attack.end(3);
  }

  // ---- tokens ----

  @Test
  void forgedIdTokens() {
    Attack attack = new Attack("sign-in: ID tokens that are not good");
    for (String as :
        List.of(
            "{\"key\":\"stranger\"}",
            "{\"key\":\"none\"}",
            "{\"key\":\"public\"}",
            "{\"noId\":true}",
            "{\"id\":{\"nonce\":null}}",
            "{\"id\":{\"nonce\":\"\"}}",
            "{\"id\":{\"nonce\":\"AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA\"}}",
            "{\"id\":{\"nonce\":[\"x\"]}}",
            "{\"id\":{\"iss\":\"https://evil.example\"}}",
            "{\"id\":{\"iss\":null}}",
            "{\"id\":{\"aud\":\"another client\"}}",
            "{\"id\":{\"aud\":null}}",
            "{\"id\":{\"aud\":[]}}",
            "{\"id\":{\"aud\":[\"pages of the clinic\",\"another\"]}}",
            "{\"id\":{\"azp\":\"another\"}}",
            "{\"id\":{\"azp\":\"another\",\"aud\":[\"pages of the clinic\",\"another\"]}}",
            "{\"id\":{\"exp\":1}}",
            "{\"id\":{\"exp\":null}}",
            "{\"id\":{\"exp\":\"soon\"}}",
            "{\"id\":{\"iat\":null}}",
            "{\"id\":{\"nbf\":4000000000}}",
            "{\"id\":{\"sub\":null}}",
            "{\"id\":{\"at_hash\":\"AAAAAAAAAAAAAAAAAAAAAA\"}}")) {
      Browser by = new Browser();
      tried(attack, as, by, by.signIn("/", as));
    }
    attack.end(23);
  }

  @Test
  void accessTokensThatAreNotGood() {
    Attack attack = new Attack("sign-in: access tokens that are not good");
    for (String claims :
        List.of(
            "\"iss\":\"https://evil.example\"",
            "\"aud\":\"https://elsewhere.example/fhir\"",
            "\"aud\":null",
            "\"exp\":1",
            "\"exp\":null",
            "\"clinic\":null",
            "\"clinic\":\"west\"",
            "\"clinic\":\"north\"",
            "\"clinic\":\"north\",\"aud\":\"https://127.0.0.1:8081/fhir\"",
            "\"fhirUser\":null",
            "\"fhirUser\":\"\"",
            "\"fhirUser\":\"Patient/p\"",
            "\"fhirUser\":\"Practitioner\"",
            "\"fhirUser\":\"ada\"",
            "\"fhirUser\":[\"Practitioner/ada\"]",
            "\"fhirUser\":{\"reference\":\"Practitioner/ada\"}",
            "\"scope\":\"openid\"",
            "\"scope\":null",
            "\"scope\":\"patient/*.cruds\",\"patient\":\"p\"",
            "\"scope\":\"user/*.rs?code=x\"",
            "\"scope\":\"user/CarePlan.rs\"")) {
      Browser by = new Browser();
      Browser.Got got = by.signIn("/", "{\"access\":{" + claims + "}}");
      // Who lacks rights is signed in and sees a page that says so.
      boolean sees = by.get(plan).body().contains("Brandvik") || by.get("/").status() == 200;
      attack.tried(claims, sees || got.status() == 500, got.status() + got.body());
    }
    attack.end(21);
  }

  // ---- sessions ----

  @Test
  void tamperedCookies() {
    Attack attack = new Attack("sign-in: guessed and changed session cookies");
    browser.signIn("/", NOTHING);
    String secret = browser.session("localhost", SESSION);
    Browser other = new Browser();
    other.signIn("/", NOTHING);
    for (String forged :
        List.of(
            "",
            "x",
            secret.substring(0, 42),
            secret + "A",
            secret.substring(0, 42) + (secret.endsWith("A") ? "E" : "A"),
            secret.toUpperCase(Locale.ROOT),
            "A".repeat(43),
            "\"" + secret.substring(1) + "\"",
            secret.substring(0, 40) + "%00x",
            other.session("localhost", SESSION).substring(0, 20) + secret.substring(20),
            "' or '1'='1",
            "..%2f..%2f",
            "A".repeat(4000))) {
      Browser by = new Browser();
      by.cookies.put("localhost", new LinkedHashMap<>(Map.of(SESSION, forged)));
      tried(attack, forged, by, by.get(plan));
    }
    for (String cookies :
        List.of(
            "tidemark=x; tidemark=" + secret, "__Host-tidemark=" + secret, "Tidemark=" + secret)) {
      Browser.Got got = new Browser().get(plan, "Cookie", cookies);
      attack.tried(cookies, got.body().contains("Brandvik"), got.body());
    }
    Browser north = new Browser();
    north.cookies.put("127.0.0.1", new LinkedHashMap<>(Map.of("__Host-tidemark", secret)));
    Browser.Got got = north.get(Browser.NORTH + "/");
    attack.tried("the other clinic's", got.status() == 200, got.body());
    attack.end(17);
  }

  /** A cookie that an attacker has set before is not the session afterwards. */
  @Test
  void fixation() {
    Attack attack = new Attack("sign-in: session fixation");
    for (String fixed : List.of("A".repeat(43), "b".repeat(43))) {
      Browser by = new Browser();
      by.cookies.put("localhost", new LinkedHashMap<>(Map.of(SESSION, fixed)));
      by.signIn("/", NOTHING);
      Browser attacker = new Browser();
      attacker.cookies.put("localhost", new LinkedHashMap<>(Map.of(SESSION, fixed)));
      tried(attack, fixed, attacker, attacker.get(plan));
    }
    attack.end(2);
  }

  /** Whatever a page of somebody else makes the browser of a clinician send. */
  @Test
  void otherSites() {
    Attack attack = new Attack("sign-in: requests for other sites (CSRF)");
    browser.signIn("/", NOTHING);
    String record = plan.replace("/plan/", "/fhir/CarePlan/");
    for (String site : List.of("cross-site", "same-site", "Cross-Site", "x")) {
      for (String origin : List.of("https://evil.example", "null", "http://localhost:9999")) {
        for (String method : List.of("POST", "PUT", "PATCH", "DELETE")) {
          for (String path : List.of("/signin/out", record, "/fhir", "/fhir/Task?status=x")) {
            Browser.Got got =
                browser.send(
                    method,
                    path,
                    "[]",
                    "Sec-Fetch-Site",
                    site,
                    "Origin",
                    origin,
                    "Content-Type",
                    "text/plain");
            attack.tried(method + path, got.status() != 403, got.status() + got.body());
          }
        }
      }
      for (String path : List.of(record, "/fhir/Patient", "/fhir/Patient/$everything", "/fhir")) {
        Browser.Got got = browser.get(path, "Sec-Fetch-Site", site);
        attack.tried("GET " + path, got.status() != 401, got.status() + got.body());
      }
    }
    // A portal that may send requests sends tokens, and is not served by the cookie.
    Browser.Got portal =
        browser.send(
            "PATCH",
            record,
            "[]",
            "Origin",
            "https://portal.example",
            "Sec-Fetch-Site",
            "same-site",
            "Content-Type",
            "application/json-patch+json");
    attack.tried("a portal", portal.status() != 401, portal.status() + portal.body());
    assertEquals(200, browser.get("/").status(), "nobody was signed out");
    assertEquals(
        200,
        browser.get(plan, "Sec-Fetch-Site", "cross-site", "Sec-Fetch-Mode", "navigate").status(),
        "a link of another system leads to the page");
    attack.end(200);
  }

  // ---- where somebody is led ----

  /** OWASP, Unvalidated Redirects: in the address that is asked for, and in the cookie. */
  @Test
  void openRedirects() {
    Attack attack = new Attack("sign-in: open redirects");
    for (String evil :
        List.of(
            "//evil.example",
            "///evil.example",
            "/\\evil.example",
            "/%5Cevil.example",
            "https://evil.example",
            "http:evil.example",
            "/plan/..%2f..%2f/evil.example",
            "/plan/../../evil.example",
            "/plan/x/../../evil.example",
            "/.evil.example",
            "/@evil.example",
            "/%09/evil.example",
            "/%2f%2fevil.example",
            "/fhir/Patient",
            "/signin/out",
            "/guide/../../evil",
            "javascript:attack()",
            "data:text/html,attack",
            "/?x\r\nLocation: https://evil.example",
            "/\r\nSet-Cookie: tidemark=evil",
            "/?x\nX-Injected: yes",
            "/plan/x\u0000",
            "/?\u2028",
            "")) {
      Browser by = new Browser();
      String back = by.atIssuer(by.begin("/"), NOTHING);
      Map<String, String> kept = by.cookies.get("localhost");
      String path =
          Base64.getUrlEncoder()
              .withoutPadding()
              .encodeToString(evil.getBytes(StandardCharsets.UTF_8));
      kept.replaceAll((name, value) -> value.split("\\.")[0] + "." + path);
      Browser.Got got = by.get(back);
      boolean led = !got.location().equals("/") || !got.header("X-Injected").isEmpty();
      attack.tried("cookie " + evil, led, got.status() + got.location());
    }
    for (String asked :
        List.of(
            "/?x=https://evil.example",
            "/?return=//evil.example",
            "//evil.example/",
            "//evil.example/plan/x",
            "/plan//evil.example",
            "/plan/%2f%2fevil.example",
            "/plan/..;/x",
            "/?next=%0d%0aLocation:%20https://evil.example")) {
      Browser by = new Browser();
      Browser.Got got = by.get(Browser.HERE + asked);
      if (got.status() == 302 && got.location().startsWith(SignInProfile.issuer())) {
        got = by.get(by.atIssuer(got.location(), NOTHING));
      }
      String to = got.location();
      boolean own = to.isEmpty() || to.matches("/([?].*)?|/plan/[A-Za-z0-9.-]+|/guide");
      attack.tried("asked " + asked, !own, got.status() + to);
    }
    for (String parameter : List.of("redirect_uri", "return", "next", "post_logout_redirect_uri")) {
      String evil =
          parameter + "=" + URLEncoder.encode("https://evil.example", StandardCharsets.UTF_8);
      for (String path : List.of("/signin/again?", "/signin/left?", "/signin/callback?", "/?")) {
        Browser by = new Browser();
        String to = by.get(path + evil).location();
        attack.tried(
            path + evil, !to.isEmpty() && !to.startsWith(SignInProfile.issuer() + "/"), to);
      }
    }
    attack.end(48);
  }

  /** What comes from an address or a token into a page. */
  @Test
  void scriptsInPages() {
    Attack attack = new Attack("sign-in: scripts in its pages (XSS)");
    String script = "\"><script>attack()</script>";
    String encoded = URLEncoder.encode(script, StandardCharsets.UTF_8);
    for (String path :
        List.of(
            "/signin/callback?state=" + encoded + "&code=" + encoded,
            "/signin/callback?error=" + encoded + "&error_description=" + encoded,
            "/signin/left?x=" + encoded,
            "/signin/" + encoded)) {
      Browser.Got got = browser.get(path);
      attack.tried(path, got.body().contains("<script"), got.body());
    }
    String json = script.replace("\"", "\\\"");
    for (String claim : List.of("name", "preferred_username", "email")) {
      Browser by = new Browser();
      by.signIn("/", "{\"id\":{\"name\":null,\"" + claim + "\":\"" + json + "\"}}");
      for (String path : List.of("/", plan)) {
        String body = by.get(path).body().replace("<script src=\"/assets/plan.js\" defer>", "");
        attack.tried(claim + path, body.contains("<script"), body);
      }
      Browser.Got out = by.send("POST", "/signin/out", "");
      attack.tried(claim + " out", out.body().contains("<script"), out.body());
    }
    Browser by = new Browser();
    by.signIn("/", "{\"access\":{\"fhirUser\":\"Practitioner/<script>attack()</script>\"}}");
    attack.tried("fhirUser", by.get("/").body().contains("<script"), by.get("/").body());
    attack.end(14);
  }
}
