package org.tidemark.application;

import io.quarkus.narayana.jta.QuarkusTransaction;
import jakarta.enterprise.context.ApplicationScoped;
import java.time.LocalDate;
import java.util.ArrayList;
import java.util.Collection;
import java.util.List;
import java.util.Locale;
import java.util.Optional;
import java.util.Set;
import java.util.stream.Collectors;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.tidemark.audit.Visit;
import org.tidemark.fhir.OrderReader;
import org.tidemark.fhir.PrescriptionReader;
import org.tidemark.fhir.PrescriptionWriter;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.Texts;
import org.tidemark.programme.Precaution;
import org.tidemark.programme.Programme;
import org.tidemark.programme.ProgressionVariable;
import org.tidemark.programme.Setting;
import org.tidemark.programme.Side;
import org.tidemark.programme.Variation;
import org.tidemark.quantity.Value;

/**
 * Holds an order that a clinician is drafting elsewhere against the plans of the person: what stops
 * them, and which precautions the order breaks. What does not conflict is not thereby approved.
 */
@ApplicationScoped
public class OrderAdvice {
  private final PlanBook book;
  private final PlanAdvice advice;
  private final Languages languages;
  private final Reports reports;
  private final ClinicClock clock;

  OrderAdvice(
      PlanBook book, PlanAdvice advice, Reports reports, Languages languages, ClinicClock clock) {
    this.book = book;
    this.advice = advice;
    this.reports = reports;
    this.languages = languages;
    this.clock = clock;
  }

  /**
   * A conflict of an order: with what stops a plan or with precautions, one of the two.
   *
   * @param plan the plan; empty where precautions hold for a person or a side without one
   * @param stopped what stops the plan
   * @param limits the precautions
   */
  public record Conflict(
      Optional<Plan> plan, Optional<PlanAdvice.Notice> stopped, Optional<Limits> limits) {}

  /**
   * A plan.
   *
   * @param id the id of its CarePlan
   * @param title what it is called, with its side
   */
  public record Plan(String id, String title) {}

  /**
   * Precautions that an order is held against.
   *
   * @param broken whether the order breaks them; else it does not say enough to tell
   * @param words each in the words of whoever set it
   * @param inside the order inside them, where it is clear how
   */
  public record Limits(boolean broken, List<String> words, Optional<Inside> inside) {}

  /**
   * An order with one value moved inside the precautions.
   *
   * @param order the order
   * @param variable what is moved, in words
   * @param value where to, in words
   */
  public record Inside(ServiceRequest order, String variable, String value) {}

  /**
   * The conflicts of an order.
   *
   * @param order an order of exercise, which may leave open what it asks
   * @param subjects the references under which plans of the person may be kept
   * @param language the language of the words
   * @throws Problem when a setting of the order cannot be read, with the FHIRPath of its element
   */
  public List<Conflict> of(ServiceRequest order, Collection<String> subjects, Locale language) {
    subjects.forEach(Visit::about);
    return QuarkusTransaction.joiningExisting()
        .call(
            () ->
                subjects.stream()
                    .flatMap(subject -> conflicts(order, subject, language).stream())
                    .toList());
  }

  private List<Conflict> conflicts(ServiceRequest order, String subject, Locale language) {
    List<RunningPlan> plans = book.ofSubject(subject).stream().filter(RunningPlan::open).toList();
    List<Conflict> conflicts = new ArrayList<>();
    plans.forEach(plan -> conflicts.addAll(conflicts(order, plan, language)));
    Set<Side> sides = plans.stream().map(RunningPlan::side).collect(Collectors.toSet());
    List<Precaution> beyond =
        reports.limits(subject).stream()
            .filter(limit -> isBeyond(sides, limit.side()))
            .filter(
                limit -> limit.side().map(side -> OrderReader.mayBeFor(side, order)).orElse(true))
            .map(limit -> limit.fact().precaution())
            .filter(precaution -> precaution.holdsOn(today()))
            .toList();
    unnamed(beyond)
        .map(limits -> new Conflict(Optional.empty(), Optional.empty(), Optional.of(limits)))
        .ifPresent(conflicts::add);
    return conflicts;
  }

  /** Whether a limit is in none of the plans, because none is for its side. */
  private static boolean isBeyond(Set<Side> planned, Optional<Side> limited) {
    return limited.map(side -> !planned.contains(side)).orElse(planned.isEmpty());
  }

  private LocalDate today() {
    return clock.now().toLocalDate();
  }

  /** Warning signs are about the person, everything else about one side. */
  private List<Conflict> conflicts(ServiceRequest order, RunningPlan plan, Locale language) {
    boolean concerned = OrderReader.mayBeFor(plan.side(), order);
    Optional<Plan> named = Optional.of(new Plan(plan.id(), advice.title(plan, language)));
    List<Conflict> conflicts = new ArrayList<>();
    advice
        .stopped(plan, language)
        .filter(notice -> concerned || notice.kind() == PlanAdvice.Kind.WARNED)
        .map(notice -> new Conflict(named, Optional.of(notice), Optional.empty()))
        .ifPresent(conflicts::add);
    if (concerned) {
      limits(order, plan, language)
          .map(limits -> new Conflict(named, Optional.empty(), Optional.of(limits)))
          .ifPresent(conflicts::add);
    }
    return conflicts;
  }

  private Optional<Limits> limits(ServiceRequest order, RunningPlan plan, Locale language) {
    List<Precaution> inForce =
        plan.state().person().precautions().stream().filter(p -> p.holdsOn(today())).toList();
    Optional<Variation> variation = OrderReader.variation(order, plan.programme());
    return variation.isPresent()
        ? new Named(order, plan, variation.get(), inForce).limits(language)
        : unnamed(inForce);
  }

  /** Of an exercise that is not named, only what forbids every exercise is known to be broken. */
  private static Optional<Limits> unnamed(List<Precaution> inForce) {
    List<Precaution> broken =
        inForce.stream()
            .filter(p -> p.scope() == Precaution.Scope.ALL && p.measure().isEmpty())
            .toList();
    return limits(broken, inForce, Optional.empty());
  }

  private static Optional<Limits> limits(
      List<Precaution> broken, List<Precaution> open, Optional<Inside> inside) {
    List<Precaution> told = broken.isEmpty() ? open : broken;
    List<String> words = told.stream().map(Precaution::text).distinct().toList();
    return words.isEmpty()
        ? Optional.empty()
        : Optional.of(new Limits(!broken.isEmpty(), words, inside));
  }

  /** An order of an exercise of the plan's own programme. */
  private final class Named {
    private final ServiceRequest order;
    private final RunningPlan plan;
    private final Programme programme;
    private final Variation variation;
    private final List<Precaution> inForce;
    private final Setting setting;

    private Named(
        ServiceRequest order, RunningPlan plan, Variation variation, List<Precaution> inForce) {
      this.order = order;
      this.plan = plan;
      this.programme = plan.programme();
      this.variation = variation;
      this.inForce = inForce;
      this.setting = PrescriptionReader.setting(order, variation, programme);
    }

    private Optional<Limits> limits(Locale language) {
      List<Precaution> broken = inForce.stream().filter(p -> !allows(p, setting)).toList();
      List<Precaution> open = inForce.stream().filter(this::isOpen).toList();
      return OrderAdvice.limits(broken, open, inside(broken, language));
    }

    private boolean allows(Precaution precaution, Setting wanted) {
      return programme.allows(precaution, variation, wanted);
    }

    /** Whether a precaution is about something that the order leaves open. */
    private boolean isOpen(Precaution precaution) {
      return precaution
          .measure()
          .filter(measure -> setting.get(measure) == null)
          .flatMap(variation::variable)
          .filter(
              variable ->
                  values(variable).stream()
                      .anyMatch(value -> !allows(precaution, setting.with(variable.code(), value))))
          .isPresent();
    }

    private List<Value> values(ProgressionVariable variable) {
      return variable.fromEasiest(plan.state().person().equipment());
    }

    /**
     * The order with the one value that breaks precautions made easier, as little as gets it inside
     * all of them. Empty when several values break them, or nothing easier that the person has is
     * inside.
     */
    private Optional<Inside> inside(List<Precaution> broken, Locale language) {
      Set<Optional<String>> measures =
          broken.stream().map(Precaution::measure).collect(Collectors.toSet());
      if (measures.size() != 1) {
        return Optional.empty();
      }
      return measures.iterator().next().flatMap(variation::variable).stream()
          .flatMap(
              variable ->
                  nearest(variable).stream().map(value -> inside(variable, value, language)))
          .findFirst();
    }

    private Optional<Value> nearest(ProgressionVariable variable) {
      Value asked = setting.get(variable.code());
      if (asked == null) {
        return Optional.empty();
      }
      return values(variable).stream()
          .filter(value -> variable.compare(value, asked) < 0)
          .filter(
              value ->
                  inForce.stream().allMatch(p -> allows(p, setting.with(variable.code(), value))))
          .reduce((easier, harder) -> harder);
    }

    private Inside inside(ProgressionVariable variable, Value value, Locale language) {
      Texts texts = Texts.of(language);
      String title =
          languages
              .in(language, plan)
              .programme()
              .variation(variation.code())
              .flatMap(known -> known.variable(variable.code()))
              .map(ProgressionVariable::title)
              .orElseGet(variable::title);
      return new Inside(
          PrescriptionWriter.set(order, variable.code(), value), title, texts.value(value));
    }
  }
}
