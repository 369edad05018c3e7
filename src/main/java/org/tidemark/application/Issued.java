package org.tidemark.application;

import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.function.BinaryOperator;
import java.util.function.UnaryOperator;
import org.tidemark.decision.RangeFigures;
import org.tidemark.programme.Prescription;

/**
 * What has been issued for a plan and still stands.
 *
 * @param orders the prescriptions in force or on hold
 * @param waiting the proposal that waits for a clinician
 * @param goals the goals, by their code
 * @param ranges how the ranges that the goals are about have gone, by the code of the goal
 * @param concern the warning that has been raised
 * @param review id of the Task that asks a clinician to look, while it is open
 * @param carePlan what the CarePlan was last written from
 * @param before what was in force before it was made easier, until something is made harder again;
 *     empty when nothing was made easier since
 */
record Issued(
    List<Order> orders,
    Optional<Waiting> waiting,
    Map<String, GoalRecord> goals,
    Map<String, RangeRecord> ranges,
    Optional<Concern> concern,
    Optional<String> review,
    String carePlan,
    List<Prescription> before) {
  static final Issued NOTHING =
      new Issued(
          List.of(),
          Optional.empty(),
          Map.of(),
          Map.of(),
          Optional.empty(),
          Optional.empty(),
          "",
          List.of());

  /**
   * A prescription that was issued.
   *
   * @param id id of its ServiceRequest
   * @param prescription what it asks
   * @param status the status it was given, as a code
   */
  record Order(String id, Prescription prescription, String status) {}

  /**
   * A proposal that waits.
   *
   * @param proposals its ServiceRequests, by id
   * @param full everything that would be in force, the unchanged prescriptions included
   * @param task id of the Task that asks for the sign-off
   */
  record Waiting(List<Order> proposals, List<Prescription> full, String task) {}

  /**
   * A goal that was written.
   *
   * @param id id of the Goal
   * @param from what it was written from
   */
  record GoalRecord(String id, String from) {}

  /**
   * A range that was looked at.
   *
   * @param forecast id of the RiskAssessment
   * @param from what it was made from
   * @param figures what came of it
   */
  record RangeRecord(String forecast, String from, RangeFigures figures) {}

  /**
   * A warning that was raised.
   *
   * @param warnings the codes of its signs
   * @param issue id of the DetectedIssue
   * @param task id of the Task
   */
  record Concern(List<String> warnings, String issue, String task) {}

  Issued withOrders(List<Order> others) {
    return new Issued(others, waiting, goals, ranges, concern, review, carePlan, before);
  }

  Issued withWaiting(Optional<Waiting> other) {
    return new Issued(orders, other, goals, ranges, concern, review, carePlan, before);
  }

  Issued withGoals(Map<String, GoalRecord> others) {
    return new Issued(orders, waiting, others, ranges, concern, review, carePlan, before);
  }

  Issued withRanges(Map<String, RangeRecord> others) {
    return new Issued(orders, waiting, goals, others, concern, review, carePlan, before);
  }

  Issued withConcern(Optional<Concern> other) {
    return new Issued(orders, waiting, goals, ranges, other, review, carePlan, before);
  }

  Issued withReview(Optional<String> other) {
    return new Issued(orders, waiting, goals, ranges, concern, other, carePlan, before);
  }

  Issued withCarePlan(String other) {
    return new Issued(orders, waiting, goals, ranges, concern, review, other, before);
  }

  Issued withBefore(List<Prescription> others) {
    return new Issued(orders, waiting, goals, ranges, concern, review, carePlan, others);
  }

  /**
   * The same under other ids.
   *
   * @param id the other id of a record, given its type and id
   */
  Issued under(BinaryOperator<String> id) {
    return new Issued(
        orders(orders, id),
        waiting.map(
            w -> new Waiting(orders(w.proposals(), id), w.full(), id.apply("Task", w.task()))),
        each(goals, g -> new GoalRecord(id.apply("Goal", g.id()), g.from())),
        each(
            ranges,
            r -> new RangeRecord(id.apply("RiskAssessment", r.forecast()), r.from(), r.figures())),
        concern.map(
            c ->
                new Concern(
                    c.warnings(),
                    id.apply("DetectedIssue", c.issue()),
                    id.apply("Task", c.task()))),
        review.map(task -> id.apply("Task", task)),
        "",
        before);
  }

  private static List<Order> orders(List<Order> orders, BinaryOperator<String> id) {
    return orders.stream()
        .map(o -> new Order(id.apply("ServiceRequest", o.id()), o.prescription(), o.status()))
        .toList();
  }

  private static <T> Map<String, T> each(Map<String, T> all, UnaryOperator<T> change) {
    Map<String, T> changed = new LinkedHashMap<>();
    all.forEach((code, one) -> changed.put(code, change.apply(one)));
    return changed;
  }
}
