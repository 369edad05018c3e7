package org.tidemark.http;

import io.quarkus.test.common.QuarkusTestResourceLifecycleManager;
import io.quarkus.test.junit.QuarkusTestProfile;
import io.restassured.RestAssured;
import io.restassured.builder.RequestSpecBuilder;
import java.util.List;
import java.util.Map;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.Resource;

/**
 * One service for two clinics, each with an address of its own: {@code default}, whose records are
 * looked for, and {@code north}, who looks.
 */
public final class TwoClinics implements QuarkusTestProfile {
  static final String CLAIM = "clinic";
  static final String NORTH = "north";
  static final String NORTH_BASE = "http://127.0.0.1:8081/fhir";

  private static final String EVERYTHING = "system/*.cruds user/*.cruds";

  @Override
  public List<TestResourceEntry> testResources() {
    return List.of(
        new TestResourceEntry(SmartProfile.Keys.class), new TestResourceEntry(Settings.class));
  }

  /** The settings of the two. */
  public static final class Settings implements QuarkusTestResourceLifecycleManager {
    @Override
    public Map<String, String> start() {
      return Map.of(
          "tidemark.clinics",
          "default," + NORTH,
          "tidemark.smart.clinic-claim",
          CLAIM,
          "tidemark.clinics.north.base-url",
          NORTH_BASE,
          "tidemark.clinics.north.organisation",
          "The clinic in the north",
          "tidemark.clinics.north.handover.trusted",
          PlanPerson.BASE + "|http://localhost:8081/.well-known/jwks.json",
          "tidemark.subscriptions.allowed-hosts",
          "127.0.0.1",
          "tidemark.export.every",
          "off",
          "quarkus.scheduler.enabled",
          "false");
    }

    @Override
    public void stop() {}
  }

  /** A token of a clinic that may do everything there. */
  static String token(String clinic) {
    return SmartProfile.token(
        EVERYTHING,
        Map.of(
            CLAIM,
            clinic,
            "aud",
            clinic.equals(NORTH) ? NORTH_BASE : PlanPerson.BASE,
            "fhirUser",
            "Practitioner/somebody"));
  }

  static Sender sender(String clinic) {
    return new Sender(token(clinic));
  }

  /** What {@link PlanPerson} sends goes to this clinic from now on. */
  static void sendsTo(String clinic) {
    PlanPerson.token = token(clinic);
    RestAssured.requestSpecification =
        new RequestSpecBuilder().addHeader("Authorization", "Bearer " + PlanPerson.token).build();
  }

  /** Other tests send without a token. */
  static void leave() {
    PlanPerson.token = null;
    RestAssured.requestSpecification = null;
  }

  static Bundle bundle(Sender.Answer answer) {
    if (answer.status() != 200) {
      throw new AssertionError(answer.status() + answer.body());
    }
    return PlanPerson.CONTEXT.newJsonParser().parseResource(Bundle.class, answer.body());
  }

  static <T extends Resource> T resource(Sender.Answer answer, Class<T> type) {
    return PlanPerson.CONTEXT.newJsonParser().parseResource(type, answer.body());
  }

  static String planOf(PlanPerson person) {
    CarePlan plan = person.plan();
    return plan.getIdElement().getIdPart();
  }
}
