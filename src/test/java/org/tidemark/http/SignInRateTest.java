package org.tidemark.http;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import io.quarkus.test.junit.QuarkusTest;
import io.quarkus.test.junit.QuarkusTestProfile;
import io.quarkus.test.junit.TestProfile;
import java.util.List;
import java.util.Map;
import java.util.stream.Stream;
import org.junit.jupiter.api.Test;

/** Who has signed in on the pages is not held up by others who have. */
@QuarkusTest
@TestProfile(SignInRateTest.Limited.class)
class SignInRateTest {
  private static final int BURST = 20;

  /** One request a second, twenty at once. */
  public static final class Limited implements QuarkusTestProfile {
    @Override
    public List<TestResourceEntry> testResources() {
      return new SignInProfile().testResources();
    }

    @Override
    public Map<String, String> getConfigOverrides() {
      return Map.of("tidemark.rate-limit", "1", "tidemark.rate-burst", String.valueOf(BURST));
    }
  }

  private static Browser signedIn(String user) {
    Browser browser = new Browser();
    Browser.Got in = browser.signIn("/", "{\"access\":{\"fhirUser\":\"" + user + "\"}}");
    assertEquals(303, in.status(), in.body());
    return browser;
  }

  @Test
  void eachIsCountedAlone() {
    Browser busy = signedIn("Practitioner/busy");
    Browser calm = signedIn("Practitioner/calm");
    List<Browser.Got> answers = Stream.generate(() -> busy.get("/")).limit(3 * BURST).toList();
    assertEquals(200, answers.get(0).status());
    Browser.Got refused =
        answers.stream().filter(answer -> answer.status() != 200).findFirst().orElseThrow();
    assertEquals(429, refused.status());
    assertTrue(refused.body().contains("Please wait a moment"), refused.body());
    assertTrue(Integer.parseInt(refused.header("Retry-After")) >= 1);
    assertEquals(200, calm.get("/").status());
  }
}
