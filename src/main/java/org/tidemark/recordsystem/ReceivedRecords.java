package org.tidemark.recordsystem;

import ca.uhn.fhir.context.FhirContext;
import io.quarkus.narayana.jta.QuarkusTransaction;
import jakarta.enterprise.context.ApplicationScoped;
import java.nio.charset.StandardCharsets;
import java.util.ArrayList;
import java.util.HashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import java.util.TreeMap;
import java.util.TreeSet;
import java.util.UUID;
import java.util.regex.Matcher;
import java.util.regex.Pattern;
import org.hl7.fhir.r4.model.Bundle;
import org.hl7.fhir.r4.model.Bundle.BundleEntryComponent;
import org.hl7.fhir.r4.model.Composition;
import org.hl7.fhir.r4.model.Identifier;
import org.hl7.fhir.r4.model.Patient;
import org.hl7.fhir.r4.model.Resource;
import org.tidemark.application.Guard;
import org.tidemark.application.People;
import org.tidemark.application.Records;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.References;

/**
 * Takes in what a Bundle of another system tells about a person: a summary in the manner of the
 * International Patient Summary, or the answer to {@code $everything}. What has been decided about
 * somebody elsewhere comes by a handover, not by this.
 */
@ApplicationScoped
public class ReceivedRecords {
  private static final String PATIENT = "Patient";

  private static final Set<Bundle.BundleType> KINDS =
      Set.of(Bundle.BundleType.DOCUMENT, Bundle.BundleType.SEARCHSET, Bundle.BundleType.COLLECTION);

  private static final Set<String> TAKEN =
      Set.of(
          PATIENT,
          "Practitioner",
          "PractitionerRole",
          "Organization",
          "Device",
          "Condition",
          "Flag",
          "Observation");

  private static final int MOST_REFUSED = 50;
  private static final Pattern ENTRY = Pattern.compile("Bundle\\.entry\\[(\\d+)].*");
  private static final Pattern ID = Pattern.compile("[A-Za-z0-9\\-.]{1,64}");

  private final Records records;
  private final People people;
  private final References references;
  private final Guard guard;
  private final Edit edit;

  ReceivedRecords(
      Records records, People people, References references, Guard guard, FhirContext context) {
    this.records = records;
    this.people = people;
    this.references = references;
    this.guard = guard;
    this.edit = new Edit(context);
  }

  /**
   * What became of a Bundle.
   *
   * @param people whom it tells about, as they are here
   * @param written how many records were written
   * @param known how many were here already, as they are
   * @param leftOut how many were left out, by their type
   * @param refused those that could not be taken
   */
  public record Receipt(
      Set<String> people,
      int written,
      int known,
      Map<String, Integer> leftOut,
      List<Refused> refused) {}

  /**
   * A record that could not be taken.
   *
   * @param fullUrl which, as the Bundle names it
   * @param problem why
   */
  public record Refused(String fullUrl, Problem problem) {}

  /**
   * Takes a Bundle in, in one transaction. What a rule refuses is left out, and told; where that is
   * the person, nothing is taken.
   *
   * @param bundle a document, the result of a search or a collection
   * @param patient the id of the Patient here whom it tells about; empty to find them by their
   *     identifiers
   * @throws Problem when it is no such Bundle, an entry has no address, it cannot be told who is
   *     meant, too much of it cannot be taken, or the caller may not send reports of anyone
   */
  public Receipt take(Bundle bundle, Optional<String> patient) {
    guard.requireTaking();
    if (!KINDS.contains(bundle.getType())) {
      throw Problem.of(
          Problem.Kind.BAD_REQUEST,
          "What is received is a document, the result of a search, or a collection.",
          "Bundle.type");
    }
    Taking taking = new Taking(patient);
    QuarkusTransaction.joiningExisting().run(() -> taking.place(bundle.getEntry()));
    return taking.receipt(taking.write());
  }

  /** A record that is to be taken, and under which id. */
  private record Part(int index, ImportedRecord record, String id, Optional<Resource> here) {
    String local() {
      return record.given().fhirType() + "/" + id;
    }
  }

  /** The taking of one Bundle. */
  private final class Taking {
    private final Optional<String> patient;
    private final Map<String, String> localByAddress = new HashMap<>();
    private final List<Part> parts = new ArrayList<>();
    private final Set<String> persons = new TreeSet<>();
    private final Map<String, Integer> leftOut = new TreeMap<>();
    private final List<Refused> refused = new ArrayList<>();
    private int known;

    Taking(Optional<String> patient) {
      this.patient = patient;
    }

    void place(List<BundleEntryComponent> entries) {
      for (int i = 0; i < entries.size(); i++) {
        Resource resource = entries.get(i).getResource();
        if (resource == null || resource instanceof Composition) {
          continue;
        }
        if (TAKEN.contains(resource.fhirType())) {
          place(i, new ImportedRecord(address(entries.get(i), i), resource));
        } else {
          leftOut.merge(resource.fhirType(), 1, Integer::sum);
        }
      }
    }

    Receipt receipt(int written) {
      return new Receipt(persons, written, known, leftOut, refused);
    }

    private String address(BundleEntryComponent entry, int index) {
      if (!entry.hasFullUrl()) {
        throw Problem.of(
            Problem.Kind.MISSING,
            "An entry that is received has the address of its record.",
            "Bundle.entry[" + index + "].fullUrl");
      }
      return withoutVersion(entry.getFullUrl());
    }

    /** Finds out under which id a record is kept; a person who is here is not written over. */
    private void place(int index, ImportedRecord record) {
      if (record.address().startsWith(references.base())) {
        isHere(record, references.normal(record.address()));
        return;
      }
      Optional<String> moved = moved(record);
      if (moved.isPresent()) {
        isHere(record, moved.get());
        return;
      }
      Part part = part(index, record);
      if (record.given() instanceof Patient person) {
        Optional<String> here = whoIs(person, part);
        if (here.isPresent()) {
          isHere(record, here.get());
          return;
        }
        persons.add(part.local());
      }
      localByAddress.put(record.address(), part.local());
      parts.add(part);
    }

    /** What came by a handover has its old id as an identifier, and goes on here. */
    private Optional<String> moved(ImportedRecord record) {
      int id = record.address().lastIndexOf('/') + 1;
      if (id == 0) {
        return Optional.empty();
      }
      Identifier old =
          new Identifier()
              .setSystem(record.address().substring(0, id - 1))
              .setValue(record.address().substring(id));
      String type = record.given().fhirType();
      return records.list(type, Map.of("identifier", Pulling.token(old))).stream()
          .findFirst()
          .map(here -> type + "/" + here.getIdElement().getIdPart());
    }

    private void isHere(ImportedRecord record, String local) {
      localByAddress.put(record.address(), local);
      known++;
      if (record.given() instanceof Patient) {
        persons.add(local);
      }
    }

    private Optional<String> whoIs(Patient person, Part part) {
      if (patient.isPresent()) {
        if (!persons.isEmpty() || records.find(PATIENT, patient.get()).isEmpty()) {
          throw Problem.of(
              Problem.Kind.BAD_REQUEST,
              "'patient' names the one person here whom the Bundle tells about.",
              "patient");
        }
        return patient.map(id -> PATIENT + "/" + id);
      }
      if (part.here().isPresent()) {
        return Optional.empty();
      }
      return people.byIdentifier(person).stream().findFirst();
    }

    /**
     * The id there where it is free or the record's own, else one that follows from its address.
     */
    private Part part(int index, ImportedRecord record) {
      String derived =
          UUID.nameUUIDFromBytes(record.address().getBytes(StandardCharsets.UTF_8)).toString();
      for (String id : List.of(record.address().replaceAll(".*[/:]", ""), derived)) {
        Optional<Resource> here =
            ID.matcher(id).matches()
                ? records.find(record.given().fhirType(), id)
                : Optional.empty();
        if (ID.matcher(id).matches() && here.map(record::isFromThere).orElse(true)) {
          return new Part(index, record, id, here);
        }
      }
      throw Problem.of(
          Problem.Kind.DUPLICATE, "Another record has this id here.", entry(index) + ".fullUrl");
    }

    // ---- writing ----

    /** What is refused is left out, and the rest is tried again. */
    int write() {
      while (true) {
        List<Part> due = new ArrayList<>();
        Bundle bundle = new Bundle().setType(Bundle.BundleType.TRANSACTION);
        try {
          parts.forEach(part -> add(part, due, bundle));
          if (!due.isEmpty()) {
            records.transact(bundle);
          }
          known += parts.size() - due.size();
          return due.size();
        } catch (Problem problem) {
          int at = place(problem);
          refuse(due.get(at), problem.ofEntry(at, due.get(at).index()));
        }
      }
    }

    private void add(Part part, List<Part> due, Bundle bundle) {
      Resource kept = kept(part, due);
      boolean isKnown =
          part.record().given().getMeta().hasVersionId()
              ? part.record().isKnown(part.here())
              : part.here().filter(one -> edit.between(one, kept).isEmpty()).isPresent();
      if (isKnown) {
        return;
      }
      due.add(part);
      Bundle.BundleEntryRequestComponent request = bundle.addEntry().setResource(kept).getRequest();
      request.setMethod(Bundle.HTTPVerb.PUT).setUrl(part.local());
      part.here()
          .ifPresent(one -> request.setIfMatch("W/\"" + one.getMeta().getVersionId() + "\""));
    }

    private Resource kept(Part part, List<Part> due) {
      try {
        return part.record()
            .kept(part.id(), reference -> local(part.record().address(), reference));
      } catch (Problem problem) {
        due.add(part);
        throw problem.inEntry(due.size() - 1);
      }
    }

    /** Which entry of those that are written is at fault. */
    private static int place(Problem problem) {
      Matcher entry =
          ENTRY.matcher(problem.issues().get(0).expressions().stream().findFirst().orElse(""));
      if (problem.status() >= 500 || !entry.matches()) {
        throw problem;
      }
      return Integer.parseInt(entry.group(1));
    }

    /** Without the person nothing is taken. */
    private void refuse(Part part, Problem problem) {
      if (part.record().given() instanceof Patient || refused.size() == MOST_REFUSED) {
        throw problem;
      }
      refused.add(new Refused(part.record().address(), problem));
      parts.remove(part);
      localByAddress.remove(part.record().address());
    }

    /** What a reference of a record is here: never a record of ours that has the same id. */
    private String local(String from, String reference) {
      if (reference.startsWith("#")) {
        return reference;
      }
      String address = withoutVersion(absolute(from, reference));
      String local = localByAddress.getOrDefault(address, address);
      return local.startsWith("http") || localByAddress.containsKey(address) ? local : "";
    }

    private String absolute(String from, String reference) {
      boolean isRelative = reference.matches("[A-Z][A-Za-z]+/.*");
      return isRelative ? from.replaceFirst("[^/]+/[^/]+$", "") + reference : reference;
    }
  }

  private static String entry(int index) {
    return "Bundle.entry[" + index + "]";
  }

  private static String withoutVersion(String address) {
    int version = address.indexOf(ImportedRecord.VERSION);
    return version < 0 ? address : address.substring(0, version);
  }
}
