package org.tidemark.application;

import io.quarkus.narayana.jta.QuarkusTransaction;
import jakarta.enterprise.context.ApplicationScoped;
import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Locale;
import java.util.Map;
import java.util.Optional;
import java.util.stream.Stream;
import org.hl7.fhir.r4.model.Task;
import org.tidemark.fhir.Matter;
import org.tidemark.fhir.PlanText;
import org.tidemark.fhir.PrescriptionText;
import org.tidemark.fhir.Texts;
import org.tidemark.programme.Dose;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.Programme;
import org.tidemark.programme.ProgressionVariable;
import org.tidemark.programme.Variation;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Grade;
import org.tidemark.quantity.Value;
import org.tidemark.store.CaseloadStore;
import org.tidemark.store.StoredMatter;

/** What a clinician is asked about a plan, and what can be set in it by hand. */
@ApplicationScoped
public class PlanDesk {
  private final PlanBook book;
  private final Records records;
  private final Caseload caseload;
  private final CaseloadStore store;
  private final Programmes programmes;
  private final UnusedReports unused;

  PlanDesk(
      PlanBook book,
      Records records,
      Caseload caseload,
      CaseloadStore store,
      Programmes programmes,
      UnusedReports unused) {
    this.unused = unused;
    this.programmes = programmes;
    this.book = book;
    this.records = records;
    this.caseload = caseload;
    this.store = store;
  }

  /**
   * A plan as it lies before a clinician.
   *
   * @param person the person's name; the id where there is none
   * @param title the name of the programme with the side
   * @param asks what waits for an answer, the most pressing first
   * @param orders what is prescribed, by the id of its ServiceRequest, the proposals among it
   */
  public record Desk(String person, String title, List<Ask> asks, Map<String, Order> orders) {}

  /**
   * Something that waits for a clinician's answer.
   *
   * @param kind what it is: {@code warning}, {@code review}, {@code sign-off}, the code of a matter
   *     of the daily sweep, or {@code sort-out} for a report that could not be used
   * @param task the Task that is answered
   * @param overdue whether it has waited too long
   */
  public record Ask(String kind, Task task, boolean overdue) {}

  /**
   * A prescription in parts that can be set.
   *
   * @param title what a person calls the exercise
   * @param line the whole in words
   * @param dials what the exercise is set to
   * @param dose how much of it
   */
  public record Order(String title, String line, List<Dial> dials, Measure dose) {}

  /**
   * What one variable is set to.
   *
   * @param variable the code of the variable
   * @param title what a person calls it
   * @param value what it is set to: a number, or the code of a grade
   * @param unit the UCUM code of its unit; empty for a grade
   * @param choices the values that the person's equipment allows, from the easiest
   */
  public record Dial(
      String variable, String title, String value, String unit, List<Choice> choices) {}

  /**
   * A value that can be chosen.
   *
   * @param value a number, or the code of a grade
   * @param words the same in words
   */
  public record Choice(String value, String words) {}

  /** How much of an exercise is asked for; 0 for what does not belong to it. Times in seconds. */
  public record Measure(int sets, int repetitions, int hold, int time, int timesPerWeek) {}

  /**
   * A plan that the service runs.
   *
   * @param id the id of its CarePlan
   * @param locale the language
   * @return the plan, or empty when the service runs none under this id
   */
  public Optional<Desk> find(String id, Locale locale) {
    return QuarkusTransaction.joiningExisting()
        .call(() -> book.find(id).map(plan -> desk(plan, locale)));
  }

  private Desk desk(RunningPlan plan, Locale locale) {
    Programme programme = programmes.in(locale, plan.programme());
    PrescriptionText words = new PrescriptionText(Texts.of(locale), programme);
    Map<String, Order> orders = new LinkedHashMap<>();
    Stream.concat(
            plan.issued().orders().stream(),
            plan.issued().waiting().stream().flatMap(waiting -> waiting.proposals().stream()))
        .forEach(order -> orders.put(order.id(), order(plan, order.prescription(), words)));
    return new Desk(
        caseload.person(plan.subject()),
        PlanText.title(words.texts(), programme, plan.side()),
        asks(plan),
        orders);
  }

  private List<Ask> asks(RunningPlan plan) {
    List<StoredMatter> raised =
        store.matters(plan.id()).stream().filter(row -> !row.answered()).toList();
    List<Ask> asks = new ArrayList<>();
    plan.issued().concern().ifPresent(c -> ask("warning", c.task(), raised).ifPresent(asks::add));
    plan.issued().review().ifPresent(task -> ask("review", task, raised).ifPresent(asks::add));
    plan.issued().waiting().ifPresent(w -> ask("sign-off", w.task(), raised).ifPresent(asks::add));
    raised.stream()
        .filter(row -> Matters.kind(row) != Matter.OVERDUE)
        .forEach(row -> ask(Matters.kind(row).code(), row.task(), raised).ifPresent(asks::add));
    unused.about(plan.subject()).forEach(task -> asks.add(new Ask("sort-out", task, false)));
    return asks;
  }

  private Optional<Ask> ask(String kind, String id, List<StoredMatter> raised) {
    boolean overdue =
        raised.stream().anyMatch(row -> row.matter().equals(Matter.OVERDUE.code() + ":" + id));
    return records
        .find(Task.class, id)
        .filter(task -> Issuing.OPEN.contains(task.getStatus()))
        .map(task -> new Ask(kind, task, overdue));
  }

  private static Order order(RunningPlan plan, Prescription prescription, PrescriptionText words) {
    Dose dose = prescription.dose();
    List<Dial> dials =
        words
            .programme()
            .variation(prescription.variation())
            .map(variation -> dials(plan, variation, prescription, words.texts()))
            .orElse(List.of());
    return new Order(
        words.title(prescription.variation()),
        words.line(prescription),
        dials,
        new Measure(
            dose.sets(),
            dose.repetitions(),
            dose.holdSeconds(),
            dose.timeSeconds(),
            dose.timesPerWeek()));
  }

  private static List<Dial> dials(
      RunningPlan plan, Variation variation, Prescription prescription, Texts texts) {
    List<Dial> dials = new ArrayList<>();
    for (ProgressionVariable variable : variation.variables()) {
      Value value = prescription.setting().get(variable.code());
      if (value != null) {
        List<Choice> choices =
            variable.fromEasiest(plan.state().person().equipment()).stream()
                .map(choice -> new Choice(plain(choice), texts.value(choice)))
                .toList();
        String unit = value instanceof Amount amount ? amount.unit().ucum() : "";
        dials.add(new Dial(variable.code(), variable.title(), plain(value), unit, choices));
      }
    }
    return dials;
  }

  private static String plain(Value value) {
    return value instanceof Amount amount ? amount.value().toPlainString() : ((Grade) value).code();
  }
}
