package org.tidemark.http;

import static org.hamcrest.MatcherAssert.assertThat;
import static org.hamcrest.Matchers.containsString;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import io.quarkus.test.junit.QuarkusTestProfile;
import io.quarkus.test.junit.TestProfile;
import java.util.List;
import java.util.Map;
import java.util.stream.IntStream;
import org.junit.jupiter.api.Test;

/** How much a client may send, and that others are not held up by it. */
@QuarkusTest
@TestProfile(RateLimitTest.Limited.class)
class RateLimitTest {
  private static final int BURST = 10;

  /** One request a second, ten at once. */
  public static final class Limited implements QuarkusTestProfile {
    @Override
    public List<TestResourceEntry> testResources() {
      return new SmartProfile().testResources();
    }

    @Override
    public Map<String, String> getConfigOverrides() {
      return Map.of("tidemark.rate-limit", "1", "tidemark.rate-burst", String.valueOf(BURST));
    }
  }

  private static Sender client(String name) {
    return new Sender(SmartProfile.token("system/*.rs", Map.of("client_id", name, "sub", name)));
  }

  private static List<Sender.Answer> flood(Sender sender) {
    return IntStream.range(0, 5 * BURST)
        .mapToObj(i -> sender.get("/fhir/Patient?_count=0"))
        .toList();
  }

  @Test
  void whoSendsTooMuchIsToldToWaitAndOthersAreServed() throws InterruptedException {
    Sender busy = client("busy");
    List<Sender.Answer> answers = flood(busy);
    for (Sender.Answer first : answers.subList(0, BURST)) {
      assertEquals(200, first.status(), first.body());
    }
    Sender.Answer refused =
        answers.stream().filter(answer -> answer.status() != 200).findFirst().orElseThrow();
    // RFC 6585, section 4; RFC 9110, section 10.2.3.
    assertEquals(429, refused.status());
    assertThat(refused.body(), containsString("\"throttled\""));
    assertThat(refused.body(), containsString("OperationOutcome"));
    assertTrue(Integer.parseInt(refused.header("Retry-After")) >= 1);
    assertEquals(200, client("calm").get("/fhir/Patient?_count=0").status());
    Thread.sleep(1_000L * Integer.parseInt(refused.header("Retry-After")));
    assertEquals(200, busy.get("/fhir/Patient?_count=0").status());
  }

  /** Tokens cannot be guessed at any speed. */
  @Test
  void refusedTokensCountForTheAddress() {
    List<Integer> statuses =
        flood(new Sender("guess")).stream().map(Sender.Answer::status).toList();
    assertEquals(401, statuses.get(0));
    assertTrue(statuses.contains(429), statuses.toString());
  }
}
