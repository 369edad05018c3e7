package org.tidemark.application;

import jakarta.enterprise.context.ApplicationScoped;
import java.time.LocalDate;
import java.time.LocalTime;
import java.time.OffsetDateTime;
import java.util.ArrayList;
import java.util.Collections;
import java.util.Date;
import java.util.HashSet;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import java.util.function.BiConsumer;
import java.util.stream.Collectors;
import org.hl7.fhir.r4.model.Flag;
import org.hl7.fhir.r4.model.Observation;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.hl7.fhir.r4.model.Task;
import org.tidemark.application.PlanBook.Saying;
import org.tidemark.application.PlanEngine.Touched;
import org.tidemark.decision.Contradiction;
import org.tidemark.decision.Fact;
import org.tidemark.decision.FactSource;
import org.tidemark.fhir.Codes;
import org.tidemark.fhir.ConcernWriter;
import org.tidemark.fhir.FlagReader;
import org.tidemark.fhir.FlagReader.Limit;
import org.tidemark.fhir.Intake;
import org.tidemark.fhir.ObservationReader;
import org.tidemark.fhir.PrescriptionReader;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.References;
import org.tidemark.programme.Precaution;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.Setting;
import org.tidemark.programme.Variation;
import org.tidemark.response.Session;

/**
 * Takes reports and limits in: each Observation or Flag becomes facts of the plans that it belongs
 * to.
 */
@ApplicationScoped
class Reports {
  private final Records records;
  private final References references;
  private final Programmes programmes;
  private final PlanBook book;
  private final PersonCheck people;
  private final Languages languages;
  private final ClinicClock clock;

  Reports(
      Records records,
      References references,
      Programmes programmes,
      PlanBook book,
      PersonCheck people,
      Languages languages,
      ClinicClock clock) {
    this.records = records;
    this.references = references;
    this.programmes = programmes;
    this.book = book;
    this.people = people;
    this.languages = languages;
    this.clock = clock;
  }

  /**
   * Refuses an Observation that is wrong in itself, or that answers a prescription that it cannot
   * answer.
   */
  void admit(Observation observation, Optional<Observation> former) {
    Intake intake = read(observation, new FactSource("Observation", "new", 1));
    if (intake instanceof Intake.Facts facts && facts.basedOn().isPresent()) {
      String order = references.normal(facts.basedOn().get());
      requireKnown(order, observation);
      boolean corrected = former.filter(before -> answers(before, order)).isPresent();
      answered(facts).ifPresent(plan -> requireAnswers(plan, facts, observation, corrected));
    }
  }

  private boolean answers(Observation observation, String order) {
    return observation.getBasedOn().stream()
        .anyMatch(reference -> references.normal(reference.getReference()).equals(order));
  }

  /** A report that answers a prescription which is not here would be counted for nothing. */
  private void requireKnown(String order, Observation observation) {
    if (References.isLocal(order)
        && records.findKnown("ServiceRequest", References.idOf(order)).isEmpty()) {
      throw Problem.of(
          Problem.Kind.UNKNOWN_REFERENCE,
          "There is no " + order + " here.",
          basedOn(observation, order));
    }
  }

  private String basedOn(Observation observation, String order) {
    int index = 0;
    for (Reference reference : observation.getBasedOn()) {
      if (references.normal(reference.getReference()).equals(order)) {
        break;
      }
      index++;
    }
    return "Observation.basedOn[" + index + "]";
  }

  /** Refuses a Flag whose limit cannot be read. */
  void admit(Flag flag) {
    reader(flag).read(flag, new FactSource("Flag", "new", 1), clock.now());
  }

  /**
   * Takes an Observation into every plan that it belongs to, and out of those that it belongs to no
   * more.
   */
  void follow(Observation observation, Optional<Observation> former, Touched touched) {
    Intake intake = read(observation, Enrolling.source(observation));
    if (intake instanceof Intake.NotForUs && former.isEmpty()) {
      return;
    }
    String subject = subject(observation.getSubject());
    former
        .map(before -> subject(before.getSubject()))
        .filter(before -> !before.equals(subject))
        .ifPresent(before -> withdraw(Enrolling.source(observation), before, touched));
    List<RunningPlan> open =
        touched.ofSubject(subject, book::ofSubject).stream().filter(RunningPlan::open).toList();
    if (former.isEmpty() && !open.isEmpty()) {
      people.require(touched.person(subject, people::person), at(intake), "Observation.subject");
    }
    for (RunningPlan plan : open) {
      touched.says(plan.id(), new Saying(Enrolling.source(observation), facts(plan, intake)));
    }
    if (former.isPresent()) {
      sortedOut(observation, intake);
    } else if (intake instanceof Intake.Parked parked) {
      park(observation, parked.reason());
    }
  }

  /** When what an Observation says was; the present where it cannot be told. */
  private OffsetDateTime at(Intake intake) {
    return intake instanceof Intake.Facts facts && !facts.facts().isEmpty()
        ? facts.facts().get(0).at()
        : clock.now();
  }

  private String subject(Reference reference) {
    return references.normal(reference.getReference());
  }

  /** A record that is about someone else now says nothing any more about this person. */
  private void withdraw(FactSource moved, String subject, Touched touched) {
    for (RunningPlan plan : touched.ofSubject(subject, book::ofSubject)) {
      if (plan.open()) {
        touched.says(plan.id(), new Saying(moved, List.of()));
      }
    }
  }

  /**
   * Takes everything that is known of the person into a plan that begins.
   *
   * @param unreadable told of each Observation that can no longer be read, and why
   */
  void gather(RunningPlan plan, Touched touched, BiConsumer<Observation, String> unreadable) {
    for (Resource known : records.listBySubject("Observation", plan.subject(), Set.of())) {
      followFor(plan, (Observation) known, touched, unreadable);
    }
    for (Resource known : records.listBySubject("Flag", plan.subject(), Set.of())) {
      followFor(plan, (Flag) known, touched);
    }
  }

  private void followFor(
      RunningPlan plan,
      Observation observation,
      Touched touched,
      BiConsumer<Observation, String> unreadable) {
    List<Fact> facts;
    try {
      facts = facts(plan, read(observation, Enrolling.source(observation)));
    } catch (Problem problem) {
      unreadable.accept(observation, problem.getMessage());
      return;
    }
    if (!facts.isEmpty()) {
      touched.says(plan.id(), new Saying(Enrolling.source(observation), facts));
    }
  }

  /** Takes a Flag into every plan of the person on its side. */
  void follow(Flag flag, Optional<Flag> former, Touched touched) {
    String subject = subject(flag.getSubject());
    former
        .map(before -> subject(before.getSubject()))
        .filter(before -> !before.equals(subject))
        .ifPresent(before -> withdraw(Enrolling.source(flag), before, touched));
    for (RunningPlan plan : touched.ofSubject(subject, book::ofSubject)) {
      if (plan.open()) {
        touched.says(plan.id(), new Saying(Enrolling.source(flag), facts(plan, flag)));
      }
    }
  }

  private void followFor(RunningPlan plan, Flag flag, Touched touched) {
    List<Fact> facts = facts(plan, flag);
    if (!facts.isEmpty()) {
      touched.says(plan.id(), new Saying(Enrolling.source(flag), facts));
    }
  }

  private Intake read(Observation observation, FactSource source) {
    return new ObservationReader(programmes.readings(), programmes.measures(), clock.zone())
        .read(observation, source, clock.now());
  }

  /** The limits that are set for a person, in force or not, whether or not there is a plan. */
  List<Limit> limits(String subject) {
    return records.listBySubject("Flag", subject, Set.of()).stream()
        .map(Flag.class::cast)
        .flatMap(
            flag ->
                reader(flag)
                    .read(
                        flag,
                        Enrolling.source(flag),
                        clock.at(flag.getMeta().getLastUpdated(), "Flag.meta.lastUpdated"))
                    .stream())
        .toList();
  }

  private FlagReader reader(Flag flag) {
    return new FlagReader(programmes.measures(), clock.zone());
  }

  /** The plan whose prescription is answered; empty when it is not one of ours. */
  private Optional<RunningPlan> answered(Intake.Facts facts) {
    return facts
        .basedOn()
        .map(references::normal)
        .filter(r -> r.startsWith("ServiceRequest/"))
        .flatMap(reference -> book.ofOrder(References.idOf(reference)));
  }

  /**
   * @param corrected whether the report was taken before and is only put right
   */
  private void requireAnswers(
      RunningPlan plan, Intake.Facts facts, Observation observation, boolean corrected) {
    if (!subject(observation.getSubject()).equals(plan.subject())) {
      throw Problem.of(
          Problem.Kind.BUSINESS_RULE,
          "The prescription is another person's.",
          basedOn(observation, references.normal(facts.basedOn().orElseThrow())),
          "Observation.subject");
    }
    if (!corrected && !plan.status().equals("active")) {
      throw Problem.of(
          Problem.Kind.BUSINESS_RULE,
          "The plan of this prescription is " + plan.status() + ", not active.",
          basedOn(observation, references.normal(facts.basedOn().orElseThrow())));
    }
    if (facts.side().filter(side -> side != plan.side()).isPresent()) {
      throw Problem.of(
          Problem.Kind.BUSINESS_RULE,
          "The prescription is for the " + plan.side().code() + " side.",
          "Observation.bodySite");
    }
    done(plan, facts);
  }

  /**
   * What an Observation says about one plan; nothing when it is about another side, region or
   * prescription.
   */
  private List<Fact> facts(RunningPlan plan, Intake intake) {
    if (intake instanceof Intake.Parked parked) {
      return List.copyOf(parked.warnings());
    }
    if (!(intake instanceof Intake.Facts facts) || !concerns(plan, facts)) {
      return List.of();
    }
    List<Fact> all = new ArrayList<>();
    for (Fact fact : facts.facts()) {
      all.add(
          fact instanceof Fact.SessionDone session
              ? withDone(session, done(plan, facts), facts.settingsDone())
              : fact);
    }
    return all;
  }

  private boolean concerns(RunningPlan plan, Intake.Facts facts) {
    boolean side = facts.side().map(known -> known == plan.side()).orElse(true);
    Set<String> regions = plan.programme().bodyRegions();
    boolean region =
        facts.regions().isEmpty()
            || regions.isEmpty()
            || !Collections.disjoint(regions, facts.regions());
    boolean prescription =
        facts.basedOn().isEmpty()
            || answered(facts).map(other -> other.id().equals(plan.id())).orElse(false);
    return side && region && prescription;
  }

  /**
   * The prescription that a session was done at, where the report says; otherwise it is the one in
   * force then, which only the fold knows.
   */
  private Optional<Prescription> done(RunningPlan plan, Intake.Facts facts) {
    Optional<Prescription> asked =
        facts
            .basedOn()
            .map(references::normal)
            .flatMap(
                reference ->
                    records
                        .find("ServiceRequest", References.idOf(reference))
                        .map(
                            order ->
                                PrescriptionReader.read(
                                    (ServiceRequest) order, plan.programme(), Optional.empty())));
    if (asked.isEmpty()) {
      facts.settingsDone().ifPresent(settings -> requireFits(plan, settings));
    }
    return facts
        .settingsDone()
        .map(settings -> asked.map(a -> PrescriptionReader.done(a, settings, plan.programme())))
        .orElse(asked);
  }

  /** Settings that none of the exercises in force can have are a slip, not a session. */
  private static void requireFits(RunningPlan plan, Setting settings) {
    List<Prescription> orders =
        plan.issued().orders().stream().map(Issued.Order::prescription).toList();
    boolean fits = orders.stream().anyMatch(order -> fits(plan, order, settings));
    if (!fits && !orders.isEmpty()) {
      PrescriptionReader.done(orders.get(0), settings, plan.programme());
    }
  }

  private static boolean fits(RunningPlan plan, Prescription order, Setting settings) {
    Variation variation = plan.programme().variation(order.variation()).orElseThrow();
    return settings.values().entrySet().stream()
        .allMatch(
            set ->
                variation
                    .variable(set.getKey())
                    .filter(variable -> variable.accepts(set.getValue()))
                    .isPresent());
  }

  private static Fact withDone(
      Fact.SessionDone fact, Optional<Prescription> done, Optional<Setting> settings) {
    Session s = fact.session();
    return new Fact.SessionDone(
        fact.at(),
        fact.source(),
        new Session(
            s.start(),
            s.end(),
            done,
            done.isPresent() ? Optional.empty() : settings,
            s.sets(),
            s.repetitions(),
            s.timeSeconds(),
            s.contact(),
            s.during(),
            s.after(),
            s.effort(),
            s.effusion()));
  }

  /**
   * What a Flag says about one plan. A limit with a first day counts from that day. One that begins
   * later, or that reaches a running plan without a first day, is known from now on: just after the
   * newest fact. When the Flag is written again, what was said of it before keeps its place.
   */
  private List<Fact> facts(RunningPlan plan, Flag flag) {
    Optional<Fact.PrecautionSet> before =
        book.said(plan.id(), "Flag", flag.getIdPart()).stream()
            .map(Fact.PrecautionSet.class::cast)
            .findFirst();
    OffsetDateTime now = clock.justAfter(plan.state());
    OffsetDateTime lifted =
        before
            .map(Fact.PrecautionSet::precaution)
            .filter(Precaution::lifted)
            .flatMap(Precaution::until)
            .map(day -> day.atTime(LocalTime.NOON).atZone(clock.zone()).toOffsetDateTime())
            .orElse(now);
    boolean dated = flag.getPeriod().hasStart() || plan.state().horizon().isEmpty();
    OffsetDateTime latest = before.map(Fact::at).orElse(now);
    return reader(flag)
        .read(flag, Enrolling.source(flag), lifted)
        .filter(limit -> limit.side().map(side -> side == plan.side()).orElse(true))
        .map(Limit::fact)
        .map(
            fact ->
                List.<Fact>of(
                    new Fact.PrecautionSet(
                        dated && fact.at().isBefore(latest) ? fact.at() : latest,
                        fact.source(),
                        heldUntilCleared(
                            fact.precaution(),
                            before.map(Fact.PrecautionSet::precaution),
                            now.toLocalDate()))))
        .orElse(List.of());
  }

  /**
   * A limit that waited for clearance after its last day was in force until the day before the
   * clearance, which is today unless the Flag's period says otherwise.
   */
  private static Precaution heldUntilCleared(
      Precaution now, Optional<Precaution> before, LocalDate today) {
    if (!now.lifted() || !now.needsClearance() || before.isEmpty()) {
      return now;
    }
    Optional<LocalDate> known = before.get().until();
    Optional<LocalDate> cleared =
        before.get().lifted()
            ? known
            : Optional.of(today.minusDays(1)).filter(day -> now.until().equals(known));
    return cleared
        .filter(day -> now.until().filter(day::isAfter).isPresent())
        .map(now::until)
        .orElse(now);
  }

  /** Keeps an Observation that cannot be used, and asks a clinician to sort it out. */
  void park(Observation observation, String reason) {
    records.put(
        ConcernWriter.parked(
            languages.texts(),
            subject(observation.getSubject()),
            "Observation/" + observation.getIdPart(),
            reason,
            Date.from(clock.now().toInstant())));
  }

  /** Asks about each record that says otherwise than another of the same moment. */
  void doubt(RunningPlan plan, List<Contradiction> contradictions) {
    Set<String> asked = new HashSet<>();
    for (Contradiction doubt : contradictions) {
      if (asked.add(doubt.fact().source().id())) {
        records.put(
            ConcernWriter.contradicting(
                languages.texts(), plan.subject(), doubt, Date.from(clock.now().toInstant())));
      }
    }
  }

  /** Nobody needs to sort out any more what has been put right, or what contradicted it. */
  private void sortedOut(Observation observation, Intake intake) {
    String reference = "Observation/" + observation.getIdPart();
    List<Task> open = asking("focus", reference);
    if (intake instanceof Intake.Parked parked) {
      if (open.isEmpty()) {
        park(observation, parked.reason());
      }
      return;
    }
    asking("subject", subject(observation.getSubject())).stream()
        .filter(task -> reference.equals(task.getReasonReference().getReference()))
        .forEach(open::add);
    open.forEach(task -> records.put(task.setStatus(Task.TaskStatus.COMPLETED)));
  }

  /** The open Tasks for reports that are to be sorted out. */
  private List<Task> asking(String parameter, String value) {
    return records.list(Task.class, Map.of(parameter, value, "status", "requested")).stream()
        .filter(task -> task.getCode().hasCoding(Codes.CLINICIAN_TASK, "sort-out"))
        .collect(Collectors.toCollection(ArrayList::new));
  }
}
