package org.tidemark.application;

import io.quarkus.narayana.jta.QuarkusTransaction;
import jakarta.enterprise.context.ApplicationScoped;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import java.util.TreeSet;
import org.hl7.fhir.r4.model.Identifier;
import org.hl7.fhir.r4.model.Patient;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.References;

/**
 * Finds out who a person of another record system is here. The id alone says nothing: two systems
 * may have given it to two people.
 */
@ApplicationScoped
public class People {
  private static final String PATIENT = "Patient/";

  private final Records records;
  private final PlanBook book;
  private final References references;

  People(Records records, PlanBook book, References references) {
    this.records = records;
    this.book = book;
    this.references = references;
  }

  /**
   * Who a person is here.
   *
   * @param id the id of the Patient in the system that asks
   * @param server the base of that system's FHIR endpoint; empty when it has not said, which counts
   *     as ours as long as the identifiers do not speak against it
   * @param known the Patient as that system has it
   * @return the references under which plans may be kept, none when the person is not known here;
   *     empty when it cannot be told who is meant
   * @throws Problem when the identifiers belong to several people
   */
  public Optional<Set<String>> find(String id, Optional<String> server, Optional<Patient> known) {
    return QuarkusTransaction.joiningExisting().call(() -> search(id, server, known));
  }

  private Optional<Set<String>> search(
      String id, Optional<String> server, Optional<Patient> known) {
    boolean ours = server.map(this::isOurs).orElse(true);
    Optional<Patient> here =
        ours
            ? records.find(Patient.class, id).filter(found -> !contradicts(found, known))
            : Optional.empty();
    if (here.isPresent()) {
      return Optional.of(Set.of(PATIENT + id));
    }
    Set<String> subjects = new TreeSet<>();
    server
        .filter(base -> !ours)
        .map(base -> references.normal(slashed(base) + PATIENT + id))
        .filter(subject -> !book.ofSubject(subject).isEmpty())
        .ifPresent(subjects::add);
    known.ifPresent(patient -> subjects.addAll(byIdentifier(patient)));
    return subjects.isEmpty() && known.isEmpty() ? Optional.empty() : Optional.of(subjects);
  }

  private boolean isOurs(String server) {
    return slashed(server).equals(references.base());
  }

  private static String slashed(String base) {
    return base.endsWith("/") ? base : base + "/";
  }

  /** Whether both have identifiers of one system and share none of it. */
  private static boolean contradicts(Patient here, Optional<Patient> known) {
    return known.stream()
        .flatMap(patient -> patient.getIdentifier().stream())
        .filter(Identifier::hasSystem)
        .anyMatch(
            identifier -> {
              List<String> values =
                  here.getIdentifier().stream()
                      .filter(ours -> identifier.getSystem().equals(ours.getSystem()))
                      .map(Identifier::getValue)
                      .toList();
              return !values.isEmpty() && !values.contains(identifier.getValue());
            });
  }

  /**
   * Who has an identifier of a Patient of another system.
   *
   * @return references to them, one at the most
   * @throws Problem when the identifiers belong to several people
   */
  public Set<String> byIdentifier(Patient known) {
    Set<String> found = new TreeSet<>();
    known.getIdentifier().stream()
        .filter(identifier -> identifier.hasSystem() && identifier.hasValue())
        .map(Searching::token)
        .flatMap(token -> records.list(Patient.class, Map.of("identifier", token)).stream())
        .forEach(patient -> found.add(PATIENT + patient.getIdPart()));
    if (found.size() > 1) {
      throw Problem.of(
          Problem.Kind.MULTIPLE_MATCHES,
          "The identifiers belong to " + found.size() + " people here.",
          "Patient.identifier");
    }
    return found;
  }
}
