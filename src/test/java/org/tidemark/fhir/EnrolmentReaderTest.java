package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.tidemark.fhir.Complaints.assertRefused;

import java.time.OffsetDateTime;
import java.util.Optional;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.CarePlan.CarePlanIntent;
import org.hl7.fhir.r4.model.CodeType;
import org.hl7.fhir.r4.model.DateTimeType;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.ValueSource;
import org.tidemark.decision.ChangeControl;
import org.tidemark.fhir.EnrolmentReader.Enrolment;
import org.tidemark.programme.Side;
import org.tidemark.response.ResponsePolicy;

class EnrolmentReaderTest {
  private static final String PROGRAMME =
      "https://tidemark.example/fhir/PlanDefinition/knee-deep-flexion";

  private static CarePlan sample() {
    return Reports.sample(CarePlan.class, "care-plan-enrolment");
  }

  private static Optional<Enrolment> read(CarePlan plan) {
    return EnrolmentReader.read(plan, Reports.ZONE, Reports.NOW);
  }

  @Test
  void readsTheShapeThatClientsSend() {
    Enrolment enrolment = read(sample()).orElseThrow();
    assertEquals(PROGRAMME, enrolment.programmeUrl());
    assertEquals(Optional.of("1.0.0"), enrolment.programmeVersion());
    assertEquals(Side.LEFT, enrolment.side());
    assertEquals(ResponsePolicy.PAIN_MONITORED, enrolment.policy());
    assertEquals(ChangeControl.EVERY_CHANGE, enrolment.control());
    assertEquals("Patient/tamsin-okoro", enrolment.subject().getReference());
    assertEquals(OffsetDateTime.parse("2026-05-04T00:00:00+02:00"), enrolment.start());
  }

  @Test
  void takesTheUsualPolicyAndControlWhereNoneIsSaid() {
    CarePlan plan = sample();
    plan.getExtension().removeIf(extension -> !extension.getUrl().equals(Codes.SIDE));
    Enrolment enrolment = read(plan).orElseThrow();
    assertEquals(ResponsePolicy.SYMPTOM_FREE, enrolment.policy());
    assertEquals(ChangeControl.WITHIN_STAGE, enrolment.control());
  }

  @ParameterizedTest(name = "{0} asks for version {1}")
  @CsvSource({"'', ''", "|, ''", "|2.1.0, 2.1.0"})
  void theVersionMayBeLeftOpen(String suffix, String version) {
    CarePlan plan = sample();
    plan.getInstantiatesCanonical().get(0).setValue(PROGRAMME + suffix);
    Enrolment enrolment = read(plan).orElseThrow();
    assertEquals(PROGRAMME, enrolment.programmeUrl());
    assertEquals(version, enrolment.programmeVersion().orElse(""));
  }

  @Test
  void beginsWithItsPeriodOrItsCreationOrNow() {
    CarePlan plan = sample();
    plan.getPeriod().setStartElement(new DateTimeType("2026-05-04T09:00:00+01:00"));
    assertEquals(
        OffsetDateTime.parse("2026-05-04T09:00:00+01:00"), read(plan).orElseThrow().start());
    plan.getPeriod().setStartElement(new DateTimeType("2026-05"));
    assertEquals(
        OffsetDateTime.parse("2026-05-01T00:00:00+02:00"), read(plan).orElseThrow().start());
    plan.setPeriod(null);
    plan.setCreatedElement(new DateTimeType("2026-04-30"));
    assertEquals(
        OffsetDateTime.parse("2026-04-30T00:00:00+02:00"), read(plan).orElseThrow().start());
    plan.setCreatedElement(null);
    assertEquals(Reports.NOW, read(plan).orElseThrow().start());
  }

  @Test
  void aPlanWithoutAProgrammeIsNoEnrolment() {
    CarePlan plan = sample();
    plan.getInstantiatesCanonical().clear();
    assertEquals(Optional.empty(), read(plan));
  }

  @Test
  void namesEveryFaultByItsElement() {
    CarePlan plan = sample();
    plan.addInstantiatesCanonical(PROGRAMME + "|2.0.0");
    plan.setIntent(CarePlanIntent.PROPOSAL);
    plan.setStatus(null);
    plan.setSubject(null);
    plan.getExtension().removeIf(extension -> extension.getUrl().equals(Codes.SIDE));
    plan.getExtensionByUrl(Codes.RESPONSE_POLICY).setValue(new CodeType("stoic"));
    plan.getExtensionByUrl(Codes.CHANGE_CONTROL).setValue(new CodeType("none"));
    assertRefused(
        () -> read(plan),
        "BUSINESS_RULE CarePlan.instantiatesCanonical[1]",
        "MISSING CarePlan.status",
        "BUSINESS_RULE CarePlan.intent",
        "MISSING CarePlan.subject",
        "MISSING CarePlan.extension('https://tidemark.example/fhir/StructureDefinition/side')",
        "UNSUPPORTED CarePlan.extension[0].value",
        "UNSUPPORTED CarePlan.extension[1].value");
  }

  @ParameterizedTest
  @ValueSource(strings = {"both", "LEFT", "l"})
  void refusesASideThatIsNone(String side) {
    CarePlan plan = sample();
    plan.getExtensionByUrl(Codes.SIDE).setValue(new CodeType(side));
    assertRefused(() -> read(plan), "UNSUPPORTED CarePlan.extension[0].value");
  }

  @Test
  void refusesTwoSides() {
    CarePlan plan = sample();
    plan.addExtension(Codes.SIDE, new CodeType("right"));
    assertRefused(() -> read(plan), "BUSINESS_RULE CarePlan.extension[3]");
  }
}
