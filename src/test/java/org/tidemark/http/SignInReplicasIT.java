package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.ArrayList;
import java.util.HashMap;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Locale;
import java.util.Map;
import java.util.concurrent.Callable;
import java.util.concurrent.ExecutorService;
import java.util.concurrent.Executors;
import java.util.concurrent.Future;
import org.junit.jupiter.api.AfterAll;
import org.junit.jupiter.api.BeforeAll;
import org.junit.jupiter.api.Test;
import org.tidemark.store.PostgresServer;

/**
 * Two processes of the packaged service on one PostgreSQL, behind one address: whichever a browser
 * comes to, it is as much signed in.
 */
class SignInReplicasIT {
  private static final int FIRST = PlanPerson.PORT;

  private static final List<PackagedService> RUNNING = new ArrayList<>();
  private static IssuerServer issuer;
  private static int second;

  private final Browser browser = new Browser();

  @BeforeAll
  static void start() throws Exception {
    issuer = new IssuerServer();
    Map<String, String> settings = new HashMap<>();
    SignInProfile.settings(issuer)
        .forEach(
            (name, value) ->
                settings.put(name.replaceAll("[.-]", "_").toUpperCase(Locale.ROOT), value));
    settings.put("TIDEMARK_DATABASE_URL", PostgresServer.newDatabase());
    settings.put("TIDEMARK_DATABASE_USER", PostgresServer.USER);
    second = PackagedService.freePort();
    for (int port : List.of(FIRST, second)) {
      RUNNING.add(PackagedService.start(port, settings));
    }
    for (PackagedService service : RUNNING) {
      service.awaitReady();
    }
  }

  @AfterAll
  static void stop() throws InterruptedException {
    for (PackagedService service : RUNNING) {
      service.stop();
    }
    issuer.stop();
  }

  private static String at(int port, String path) {
    return "http://localhost:" + port + path;
  }

  /** Asks one, and comes back from the issuer to the other. */
  private void signIn(int from, int to, String as) {
    String back = browser.atIssuer(browser.begin(at(from, "/")), as);
    Browser.Got in = browser.get(back.replace(":" + FIRST, ":" + to));
    assertEquals(303, in.status(), in.body());
  }

  @Test
  void whatOneHasBegunTheOtherGoesOnWith() {
    signIn(FIRST, second, "{}");
    String secret = browser.session("localhost", "tidemark");
    assertEquals(200, browser.get(at(FIRST, "/")).status());
    assertEquals(200, browser.get(at(second, "/")).status());
    assertEquals(200, browser.send("POST", at(second, "/signin/out"), "").status());
    browser.cookies.get("localhost").put("tidemark", secret);
    assertEquals(302, browser.get(at(FIRST, "/")).status());
    assertEquals(302, browser.get(at(second, "/")).status());
  }

  @Test
  void ofRequestsToBothOneRenews() throws Exception {
    signIn(second, FIRST, "{\"seconds\":1,\"refresh\":true,\"renewed\":{\"exp\":4000000000}}");
    Thread.sleep(1_100);
    List<Callable<Integer>> requests = new ArrayList<>();
    for (int i = 0; i < 16; i++) {
      String page = at(i % 2 == 0 ? FIRST : second, "/");
      requests.add(() -> status(page));
    }
    ExecutorService threads = Executors.newFixedThreadPool(requests.size());
    try {
      for (Future<Integer> request : threads.invokeAll(requests)) {
        assertEquals(200, request.get());
      }
    } finally {
      threads.shutdownNow();
    }
    assertEquals(1, issuer.counted("refresh_token"));
    assertTrue(issuer.counted("refused refresh") == 0, "none came twice");
  }

  private int status(String page) {
    Browser same = new Browser();
    same.cookies.put("localhost", new LinkedHashMap<>(browser.cookies.get("localhost")));
    return same.get(page).status();
  }
}
