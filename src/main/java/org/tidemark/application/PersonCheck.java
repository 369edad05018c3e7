package org.tidemark.application;

import jakarta.enterprise.context.ApplicationScoped;
import java.time.OffsetDateTime;
import java.util.Optional;
import org.hl7.fhir.r4.model.BooleanType;
import org.hl7.fhir.r4.model.DateTimeType;
import org.hl7.fhir.r4.model.Patient;
import org.hl7.fhir.r4.model.Patient.LinkType;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.References;
import org.tidemark.fhir.TimeSpan;

/**
 * Refuses what would move the plan of a person whose record no longer stands for somebody who
 * exercises: it was replaced by another, as after two were merged, or says that the person has
 * died.
 */
@ApplicationScoped
class PersonCheck {
  private final Records records;

  PersonCheck(Records records) {
    this.records = records;
  }

  /** The record of a person; empty when it is kept elsewhere. */
  Optional<Patient> person(String subject) {
    return References.isLocal(subject)
        ? records.find(Patient.class, References.idOf(subject))
        : Optional.empty();
  }

  /**
   * Refuses what is about a person at a time, when their record speaks against it.
   *
   * @param person the record, if it is kept here
   * @param at when it was, such as the time of a report
   * @param path FHIRPath of the element that names the person
   */
  void require(Optional<Patient> person, OffsetDateTime at, String path) {
    person.ifPresent(
        known -> {
          requireStanding(known, path);
          if (hasDied(known, at)) {
            throw Problem.of(
                Problem.Kind.BUSINESS_RULE,
                "The record of Patient/%s says that the person has died."
                    .formatted(known.getIdPart()),
                path);
          }
        });
  }

  private static void requireStanding(Patient person, String path) {
    person.getLink().stream()
        .filter(link -> link.getType() == LinkType.REPLACEDBY)
        .findFirst()
        .ifPresent(
            link -> {
              throw Problem.of(
                  Problem.Kind.BUSINESS_RULE,
                  "Patient/%s was replaced by %s: send what is about that record."
                      .formatted(person.getIdPart(), link.getOther().getReference()),
                  path);
            });
  }

  /** A day of death lasts until its end; what came before it may still be told. */
  private static boolean hasDied(Patient person, OffsetDateTime at) {
    if (person.getDeceased() instanceof BooleanType died) {
      return died.booleanValue();
    }
    if (person.getDeceased() instanceof DateTimeType died) {
      return TimeSpan.of(died)
          .filter(span -> at.toInstant().toEpochMilli() >= span.highMs())
          .isPresent();
    }
    return false;
  }
}
