package org.tidemark.application;

import io.quarkus.narayana.jta.QuarkusTransaction;
import jakarta.enterprise.context.ApplicationScoped;
import jakarta.transaction.Status;
import jakarta.transaction.Synchronization;
import jakarta.transaction.TransactionSynchronizationRegistry;
import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Locale;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import java.util.concurrent.ConcurrentHashMap;
import java.util.function.UnaryOperator;
import org.hl7.fhir.r4.model.ActivityDefinition;
import org.hl7.fhir.r4.model.Enumerations.PublicationStatus;
import org.hl7.fhir.r4.model.MetadataResource;
import org.hl7.fhir.r4.model.PlanDefinition;
import org.hl7.fhir.r4.model.Questionnaire;
import org.hl7.fhir.r4.model.Resource;
import org.tidemark.clinic.ActingClinic;
import org.tidemark.fhir.Codes;
import org.tidemark.fhir.FormReader;
import org.tidemark.fhir.Measures;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.ProgrammeReader;
import org.tidemark.fhir.ReadingMap;
import org.tidemark.fhir.Translations;
import org.tidemark.programme.Programme;
import org.tidemark.store.ResourceStore;

/** The programmes that can be followed: ours and those that clinics have sent. */
@ApplicationScoped
public class Programmes {
  private static final String LOOKED = "tidemark.programmes";

  private final Records records;
  private final ResourceStore store;
  private final TransactionSynchronizationRegistry transactions;
  private final Map<String, Known> clinics = new ConcurrentHashMap<>();

  /** What has been read of a clinic's programmes. */
  private static final class Known {
    private final Map<String, Served> read = new ConcurrentHashMap<>();
    private final Map<String, Programme> translated = new ConcurrentHashMap<>();

    /** What is stored, as of when it was last read whole. */
    private volatile String seen = "";

    /** What the programmes that have been read say together. */
    private volatile Together together = new Together(Set.of(), ReadingMap.NONE, Measures.NONE);

    private Together together() {
      Together known = together;
      if (!known.programmes().equals(read.keySet())) {
        known = Together.of(Map.copyOf(read));
        together = known;
      }
      return known;
    }
  }

  /**
   * What several programmes say together.
   *
   * @param programmes their canonical addresses with their versions
   */
  private record Together(Set<String> programmes, ReadingMap readings, Measures measures) {
    private static Together of(Map<String, Served> all) {
      return new Together(
          all.keySet(),
          new ReadingMap(
              all.values().stream()
                  .flatMap(served -> served.readings().entries().stream())
                  .distinct()
                  .toList()),
          Measures.of(all.values().stream().map(Served::programme).toList()));
    }
  }

  private Known known() {
    return clinics.computeIfAbsent(ActingClinic.current(), unread -> new Known());
  }

  private Map<String, Served> read() {
    return known().read;
  }

  Programmes(
      Records records, ResourceStore store, TransactionSynchronizationRegistry transactions) {
    this.records = records;
    this.store = store;
    this.transactions = transactions;
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
    return definition(url, version)
        .filter(found -> found.getStatus() == PublicationStatus.ACTIVE)
        .map(found -> read().computeIfAbsent(canonical(found), unread -> read(found)));
  }

  /** The programme of a plan that is running. */
  Programme running(String canonical) {
    return served(canonical).programme();
  }

  /** A programme that a plan follows, with the texts that are translated in a language. */
  Programme in(Locale language, Programme programme) {
    String canonical = programme.id().canonical();
    return known()
        .translated
        .computeIfAbsent(
            canonical + "#" + language.getLanguage(),
            unread -> read(stored(canonical), resource -> Translations.into(language, resource)));
  }

  /** The programme of a plan that is running, with its codes. A version in use never changes. */
  Served served(String canonical) {
    Served known = read().get(canonical);
    if (known != null) {
      return known;
    }
    Served served = read(stored(canonical));
    read().put(canonical, served);
    return served;
  }

  /** The definition of a programme that a plan follows. */
  private PlanDefinition stored(String canonical) {
    int bar = canonical.lastIndexOf('|');
    PlanDefinition definition =
        definition(canonical.substring(0, bar), Optional.of(canonical.substring(bar + 1)))
            .orElseThrow(() -> new IllegalStateException("a plan follows an unknown programme"));
    // Nobody begins with a retired programme, but whoever is on it goes on.
    return definition.copy().setStatus(PublicationStatus.ACTIVE);
  }

  /** The definitions that a programme consists of, its variations first. */
  List<Resource> definitions(String canonical) {
    int bar = canonical.lastIndexOf('|');
    Map<String, Resource> used = new LinkedHashMap<>();
    PlanDefinition whole =
        definition(canonical.substring(0, bar), Optional.of(canonical.substring(bar + 1)))
            .orElseThrow(() -> new IllegalStateException("a plan follows an unknown programme"));
    ProgrammeReader.read(
        whole.copy().setStatus(PublicationStatus.ACTIVE),
        variation -> {
          Optional<Resource> found = newest("ActivityDefinition", variation);
          found.ifPresent(definition -> used.put(definition.getIdPart(), definition));
          return found.map(ActivityDefinition.class::cast);
        });
    List<Resource> all = new ArrayList<>(used.values());
    all.add(whole);
    return all;
  }

  /** The definition that is here under the address and version of another. */
  Optional<Resource> sameName(MetadataResource other) {
    return newest(other.fhirType(), other.getUrl() + "|" + other.getVersion());
  }

  /**
   * Reads a definition with everything it refers to.
   *
   * @throws org.tidemark.fhir.Problem when it or one of them is at fault
   */
  Served read(PlanDefinition definition) {
    return new Served(
        read(definition, UnaryOperator.identity()),
        new ReadingMap(
            ProgrammeReader.readings(definition).stream()
                .map(r -> new ReadingMap.Entry(r.item(), r.system(), r.code(), r.side()))
                .toList()));
  }

  private Programme read(PlanDefinition definition, UnaryOperator<Resource> form) {
    return ProgrammeReader.read(
        (PlanDefinition) form.apply(definition),
        canonical ->
            newest("ActivityDefinition", canonical).map(form).map(ActivityDefinition.class::cast));
  }

  /** The codes that the programmes know their measurements by. */
  public ReadingMap readings() {
    readNew();
    return known().together().readings();
  }

  /** The units of the measures that the programmes set or limit. */
  Measures measures() {
    readNew();
    return known().together().measures();
  }

  /**
   * Refuses a faulty programme, and a change to one that people may be following: a change is a new
   * version. In a Bundle its variations are stored before it is judged.
   */
  void admit(PlanDefinition definition, Optional<PlanDefinition> former) {
    former.filter(Programmes::isProgramme).ifPresent(before -> requireFixed(before, definition));
    if (isProgramme(definition) && definition.getStatus() == PublicationStatus.ACTIVE) {
      requireOnly(definition, definition.getUrl(), definition.getVersion());
      serveIfStored(canonical(definition), read(definition));
    }
  }

  /** Serves a programme from now on, but not if the transaction that brings it fails. */
  private void serveIfStored(String canonical, Served served) {
    Map<String, Served> read = read();
    if (read.putIfAbsent(canonical, served) != null) {
      return;
    }
    transactions.registerInterposedSynchronization(
        new Synchronization() {
          @Override
          public void beforeCompletion() {
            // Nothing is due before the end is known.
          }

          @Override
          public void afterCompletion(int status) {
            if (status != Status.STATUS_COMMITTED) {
              read.remove(canonical, served);
            }
          }
        });
  }

  /** Refuses a faulty variation, and a change to one that programmes may refer to. */
  void admit(ActivityDefinition definition, Optional<ActivityDefinition> former) {
    former.filter(Programmes::isVariation).ifPresent(before -> requireFixed(before, definition));
    if (isVariation(definition)) {
      ProgrammeReader.variation(definition);
      requireOnly(definition, definition.getUrl(), definition.getVersion());
    }
  }

  /** Refuses a change to a form from which answers are taken, as answers refer to its questions. */
  void admit(Questionnaire questions, Optional<Questionnaire> former) {
    former.filter(FormReader::isExtracted).ifPresent(before -> requireFixed(before, questions));
    if (FormReader.isExtracted(questions)) {
      requireOnly(questions, questions.getUrl(), questions.getVersion());
    }
  }

  /** What has once been active is retired at most: people may be on it. */
  private static void requireFixed(MetadataResource before, MetadataResource now) {
    PublicationStatus status = before.getStatus();
    if (status != PublicationStatus.ACTIVE && status != PublicationStatus.RETIRED) {
      return;
    }
    if (now.getStatus() != PublicationStatus.ACTIVE
        && now.getStatus() != PublicationStatus.RETIRED) {
      throw Problem.of(
          Problem.Kind.IMMUTABLE,
          "An active definition can be retired, but not become "
              + now.getStatus().toCode()
              + " again.",
          now.fhirType() + ".status");
    }
    requireUnchanged(before.copy().setStatus(now.getStatus()), now);
  }

  /** Two definitions under one address and version would be two programmes under one name. */
  private void requireOnly(Resource definition, String url, String version) {
    if (url == null || version == null) {
      return;
    }
    boolean another =
        records
            .list(definition.fhirType(), Map.of("url", literal(url), "version", literal(version)))
            .stream()
            .anyMatch(other -> !other.getIdPart().equals(definition.getIdPart()));
    if (another) {
      throw Problem.of(
          Problem.Kind.DUPLICATE,
          "There is a definition with this address and version: send the change as a new version.",
          definition.fhirType() + ".version");
    }
  }

  /**
   * Reads every active programme that is stored and has not been read: those that were there at the
   * start, and those that another instance of the service has taken meanwhile. A transaction looks
   * once; what it brings itself is known without.
   */
  void readNew() {
    QuarkusTransaction.joiningExisting()
        .run(
            () -> {
              if (transactions.getResource(LOOKED) == null) {
                transactions.putResource(LOOKED, true);
                readStored(known());
              }
            });
  }

  private void readStored(Known known) {
    String stored = store.stateOf("PlanDefinition");
    if (!stored.equals(known.seen)) {
      records.list(PlanDefinition.class, Map.of("status", "active")).stream()
          .filter(Programmes::isProgramme)
          .forEach(found -> known.read.computeIfAbsent(canonical(found), unread -> read(found)));
      known.seen = stored;
    }
  }

  private static boolean isVariation(ActivityDefinition definition) {
    return definition.hasExtension(Codes.structure("progression"));
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
            ? Map.of("url", literal(canonical), "status", "active")
            : Map.of(
                "url",
                literal(canonical.substring(0, bar)),
                "version",
                literal(canonical.substring(bar + 1)));
    return records.list(type, wanted).stream().reduce((first, second) -> second);
  }

  /** A text as a search value that means just this text. */
  private static String literal(String text) {
    return text.replaceAll("([\\\\,|$])", "\\\\$1");
  }

  private static String canonical(PlanDefinition definition) {
    return definition.getUrl() + "|" + definition.getVersion();
  }
}
