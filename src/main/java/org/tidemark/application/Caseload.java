package org.tidemark.application;

import io.quarkus.narayana.jta.QuarkusTransaction;
import io.quarkus.runtime.StartupEvent;
import jakarta.annotation.Priority;
import jakarta.enterprise.context.ApplicationScoped;
import jakarta.enterprise.event.Observes;
import java.time.Instant;
import java.time.LocalDate;
import java.time.OffsetDateTime;
import java.util.Comparator;
import java.util.EnumMap;
import java.util.List;
import java.util.Locale;
import java.util.Map;
import java.util.Optional;
import java.util.OptionalInt;
import org.hl7.fhir.r4.model.HumanName;
import org.hl7.fhir.r4.model.Patient;
import org.hl7.fhir.r4.model.Reference;
import org.tidemark.audit.Visit;
import org.tidemark.clinic.Clinics;
import org.tidemark.decision.Decision;
import org.tidemark.fhir.Matter;
import org.tidemark.fhir.PlanText;
import org.tidemark.fhir.PrescriptionText;
import org.tidemark.fhir.References;
import org.tidemark.fhir.Texts;
import org.tidemark.programme.Programme;
import org.tidemark.programme.Side;
import org.tidemark.store.CaseloadStore;
import org.tidemark.store.CaseloadStore.Line;
import org.tidemark.store.CaseloadStore.Wanted;
import org.tidemark.store.PlanStore;
import org.tidemark.store.StoredCase;
import org.tidemark.store.StoredMatter;

/**
 * The list of the plans that run, by what they need of a clinician. It is written with each plan,
 * in the same transaction, so that it can be shown without reading a plan.
 */
@ApplicationScoped
public class Caseload {
  /** How many plans a page of the list has. */
  public static final int ON_A_PAGE = 50;

  /** After the definitions have been loaded. */
  private static final int AFTER_DEFINITIONS = 3_000;

  private static final int AT_ONCE = 100;
  private static final int LONGEST_NAME = 400;

  private final CaseloadStore store;
  private final PlanStore plans;
  private final Matters matters;
  private final Records records;
  private final Programmes programmes;
  private final ClinicClock clock;
  private final Clinics clinics;

  Caseload(
      CaseloadStore store,
      PlanStore plans,
      Matters matters,
      Records records,
      Programmes programmes,
      ClinicClock clock,
      Clinics clinics) {
    this.store = store;
    this.plans = plans;
    this.matters = matters;
    this.records = records;
    this.programmes = programmes;
    this.clock = clock;
    this.clinics = clinics;
  }

  /**
   * A plan on the list.
   *
   * @param planId id of its CarePlan
   * @param person the person's name; the id where there is none
   * @param title the name of the programme with the side
   * @param inForce what is prescribed, a line for each exercise; empty when nothing is
   * @param need what it needs
   * @param overdue whether that has waited too long
   * @param since since when, in the clinic's zone
   */
  public record Row(
      String planId,
      String person,
      String title,
      List<String> inForce,
      Need need,
      boolean overdue,
      OffsetDateTime since) {}

  /**
   * A page of the list.
   *
   * @param rows its plans in order
   * @param counts how many plans of each need the name matches, on all pages
   * @param number which page it is, from 1
   * @param pages how many pages there are, 1 or more
   */
  public record Page(List<Row> rows, Map<Need, Long> counts, int number, int pages) {}

  /**
   * A page of the plans that run.
   *
   * @param need only those that need this; empty for all
   * @param name only people whose name has this part, in any case; blank for all
   * @param number which page, from 1; one that is not there becomes the nearest that is
   * @param locale the language
   */
  public Page page(Optional<Need> need, String name, int number, Locale locale) {
    return QuarkusTransaction.joiningExisting().call(() -> read(need, name, number, locale));
  }

  private Page read(Optional<Need> need, String name, int number, Locale locale) {
    Map<Need, Long> counts = new EnumMap<>(Need.class);
    store.counts(name).forEach((place, count) -> counts.put(Need.at(place), count));
    long all =
        need.map(wanted -> counts.getOrDefault(wanted, 0L))
            .orElseGet(() -> counts.values().stream().mapToLong(Long::longValue).sum());
    int pages = (int) Math.max(1, (all + ON_A_PAGE - 1) / ON_A_PAGE);
    int page = Math.min(Math.max(1, number), pages);
    OptionalInt place = need.stream().mapToInt(Need::place).findFirst();
    List<Row> rows =
        store.lines(new Wanted(place, name), (page - 1) * ON_A_PAGE, ON_A_PAGE).stream()
            .map(line -> row(line, locale))
            .toList();
    return new Page(rows, counts, page, pages);
  }

  private Row row(Line line, Locale locale) {
    Programme programme = programmes.in(locale, programmes.running(line.programme()));
    PrescriptionText words = new PrescriptionText(Texts.of(locale), programme);
    StoredCase of = line.of();
    Visit.about(of.subject());
    boolean prescribed = !line.status().equals("on-hold");
    List<String> inForce =
        PlanCodec.issued(line.issued()).orders().stream()
            .filter(order -> prescribed && !order.status().equals("on-hold"))
            .map(order -> words.line(order.prescription()))
            .toList();
    return new Row(
        of.planId(),
        of.person(),
        PlanText.title(words.texts(), programme, Side.valueOf(line.side())),
        inForce,
        Need.at(of.need()),
        of.overdue(),
        Instant.ofEpochMilli(of.sinceMs()).atZone(clock.zone()).toOffsetDateTime());
  }

  // ---- kept in step ----

  /** Brings the list in line with a plan, and ends the matters of the sweep that it has settled. */
  void keep(RunningPlan plan) {
    List<StoredMatter> waiting = matters.settle(plan);
    Optional<StoredCase> before = store.find(plan.id());
    if (!plan.open()) {
      before.ifPresent(row -> store.remove(row.planId()));
      return;
    }
    StoredCase now = of(plan, waiting, before);
    if (before.isEmpty()) {
      store.insert(now);
    } else if (!before.get().equals(now)) {
      store.update(now);
    }
  }

  private StoredCase of(RunningPlan plan, List<StoredMatter> waiting, Optional<StoredCase> before) {
    Need need = Need.of(plan);
    String task = task(plan, need);
    Optional<StoredMatter> matter = Optional.empty();
    if (need == Need.NONE) {
      matter = first(waiting);
      need = matter.map(Caseload::need).orElse(need);
      task = matter.map(StoredMatter::task).orElse("");
    }
    boolean overdue = waiting.stream().anyMatch(row -> Matters.kind(row) == Matter.OVERDUE);
    String person = before.map(StoredCase::person).orElseGet(() -> person(plan.subject()));
    boolean same =
        before.isPresent()
            && before.get().need() == need.place()
            && before.get().task().equals(task);
    long since = same ? before.get().sinceMs() : since(plan, need, matter);
    return new StoredCase(plan.id(), plan.subject(), person, need.place(), task, overdue, since);
  }

  private static String task(RunningPlan plan, Need need) {
    Issued issued = plan.issued();
    return switch (need) {
      case WARNING -> issued.concern().map(Issued.Concern::task).orElse("");
      case REVIEW, MISSING -> issued.review().orElse("");
      case SIGN_OFF -> issued.waiting().map(Issued.Waiting::task).orElse("");
      default -> "";
    };
  }

  /** The matter that presses most: silence, then precautions. */
  private static Optional<StoredMatter> first(List<StoredMatter> waiting) {
    return waiting.stream()
        .filter(row -> Matters.kind(row) != Matter.OVERDUE)
        .min(Comparator.comparing(Caseload::need));
  }

  private static Need need(StoredMatter row) {
    return Matters.kind(row) == Matter.SILENCE ? Need.SILENCE : Need.PRECAUTION;
  }

  private long since(RunningPlan plan, Need need, Optional<StoredMatter> matter) {
    if (matter.isPresent()) {
      return matter.get().sinceMs();
    }
    if (need == Need.FLARE && !plan.state().diary().flares().isEmpty()) {
      List<LocalDate> flares = plan.state().diary().flares();
      return flares.get(flares.size() - 1).atStartOfDay(clock.zone()).toInstant().toEpochMilli();
    }
    Optional<OffsetDateTime> stalled =
        need == Need.STALL ? plan.state().stall().since() : Optional.empty();
    return stalled
        .or(() -> plan.state().last().map(Decision::asOf))
        .orElseGet(clock::now)
        .toInstant()
        .toEpochMilli();
  }

  /** Takes in that a person is called otherwise. */
  void rename(Patient patient) {
    String subject = "Patient/" + patient.getIdElement().getIdPart();
    store.rename(subject, name(patient).orElse(References.idOf(subject)));
  }

  /** What a person is called; the id where no name is known here. */
  String person(String subject) {
    return records
        .find(new Reference(subject))
        .filter(Patient.class::isInstance)
        .flatMap(patient -> name((Patient) patient))
        .orElseGet(() -> subject.substring(subject.lastIndexOf('/') + 1));
  }

  private static Optional<String> name(Patient patient) {
    return patient.getName().stream()
        .filter(name -> name.getUse() != HumanName.NameUse.OLD)
        .min(Comparator.comparingInt(Caseload::rank))
        .map(name -> name.hasText() ? name.getText() : name.getNameAsSingleString())
        .map(name -> name.length() > LONGEST_NAME ? name.substring(0, LONGEST_NAME) : name)
        .filter(name -> !name.isBlank());
  }

  private static int rank(HumanName name) {
    return name.getUse() == HumanName.NameUse.OFFICIAL
        ? 0
        : name.getUse() == HumanName.NameUse.USUAL ? 1 : 2;
  }

  /** Lists the plans that an earlier version of the service has not listed. */
  void fill(@Observes @Priority(AFTER_DEFINITIONS) StartupEvent start) {
    clinics.each(this::fill);
  }

  private void fill() {
    List<String> unlisted;
    do {
      unlisted =
          QuarkusTransaction.requiringNew()
              .call(
                  () -> {
                    List<String> some = plans.unlisted(AT_ONCE);
                    some.forEach(this::list);
                    return some;
                  });
    } while (!unlisted.isEmpty());
  }

  private void list(String planId) {
    plans
        .find(planId)
        .map(stored -> RunningPlan.of(stored, programmes.running(stored.programme())))
        .ifPresent(this::keep);
  }
}
