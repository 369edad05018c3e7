package org.tidemark.http;

import io.quarkus.test.junit.QuarkusTest;
import io.quarkus.test.junit.TestProfile;
import java.io.IOException;
import org.junit.jupiter.api.AfterAll;
import org.junit.jupiter.api.Test;

/** Signing in and out in a real browser, and what is shown who is not let in. */
@QuarkusTest
@TestProfile(SignInProfile.class)
class SignInBrowserTest {
  @AfterAll
  static void othersSendWithoutAToken() {
    TwoClinics.leave();
  }

  @Test
  void aClinicianSignsInWorksAndSignsOut() throws IOException, InterruptedException {
    SignInProfile.sends();
    String plan = TwoClinics.planOf(PlanPerson.enrolled());
    NodeScript.run("signin.mjs", plan, SignInProfile.issuer());
  }
}
