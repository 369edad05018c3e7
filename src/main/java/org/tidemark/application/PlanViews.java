package org.tidemark.application;

import io.quarkus.narayana.jta.QuarkusTransaction;
import jakarta.enterprise.context.ApplicationScoped;
import java.util.List;
import java.util.Locale;
import java.util.Optional;
import java.util.stream.Stream;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.DomainResource;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.tidemark.demand.Build;
import org.tidemark.report.PlanProgress;
import org.tidemark.report.PostureDrawing;
import org.tidemark.report.ProgressChart;

/**
 * What a clinician sees of a plan: its record, and each prescription that stands with a picture.
 */
@ApplicationScoped
public class PlanViews {
  private final Records records;
  private final PlanBook book;
  private final Retelling retelling;
  private final Languages languages;

  PlanViews(Records records, PlanBook book, Retelling retelling, Languages languages) {
    this.records = records;
    this.languages = languages;
    this.retelling = retelling;
    this.book = book;
  }

  /**
   * A plan as it stands.
   *
   * @param plan its record
   * @param exercises what is prescribed, and what waits for a clinician's word
   */
  public record View(CarePlan plan, List<Exercise> exercises) {}

  /**
   * An exercise of a plan.
   *
   * @param order the prescription
   * @param picture how the person stands in it, as SVG; empty for an exercise that has no picture
   */
  public record Exercise(ServiceRequest order, Optional<String> picture) {}

  /**
   * A plan that the service runs.
   *
   * @param id the id of its CarePlan
   * @param locale the language
   * @return the plan, or empty when the service runs none under this id
   */
  public Optional<View> find(String id, Locale locale) {
    return QuarkusTransaction.joiningExisting()
        .call(() -> book.find(id).flatMap(plan -> view(plan, locale)));
  }

  /**
   * How a plan has gone, as a chart. It costs a replay of the plan and the trend of its range: some
   * 30 ms for a year of daily reports.
   *
   * @param id the id of its CarePlan
   * @param locale the language
   * @return SVG; empty when the service runs no plan under this id, or there is nothing to draw
   */
  public Optional<String> progress(String id, Locale locale) {
    return QuarkusTransaction.joiningExisting()
        .call(
            () ->
                book.find(id)
                    .map(
                        plan ->
                            PlanProgress.of(
                                languages.in(locale, plan).programme(),
                                book.chronicle(plan),
                                locale))
                    .filter(progress -> !progress.isEmpty())
                    .map(progress -> ProgressChart.svg(progress, locale)));
  }

  private Optional<View> view(RunningPlan plan, Locale locale) {
    Stream<Issued.Order> waiting =
        plan.issued().waiting().stream().flatMap(proposed -> proposed.proposals().stream());
    List<Exercise> exercises =
        Stream.concat(plan.issued().orders().stream(), waiting)
            .flatMap(order -> exercise(plan, order, locale).stream())
            .toList();
    return records
        .find(CarePlan.class, plan.id())
        .map(record -> new View(told(record, locale), exercises));
  }

  private Optional<Exercise> exercise(RunningPlan plan, Issued.Order order, Locale locale) {
    Build build = Build.of(plan.state().person().items());
    Optional<String> picture =
        plan.programme()
            .variation(order.prescription().variation())
            .flatMap(
                variation -> PostureDrawing.svg(order.prescription(), variation, build, locale));
    return records
        .find(ServiceRequest.class, order.id())
        .map(request -> new Exercise(told(request, locale), picture));
  }

  private <T extends DomainResource> T told(T record, Locale locale) {
    return retelling.in(List.of(locale), record).orElse(record);
  }
}
