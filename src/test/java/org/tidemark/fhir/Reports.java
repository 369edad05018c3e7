package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertInstanceOf;

import ca.uhn.fhir.context.FhirContext;
import java.io.IOException;
import java.io.InputStream;
import java.io.UncheckedIOException;
import java.math.BigDecimal;
import java.nio.charset.StandardCharsets;
import java.time.OffsetDateTime;
import java.time.ZoneId;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import org.hl7.fhir.r4.model.BooleanType;
import org.hl7.fhir.r4.model.CodeableConcept;
import org.hl7.fhir.r4.model.DateTimeType;
import org.hl7.fhir.r4.model.IntegerType;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Observation.ObservationStatus;
import org.hl7.fhir.r4.model.Quantity;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.StringType;
import org.hl7.fhir.r4.model.Type;
import org.tidemark.decision.Fact;
import org.tidemark.decision.FactSource;
import org.tidemark.programme.Side;
import org.tidemark.quantity.Unit;

/** Reports of an invented person, and the reading of them. */
final class Reports {
  static final ZoneId ZONE = ZoneId.of("Europe/Vienna");
  static final OffsetDateTime NOW = OffsetDateTime.parse("2026-06-01T12:00:00+02:00");
  static final FactSource SOURCE = new FactSource("Observation", "7", 1);
  static final ReadingMap MAP =
      new ReadingMap(
          List.of(
              new ReadingMap.Entry(
                  "comfortable-flexion", Codes.LOINC, "41347-6", Optional.of(Side.RIGHT)),
              new ReadingMap.Entry(
                  "comfortable-flexion", Codes.LOINC, "41343-5", Optional.of(Side.LEFT)),
              new ReadingMap.Entry("body-weight", Codes.LOINC, "29463-7", Optional.empty()),
              new ReadingMap.Entry(
                  "heel-raises", "https://clinic.example/codes", "HR", Optional.empty())));
  static final Measures MEASURES =
      new Measures(
          Map.of(
              "step-height", Unit.CENTIMETRE,
              "cycling-time", Unit.MINUTE,
              "knee-flexion", Unit.DEGREE));

  private Reports() {}

  /** A resource from the folder of samples. */
  static <T extends Resource> T sample(Class<T> type, String name) {
    try (InputStream file = Reports.class.getResourceAsStream("/intake/" + name + ".json")) {
      String text = new String(file.readAllBytes(), StandardCharsets.UTF_8);
      return FhirContext.forR4Cached().newJsonParser().parseResource(type, text);
    } catch (IOException unreadable) {
      throw new UncheckedIOException(unreadable);
    }
  }

  /** An Observation of the right knee, without a value. */
  static Observation report(String system, String code) {
    Observation report = new Observation();
    report.setStatus(ObservationStatus.FINAL);
    report.setCode(Codes.concept(system, code, null));
    report.setSubject(new Reference("Patient/tamsin-okoro"));
    report.setBodySite(knee(Codes.SNOMED_RIGHT));
    report.setEffective(new DateTimeType("2026-05-20T18:00:00+02:00"));
    return report;
  }

  /** A report of our own. */
  static Observation ours(String code) {
    return report(Codes.REPORT_ITEM, code);
  }

  /** A bare pain score. */
  static Observation pain(Type value) {
    Observation report = report(Codes.LOINC, Codes.LOINC_PAIN);
    report.setValue(value);
    return report;
  }

  /** A report of our own with one answer. */
  static Observation answering(String panel, String item, Type value) {
    return with(ours(panel), Codes.REPORT_ITEM, item, value);
  }

  /** A list of equipment with one piece. */
  static Observation owning(String item, Type value) {
    return with(ours("home-equipment"), Codes.EQUIPMENT_ITEM, item, value);
  }

  static Observation with(Observation report, String system, String code, Type value) {
    report.addComponent().setCode(Codes.concept(system, code, null)).setValue(value);
    return report;
  }

  static CodeableConcept knee(String sideCode) {
    CodeableConcept knee = Codes.concept(Codes.SNOMED, Codes.SNOMED_KNEE, null);
    knee.addCoding().setSystem(Codes.SNOMED).setCode(sideCode);
    return knee;
  }

  static Quantity quantity(String value, String ucum) {
    return new Quantity()
        .setValue(new BigDecimal(value))
        .setSystem(Codes.UCUM)
        .setCode(ucum)
        .setUnit(ucum);
  }

  /**
   * A value from a table of a test: {@code int 7}, {@code text 7/10}, {@code yes} or {@code 7 cm}.
   */
  static Type value(String words) {
    String[] parts = words.split(" ", 2);
    return switch (parts[0]) {
      case "yes" -> new BooleanType(true);
      case "no" -> new BooleanType(false);
      case "int" -> new IntegerType(parts[1]);
      case "text" -> new StringType(parts[1]);
      case "code" ->
          new CodeableConcept()
              .addCoding(new org.hl7.fhir.r4.model.Coding("urn:x", parts[1], null));
      default -> quantity(parts[0], parts[1]);
    };
  }

  static Intake read(Observation report) {
    return new ObservationReader(MAP, MEASURES, ZONE).read(report, SOURCE, NOW);
  }

  static Intake.Facts facts(Observation report) {
    return assertInstanceOf(Intake.Facts.class, read(report));
  }

  static <T extends Fact> T fact(Class<T> type, Observation report) {
    List<Fact> facts = facts(report).facts();
    org.junit.jupiter.api.Assertions.assertEquals(1, facts.size(), facts::toString);
    return assertInstanceOf(type, facts.get(0));
  }

  static Intake.Parked parked(Observation report) {
    return assertInstanceOf(Intake.Parked.class, read(report));
  }
}
