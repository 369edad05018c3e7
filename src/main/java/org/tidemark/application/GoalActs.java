package org.tidemark.application;

import jakarta.enterprise.context.ApplicationScoped;
import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import org.hl7.fhir.r4.model.CarePlan;
import org.hl7.fhir.r4.model.Goal;
import org.hl7.fhir.r4.model.Goal.GoalLifecycleStatus;
import org.hl7.fhir.r4.model.Reference;
import org.tidemark.application.Issued.GoalRecord;
import org.tidemark.application.Issued.RangeRecord;
import org.tidemark.application.PlanBook.Saying;
import org.tidemark.application.PlanEngine.Touched;
import org.tidemark.decision.Decision;
import org.tidemark.decision.Fact;
import org.tidemark.decision.GoalReading;
import org.tidemark.decision.GoalReading.Basis;
import org.tidemark.decision.GoalReading.Target;
import org.tidemark.fhir.Codes;
import org.tidemark.fhir.GoalWriter;
import org.tidemark.fhir.PlanIdentity;
import org.tidemark.fhir.Problem;
import org.tidemark.fhir.References;
import org.tidemark.fhir.TargetReader;
import org.tidemark.programme.GoalDefinition;
import org.tidemark.programme.Programme;
import org.tidemark.quantity.Value;

/** Takes in what clinicians set a goal to reach: their word wins over the programme's. */
@ApplicationScoped
class GoalActs {
  private final References references;
  private final Records records;
  private final PlanBook book;
  private final Languages languages;
  private final ClinicClock clock;

  GoalActs(
      References references,
      Records records,
      PlanBook book,
      Languages languages,
      ClinicClock clock) {
    this.references = references;
    this.records = records;
    this.book = book;
    this.languages = languages;
    this.clock = clock;
  }

  /**
   * A goal of a plan.
   *
   * @param plan the plan
   * @param definition which of its programme's goals
   */
  private record Owned(RunningPlan plan, GoalDefinition definition) {}

  /** Goals that nobody pursues set nothing. */
  private static final Set<GoalLifecycleStatus> OVER =
      Set.of(
          GoalLifecycleStatus.COMPLETED,
          GoalLifecycleStatus.CANCELLED,
          GoalLifecycleStatus.ENTEREDINERROR,
          GoalLifecycleStatus.REJECTED);

  /**
   * Refuses a target that cannot be read, and a change of what a plan's Goal is about.
   *
   * @return the Goal as it is kept: where its target stays, with what the service says in it
   */
  Goal admit(Goal goal, Optional<Goal> former) {
    Optional<Owned> owned = former.flatMap(this::owned);
    if (owned.isEmpty()) {
      return goal;
    }
    if (!subject(goal).equals(subject(former.get()))) {
      throw Problem.of(
          Problem.Kind.IMMUTABLE, "The person of a goal does not change.", "Goal.subject");
    }
    requireSame(goal, former.get(), Codes.structure("goal-code"), "Which goal of the programme");
    requireSame(goal, former.get(), Codes.SIDE, "The side of a goal");
    if (goal.getLifecycleStatus() == GoalLifecycleStatus.ENTEREDINERROR) {
      throw Problem.of(
          Problem.Kind.BUSINESS_RULE,
          "A goal belongs to its plan; take back the CarePlan, or set another target.",
          "Goal.lifecycleStatus");
    }
    RunningPlan plan = owned.get().plan();
    GoalDefinition definition = owned.get().definition();
    Optional<Value> set = TargetReader.read(goal, definition, plan.programme());
    return plan.open() && stands(plan, definition, set)
        ? worded(goal, former.get(), plan, definition)
        : goal;
  }

  /** Whether a target is the one that stands already; none set leaves it to the programme. */
  private static boolean stands(
      RunningPlan plan, GoalDefinition definition, Optional<Value> target) {
    Optional<Target> now = GoalReading.read(definition, plan.state()).target();
    boolean byHand = now.filter(known -> known.basis() == Basis.CLINICIAN).isPresent();
    return target.isEmpty() ? !byHand : target.equals(now.map(Target::value));
  }

  /** Whatever a client leaves out of what the service says in a Goal, or says otherwise, stays. */
  private Goal worded(Goal sent, Goal former, RunningPlan plan, GoalDefinition definition) {
    Optional<Decision> last = plan.state().last();
    if (last.isEmpty()) {
      return sent;
    }
    Goal kept = sent.copy();
    kept.setAchievementStatus(former.getAchievementStatus());
    kept.setStatusDateElement(former.getStatusDateElement());
    PlanIdentity identity = languages.forPerson(plan);
    GoalDefinition inItsLanguage =
        identity.programme().goals().get(plan.programme().goals().indexOf(definition));
    return GoalWriter.write(
        identity,
        GoalReading.read(inItsLanguage, plan.state()),
        Optional.ofNullable(plan.issued().ranges().get(definition.code()))
            .map(RangeRecord::figures),
        Optional.of(kept),
        last.get().asOf());
  }

  private static void requireSame(Goal goal, Goal former, String url, String what) {
    if (!values(goal, url).equals(values(former, url))) {
      throw Problem.of(
          Problem.Kind.IMMUTABLE, what + " does not change.", "Goal.extension('" + url + "')");
    }
  }

  private static List<String> values(Goal goal, String url) {
    return goal.getExtensionsByUrl(url).stream()
        .map(extension -> String.valueOf(extension.getValueAsPrimitive().getValueAsString()))
        .toList();
  }

  /** A clinician's target, or its taking back. */
  void follow(Goal goal, Touched touched) {
    Optional<Owned> owned = owned(goal).filter(found -> found.plan().open());
    if (owned.isEmpty()) {
      return;
    }
    RunningPlan plan = owned.get().plan();
    GoalDefinition definition = owned.get().definition();
    Optional<Value> set = TargetReader.read(goal, definition, plan.programme());
    if (stands(plan, definition, set)) {
      return;
    }
    List<Fact> said = new ArrayList<>(book.said(plan.id(), "Goal", goal.getIdPart()));
    said.add(
        new Fact.TargetSet(
            clock.justAfter(plan.state()), Enrolling.source(goal), definition.code(), set));
    touched.says(plan.id(), new Saying(Enrolling.source(goal), said));
  }

  /**
   * Takes over the Goals that a new CarePlan brings for its programme's goals, with their targets.
   * The first for each counts.
   *
   * @throws Problem when a target cannot be read, or a Goal belongs to another person, side or plan
   */
  void adopt(CarePlan carePlan, RunningPlan opened, Fact.Enrolled enrolled, Touched touched) {
    Map<String, GoalRecord> goals = new LinkedHashMap<>();
    Programme programme = opened.programme();
    for (int i = 0; i < carePlan.getGoal().size(); i++) {
      Optional<Goal> found =
          local(carePlan.getGoal().get(i))
              .flatMap(id -> records.findKnown("Goal", id))
              .map(Goal.class::cast)
              .filter(goal -> !OVER.contains(goal.getLifecycleStatus()));
      Optional<GoalDefinition> definition =
          found.flatMap(goal -> TargetReader.definition(goal, programme));
      if (definition.isEmpty() || goals.containsKey(definition.get().code())) {
        continue;
      }
      Goal goal = found.get();
      requireOfPlan(goal, opened, "CarePlan.goal[" + i + "]");
      TargetReader.read(goal, definition.get(), programme)
          .ifPresent(
              value ->
                  touched.says(
                      opened.id(),
                      new Saying(
                          Enrolling.source(goal),
                          List.of(
                              new Fact.TargetSet(
                                  enrolled.at(),
                                  Enrolling.source(goal),
                                  definition.get().code(),
                                  Optional.of(value))))));
      goals.put(definition.get().code(), new GoalRecord(goal.getIdPart(), ""));
    }
    if (!goals.isEmpty()) {
      book.save(opened.with(opened.issued().withGoals(goals)));
    }
  }

  private void requireOfPlan(Goal goal, RunningPlan plan, String path) {
    if (!subject(goal).equals(plan.subject())) {
      throw Problem.of(Problem.Kind.BUSINESS_RULE, "The goal is another person's.", path);
    }
    if (owned(goal).isPresent()) {
      throw Problem.of(Problem.Kind.BUSINESS_RULE, "The goal is another plan's.", path);
    }
    if (values(goal, Codes.SIDE).stream().anyMatch(side -> !side.equals(plan.side().code()))) {
      throw Problem.of(Problem.Kind.BUSINESS_RULE, "The goal is the other side's.", path);
    }
  }

  private Optional<String> local(Reference reference) {
    String normal = references.normal(reference.getReference());
    return normal != null && normal.startsWith("Goal/")
        ? Optional.of(normal.substring("Goal/".length()))
        : Optional.empty();
  }

  private Optional<Owned> owned(Goal goal) {
    for (RunningPlan plan : book.ofSubject(subject(goal))) {
      for (GoalDefinition definition : plan.programme().goals()) {
        GoalRecord record = plan.issued().goals().get(definition.code());
        if (record != null && record.id().equals(goal.getIdPart())) {
          return Optional.of(new Owned(plan, definition));
        }
      }
    }
    return Optional.empty();
  }

  private String subject(Goal goal) {
    return references.normal(goal.getSubject().getReference());
  }
}
