package org.tidemark.demo;

import java.math.BigDecimal;
import org.hl7.fhir.r4.model.BooleanType;
import org.hl7.fhir.r4.model.CodeableConcept;
import org.hl7.fhir.r4.model.Coding;
import org.hl7.fhir.r4.model.DateTimeType;
import org.hl7.fhir.r4.model.IntegerType;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Quantity;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Type;
import org.tidemark.fhir.Codes;

/** One Observation, filled in item by item. */
final class Sheet {
  private final Observation observation = new Observation();

  /** An empty sheet; its code is one of ours, or of LOINC where it begins with a digit. */
  Sheet(String id, String category, String code) {
    observation.setId(id);
    observation.setStatus(Observation.ObservationStatus.FINAL);
    observation.addCategory(Codes.concept(Codes.OBSERVATION_CATEGORY, category, null));
    boolean loinc = Character.isDigit(code.charAt(0));
    observation.setCode(Codes.concept(loinc ? Codes.LOINC : Codes.REPORT_ITEM, code, null));
  }

  Sheet about(String person, CodeableConcept bodySite) {
    observation.setSubject(new Reference("Patient/" + person));
    if (bodySite != null) {
      observation.setBodySite(bodySite.copy());
    }
    return this;
  }

  Sheet at(String time) {
    observation.setEffective(new DateTimeType(time));
    return this;
  }

  Sheet says(String item, Type value) {
    return says(Codes.REPORT_ITEM, item, value);
  }

  Sheet owns(String item, Type value) {
    return says(Codes.EQUIPMENT_ITEM, item, value);
  }

  Sheet says(String system, String item, Type value) {
    observation.addComponent().setCode(Codes.concept(system, item, null)).setValue(value);
    return this;
  }

  Sheet value(Type value) {
    observation.setValue(value);
    return this;
  }

  Sheet method(String method) {
    observation.setMethod(Codes.concept(Codes.REPORT_ITEM, method, null));
    return this;
  }

  Sheet version(String version) {
    observation.getMeta().setVersionId(version);
    return this;
  }

  Sheet corrected() {
    observation.setStatus(Observation.ObservationStatus.CORRECTED);
    return this;
  }

  /** The session was of this exercise: it will name its prescription. */
  Sheet of(String exercise) {
    if (!exercise.isEmpty()) {
      observation.getMeta().addTag(new Coding(Codes.EXERCISE_VARIATION, exercise, null));
    }
    return this;
  }

  Observation done() {
    return observation;
  }

  static Quantity of(String number, String ucum) {
    return new Quantity()
        .setValue(new BigDecimal(number))
        .setUnit(ucum)
        .setSystem(Codes.UCUM)
        .setCode(ucum);
  }

  static Quantity score(int score) {
    return of(Integer.toString(score), "{score}");
  }

  static BooleanType yes(boolean yes) {
    return new BooleanType(yes);
  }

  static IntegerType count(int number) {
    return new IntegerType(number);
  }
}
