package org.tidemark.application;

import jakarta.enterprise.context.ApplicationScoped;
import java.util.Map;
import java.util.Optional;
import java.util.concurrent.ConcurrentHashMap;
import java.util.function.Function;
import org.hl7.fhir.r4.model.ActivityDefinition;
import org.hl7.fhir.r4.model.PlanDefinition;
import org.hl7.fhir.r4.model.Resource;
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
