package org.tidemark.fhir;

import java.util.ArrayList;
import java.util.List;
import java.util.Set;
import java.util.stream.Collectors;
import java.util.stream.Stream;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.CarePlan.CarePlanActivityComponent;
import org.hl7.fhir.r4.model.CarePlan.CarePlanActivityDetailComponent;
import org.hl7.fhir.r4.model.CodeableConcept;
import org.hl7.fhir.r4.model.Coding;
import org.hl7.fhir.r4.model.Reference;
import org.tidemark.decision.Decision;

/**
 * Writes what was decided into a plan. The activities that the service writes carry an element id
 * with a prefix of its own; every other activity, goal, category and element belongs to someone
 * else and stays as it is.
 */
public final class CarePlanWriter {
  private static final String OURS = "tidemark-";
  private static final String ASSESSMENT = "assess-plan";

  private CarePlanWriter() {}

  /**
   * A copy of the plan that says what is in force now.
   *
   * @param current the plan as it is stored
   * @param orderIds ids of the ServiceRequests in force, in order
   * @param proposalIds ids of the ServiceRequests that wait for a clinician, in order
   * @param goalIds ids of the plan's Goals, in order
   * @param forecastIds ids of the RiskAssessments that forecast its goals, in order
   * @param because the decision that made what stands as it is
   * @param last the last decision
   */
  public static CarePlan apply(
      CarePlan current,
      PlanIdentity plan,
      List<String> orderIds,
      List<String> proposalIds,
      List<String> goalIds,
      List<String> forecastIds,
      Decision because,
      Decision last) {
    CarePlan next = current.copy();
    if (!next.hasTitle()) {
      next.setTitle(PlanText.title(plan));
    }
    categorise(next);
    activities(next, orderIds, proposalIds);
    goals(next, goalIds);
    forecasts(next, forecastIds);
    return tell(next, plan, because, last);
  }

  /**
   * A copy of the plan whose narrative says what stands.
   *
   * @param because the decision that made what stands as it is
   * @param last the last decision
   */
  public static CarePlan tell(CarePlan plan, PlanIdentity whose, Decision because, Decision last) {
    CarePlan told = plan.copy();
    List<String> others =
        plan.getActivity().stream()
            .filter(activity -> !ours(activity))
            .map(activity -> words(whose.texts(), activity))
            .toList();
    told.setText(PlanText.plan(whose, because, last, others));
    return told;
  }

  /**
   * A copy of what a client sends for a plan, with what the service has written into it before and
   * the client has left out.
   *
   * @param sent as the client sends it
   * @param former the plan as it is stored
   */
  public static CarePlan keep(CarePlan sent, CarePlan former) {
    CarePlan kept = sent.copy();
    Set<String> ids =
        kept.getActivity().stream()
            .map(CarePlanActivityComponent::getId)
            .collect(Collectors.toSet());
    List<CarePlanActivityComponent> ours =
        former.getActivity().stream()
            .filter(CarePlanWriter::ours)
            .filter(activity -> !ids.contains(activity.getId()))
            .map(CarePlanActivityComponent::copy)
            .toList();
    kept.setActivity(
        Stream.concat(ours.stream(), kept.getActivity().stream()).collect(Collectors.toList()));
    if (!kept.hasGoal()) {
      former.getGoal().forEach(goal -> kept.addGoal(goal.copy()));
    }
    if (!kept.hasText()) {
      kept.setText(former.getText().copy());
    }
    return kept;
  }

  private static void categorise(CarePlan plan) {
    boolean there =
        plan.getCategory().stream()
            .anyMatch(category -> category.hasCoding(Codes.CARE_PLAN_CATEGORY, ASSESSMENT));
    if (!there) {
      plan.addCategory(
          Codes.concept(Codes.CARE_PLAN_CATEGORY, ASSESSMENT, "Assessment and Plan of Treatment"));
    }
  }

  private static void activities(CarePlan plan, List<String> orderIds, List<String> proposalIds) {
    List<CarePlanActivityComponent> written = new ArrayList<>();
    orderIds.forEach(id -> written.add(activity("order-", id)));
    proposalIds.forEach(id -> written.add(activity("proposal-", id)));
    Set<String> references =
        written.stream()
            .map(activity -> activity.getReference().getReference())
            .collect(Collectors.toSet());
    List<CarePlanActivityComponent> kept =
        plan.getActivity().stream()
            .filter(activity -> !ours(activity))
            .filter(activity -> !references.contains(activity.getReference().getReference()))
            .toList();
    plan.setActivity(Stream.concat(written.stream(), kept.stream()).collect(Collectors.toList()));
  }

  /** References to the prescriptions that the service has listed as in force or on hold. */
  public static List<String> orders(CarePlan plan) {
    return plan.getActivity().stream()
        .filter(activity -> ours(activity) && activity.getId().startsWith(OURS + "order-"))
        .map(activity -> activity.getReference().getReference())
        .toList();
  }

  private static CarePlanActivityComponent activity(String kind, String id) {
    CarePlanActivityComponent activity = new CarePlanActivityComponent();
    activity.setId(OURS + kind + id);
    activity.setReference(new Reference("ServiceRequest/" + id));
    return activity;
  }

  private static boolean ours(CarePlanActivityComponent activity) {
    return activity.hasId() && activity.getId().startsWith(OURS);
  }

  private static void goals(CarePlan plan, List<String> goalIds) {
    Set<String> there =
        plan.getGoal().stream().map(Reference::getReference).collect(Collectors.toSet());
    for (String id : goalIds) {
      String reference = "Goal/" + id;
      if (!there.contains(reference)) {
        plan.addGoal(new Reference(reference));
      }
    }
  }

  private static void forecasts(CarePlan plan, List<String> forecastIds) {
    Set<String> there =
        plan.getSupportingInfo().stream().map(Reference::getReference).collect(Collectors.toSet());
    forecastIds.stream()
        .map(id -> "RiskAssessment/" + id)
        .filter(reference -> !there.contains(reference))
        .forEach(reference -> plan.addSupportingInfo(new Reference(reference)));
  }

  /** What another system's activity says about itself. */
  private static String words(Texts texts, CarePlanActivityComponent activity) {
    if (activity.hasReference()) {
      Reference reference = activity.getReference();
      return reference.hasDisplay()
          ? reference.getDisplay()
          : texts.of("plan.other", reference.getReference());
    }
    CarePlanActivityDetailComponent detail = activity.getDetail();
    String words =
        Stream.of(words(detail.getCode()), detail.getDescription())
            .filter(text -> text != null && !text.isBlank())
            .collect(Collectors.joining(": "));
    return words.isEmpty() ? texts.of("plan.other.unnamed") : words;
  }

  private static String words(CodeableConcept concept) {
    return concept.hasText()
        ? concept.getText()
        : concept.getCoding().stream()
            .filter(Coding::hasDisplay)
            .map(Coding::getDisplay)
            .findFirst()
            .orElse("");
  }
}
