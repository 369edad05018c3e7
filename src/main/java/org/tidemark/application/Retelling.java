package org.tidemark.application;

import io.quarkus.narayana.jta.QuarkusTransaction;
import jakarta.enterprise.context.ApplicationScoped;
import java.time.LocalDate;
import java.time.LocalTime;
import java.time.OffsetDateTime;
import java.time.ZoneOffset;
import java.util.List;
import java.util.Locale;
import java.util.Optional;
import java.util.Set;
import java.util.function.Function;
import java.util.stream.IntStream;
import java.util.stream.Stream;
import org.hl7.fhir.r4.model.BaseDateTimeType;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.DomainResource;
import org.hl7.fhir.r4.model.Goal;
import org.hl7.fhir.r4.model.GuidanceResponse;
import org.hl7.fhir.r4.model.Narrative;
import org.hl7.fhir.r4.model.Reference;
import org.hl7.fhir.r4.model.Resource;
import org.hl7.fhir.r4.model.RiskAssessment;
import org.hl7.fhir.r4.model.ServiceRequest;
import org.hl7.fhir.r4.model.ServiceRequest.ServiceRequestIntent;
import org.tidemark.application.Issued.RangeRecord;
import org.tidemark.decision.Decision;
import org.tidemark.decision.GoalReading;
import org.tidemark.decision.PlanState;
import org.tidemark.decision.RangeCourse;
import org.tidemark.decision.RangeFigures;
import org.tidemark.fhir.CarePlanWriter;
import org.tidemark.fhir.ForecastWriter;
import org.tidemark.fhir.GoalWriter;
import org.tidemark.fhir.GuidanceWriter;
import org.tidemark.fhir.PlanIdentity;
import org.tidemark.fhir.PrescriptionWriter;
import org.tidemark.fhir.References;
import org.tidemark.fhir.Texts;
import org.tidemark.programme.GoalDefinition;
import org.tidemark.programme.Prescription;

/**
 * Tells what was written about a plan in another language than it is stored in. A record is told
 * anew only if telling it in its own language gives the very words that are stored: what someone
 * else has written, and what cannot be told for certain, stays as it is.
 */
@ApplicationScoped
public class Retelling {
  /** The types whose words are told anew. */
  public static final Set<Class<? extends Resource>> TOLD =
      Set.of(
          CarePlan.class,
          ServiceRequest.class,
          Goal.class,
          RiskAssessment.class,
          GuidanceResponse.class);

  private final PlanBook book;
  private final Languages languages;
  private final References references;

  Retelling(PlanBook book, Languages languages, References references) {
    this.book = book;
    this.languages = languages;
    this.references = references;
  }

  /**
   * A record in the first of some languages that there are texts in.
   *
   * @return the record with its words in that language; empty when it is to be sent as it is stored
   */
  public <T extends DomainResource> Optional<T> in(List<Locale> wanted, T stored) {
    String told = stored.getText().getDiv().getAttribute("lang");
    return Texts.firstSpoken(wanted)
        .filter(language -> told != null && !told.equals(language.getLanguage()))
        .flatMap(
            language ->
                QuarkusTransaction.joiningExisting()
                    .call(() -> retold(stored, Locale.forLanguageTag(told), language)));
  }

  private <T extends DomainResource> Optional<T> retold(T stored, Locale told, Locale wanted) {
    for (RunningPlan plan : plans(stored)) {
      PlanIdentity asTold = languages.in(told, plan);
      for (Function<PlanIdentity, T> teller : tellers(plan, stored)) {
        if (words(teller.apply(asTold)).equals(words(stored))) {
          return Optional.of(teller.apply(languages.in(wanted, plan)));
        }
      }
    }
    return Optional.empty();
  }

  private static List<String> words(DomainResource resource) {
    Narrative read = new Narrative();
    read.setDivAsString(resource.getText().getDivAsString());
    String text = read.getDivAsString();
    return resource instanceof ServiceRequest order && order.hasPatientInstruction()
        ? List.of(text, order.getPatientInstruction())
        : List.of(text);
  }

  private List<RunningPlan> plans(DomainResource stored) {
    return Stream.of(stored.getNamedProperty("subject").getValues())
        .flatMap(List::stream)
        .map(subject -> ((Reference) subject).getReference())
        .map(references::normal)
        .flatMap(subject -> book.ofSubject(subject).stream())
        .toList();
  }

  /** The ways in which the record may have been told. */
  private <T extends DomainResource> List<Function<PlanIdentity, T>> tellers(
      RunningPlan plan, T stored) {
    @SuppressWarnings("unchecked")
    Class<T> type = (Class<T>) stored.getClass();
    return told(plan, stored)
        .<Function<PlanIdentity, T>>map(teller -> identity -> type.cast(teller.apply(identity)))
        .toList();
  }

  private Stream<Function<PlanIdentity, DomainResource>> told(
      RunningPlan plan, DomainResource stored) {
    if (stored instanceof CarePlan record) {
      return told(plan, record);
    }
    if (stored instanceof ServiceRequest order) {
      return decisions(plan, order.getAuthoredOnElement())
          .flatMap(decision -> told(order, decision));
    }
    if (stored instanceof GuidanceResponse guidance) {
      return decisions(plan, guidance.getOccurrenceDateTimeElement())
          .map(decision -> identity -> told(guidance, identity, decision));
    }
    if (stored instanceof Goal goal) {
      return goals(plan, goal);
    }
    return stored instanceof RiskAssessment risk ? forecasts(plan, risk) : Stream.empty();
  }

  private static Stream<Function<PlanIdentity, DomainResource>> told(
      RunningPlan plan, CarePlan record) {
    List<RangeFigures> ranges =
        plan.issued().ranges().values().stream().map(RangeRecord::figures).toList();
    Optional<Decision> last = plan.state().last();
    return last.stream()
        .map(
            newest ->
                identity ->
                    CarePlanWriter.tell(
                        record,
                        identity,
                        plan.state().because().orElse(newest).with(ranges),
                        newest.with(ranges)));
  }

  private static Stream<Function<PlanIdentity, DomainResource>> told(
      ServiceRequest order, Decision decision) {
    boolean proposal = order.getIntent() == ServiceRequestIntent.PROPOSAL;
    List<Prescription> prescriptions = proposal ? decision.proposal() : decision.inForce();
    PrescriptionWriter.Kind kind =
        proposal ? PrescriptionWriter.Kind.PROPOSAL : PrescriptionWriter.Kind.ORDER;
    return prescriptions.stream()
        .map(
            prescription ->
                identity -> PrescriptionWriter.tell(order, identity, prescription, decision, kind));
  }

  private static GuidanceResponse told(
      GuidanceResponse stored, PlanIdentity identity, Decision decision) {
    GuidanceResponse told = stored.copy();
    told.setText(GuidanceWriter.write(identity, decision).getText());
    return told;
  }

  private Stream<Function<PlanIdentity, DomainResource>> goals(RunningPlan plan, Goal goal) {
    OffsetDateTime day =
        goal.getStatusDate() == null
            ? OffsetDateTime.MIN
            : LocalDate.parse(goal.getStatusDateElement().getValueAsString())
                .atTime(LocalTime.NOON)
                .atOffset(ZoneOffset.UTC);
    return IntStream.range(0, plan.programme().goals().size())
        .mapToObj(
            index ->
                identity -> {
                  GoalDefinition definition = identity.programme().goals().get(index);
                  return GoalWriter.write(
                      identity,
                      GoalReading.read(definition, plan.state()),
                      Optional.ofNullable(plan.issued().ranges().get(definition.code()))
                          .map(RangeRecord::figures),
                      Optional.of(goal),
                      day);
                });
  }

  private Stream<Function<PlanIdentity, DomainResource>> forecasts(
      RunningPlan plan, RiskAssessment risk) {
    return IntStream.range(0, plan.programme().goals().size())
        .filter(
            index ->
                RangeCourse.read(plan.programme().goals().get(index), plan.state()).isPresent())
        .mapToObj(
            index ->
                identity ->
                    ForecastWriter.write(
                        identity,
                        RangeCourse.read(identity.programme().goals().get(index), plan.state())
                            .orElseThrow(),
                        Optional.of(risk)));
  }

  /** What was decided at a time, as far as it can be told by what is known today. */
  private Stream<Decision> decisions(RunningPlan plan, BaseDateTimeType at) {
    if (at.isEmpty()) {
      return Stream.empty();
    }
    PlanState then = book.asOf(plan, at.getValue().toInstant());
    List<RangeFigures> ranges =
        plan.programme().goals().stream()
            .flatMap(goal -> RangeCourse.read(goal, then).stream())
            .map(RangeCourse::figures)
            .toList();
    return Stream.of(then.because(), then.last())
        .flatMap(Optional::stream)
        .map(decision -> decision.with(ranges));
  }
}
