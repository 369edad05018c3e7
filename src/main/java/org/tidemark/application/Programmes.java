package org.tidemark.application;

import jakarta.enterprise.context.ApplicationScoped;
import java.util.Map;
import java.util.Optional;
import java.util.concurrent.ConcurrentHashMap;
import java.util.function.Function;
import org.hl7.fhir.r4.model.ActivityDefinition;
import org.hl7.fhir.r4.model.Enumerations.PublicationStatus;
import org.hl7.fhir.r4.model.PlanDefinition;
import org.hl7.fhir.r4.model.Resource;
import org.tidemark.fhir.Codes;
import org.tidemark.fhir.Measures;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.ProgrammeReader;
import org.tidemark.fhir.ReadingMap;
import org.tidemark.programme.Programme;

/** The programmes that can be followed: ours and those that clinics have sent. */
@ApplicationScoped
public class Programmes {
  private final Records records;
  private final Map<String, Served> read = new ConcurrentHashMap<>();

  Programmes(Records records) {
    this.records = records;
  }

  /**
   * A programme as it is served.
   *
   * @param programme the programme
   * @param readings the codes that its measurements are known by
   */
  public record Served(Programme programme, ReadingMap readings) {}

  /**
   * A programme that a plan may begin with.
   *
   * @param url its canonical address
   * @param version its version; the newest of it when empty
   */
  Optional<Served> find(String url, Optional<String> version) {
    Optional<PlanDefinition> definition = definition(url, version);
    definition.ifPresent(found -> read.put(canonical(found), read(found)));
    return definition.map(found -> read.get(canonical(found)));
  }

  /** The programme of a plan that is running. */
  Programme running(String canonical) {
    return served(canonical).programme();
  }

  /** The programme of a plan that is running, with its codes. A version in use never changes. */
  Served served(String canonical) {
    Served known = read.get(canonical);
    if (known != null) {
      return known;
    }
    int bar = canonical.lastIndexOf('|');
    return find(canonical.substring(0, bar), Optional.of(canonical.substring(bar + 1)))
        .orElseThrow(() -> new IllegalStateException("a plan follows an unknown programme"));
  }

  /**
   * Reads a definition with everything it refers to.
   *
   * @throws org.tidemark.fhir.Problem when it or one of them is at fault
   */
  Served read(PlanDefinition definition) {
    Function<String, Optional<ActivityDefinition>> activities =
        canonical -> newest("ActivityDefinition", canonical).map(ActivityDefinition.class::cast);
    return new Served(
        ProgrammeReader.read(definition, activities),
        new ReadingMap(
            ProgrammeReader.readings(definition).stream()
                .map(r -> new ReadingMap.Entry(r.item(), r.system(), r.code(), r.side()))
                .toList()));
  }

  /** The codes that the programmes read so far know their measurements by. */
  ReadingMap readings() {
    return new ReadingMap(
        read.values().stream()
            .flatMap(served -> served.readings().entries().stream())
            .distinct()
            .toList());
  }

  /** The units of the measures that the programmes read so far set or limit. */
  Measures measures() {
    return Measures.of(read.values().stream().map(Served::programme).toList());
  }

  /** Refuses a change to a programme that people may be following: a change is a new version. */
  void admit(PlanDefinition definition, Optional<PlanDefinition> former) {
    former
        .filter(Programmes::isProgramme)
        .filter(before -> before.getStatus() == PublicationStatus.ACTIVE)
        .ifPresent(
            before ->
                requireUnchanged(before.copy().setStatus(definition.getStatus()), definition));
  }

  /** Refuses a faulty variation, and a change to one that programmes may refer to. */
  void admit(ActivityDefinition definition, Optional<ActivityDefinition> former) {
    if (definition.hasExtension(Codes.structure("progression"))) {
      ProgrammeReader.variation(definition);
      former
          .filter(before -> before.getStatus() == PublicationStatus.ACTIVE)
          .ifPresent(
              before ->
                  requireUnchanged(before.copy().setStatus(definition.getStatus()), definition));
    }
  }

  /** Reads a programme that was sent, which refuses a faulty one, and serves it from now on. */
  void check(PlanDefinition definition) {
    if (isProgramme(definition) && definition.getStatus() == PublicationStatus.ACTIVE) {
      read.put(canonical(definition), read(definition));
    }
  }

  /** A PlanDefinition is a programme of ours when it has stages. */
  private static boolean isProgramme(PlanDefinition definition) {
    return definition.getMeta().hasProfile(Codes.structure("graded-programme"))
        || definition.getAction().stream()
            .anyMatch(action -> action.hasExtension(Codes.structure("stage")));
  }

  private static void requireUnchanged(Resource before, Resource now) {
    Resource same = now.copy();
    same.setMeta(before.getMeta());
    same.setId(before.getIdElement());
    if (!same.equalsDeep(before)) {
      throw Problem.of(
          Problem.Kind.IMMUTABLE,
          "An active definition does not change: send the change as a new version under another id.",
          now.fhirType());
    }
  }

  private Optional<PlanDefinition> definition(String url, Optional<String> version) {
    String canonical = version.map(v -> url + "|" + v).orElse(url);
    return newest("PlanDefinition", canonical).map(PlanDefinition.class::cast);
  }

  private Optional<Resource> newest(String type, String canonical) {
    int bar = canonical.lastIndexOf('|');
    Map<String, String> wanted =
        bar < 0
            ? Map.of("url", canonical, "status", "active")
            : Map.of("url", canonical.substring(0, bar), "version", canonical.substring(bar + 1));
    return records.list(type, wanted).stream().reduce((first, second) -> second);
  }

  private static String canonical(PlanDefinition definition) {
    return definition.getUrl() + "|" + definition.getVersion();
  }
}
