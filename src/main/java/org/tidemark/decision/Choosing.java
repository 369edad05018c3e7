package org.tidemark.decision;

import java.math.BigDecimal;
import java.math.RoundingMode;
import java.util.ArrayList;
import java.util.List;
import java.util.Optional;
import org.tidemark.decision.Change.Considered;
import org.tidemark.decision.Change.Piece;
import org.tidemark.demand.Ratio;
import org.tidemark.programme.Condition;
import org.tidemark.programme.Direction;
import org.tidemark.programme.Dose;
import org.tidemark.programme.DoseLadder;
import org.tidemark.programme.Exercise;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.ProgressionVariable;
import org.tidemark.programme.Setting;
import org.tidemark.programme.Source;
import org.tidemark.programme.Stage;
import org.tidemark.programme.Variation;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Value;

/**
 * Chooses the one thing that is made harder. In order: the dose up to its base; the first variable
 * of the programme whose next feasible value asks no more than the cap; more dose, where the next
 * step is too big; that step bridged by easing; the next stage once the lead exercise has no
 * further step. What was weighed and not taken is kept with why.
 */
final class Choosing {

  /**
   * What came of it.
   *
   * @param change the change, if there is one
   * @param lines what would stand after it
   * @param considered what was weighed and not taken
   * @param reason why there is no change; {@link Reason#SETTLED} when there is one
   * @param finished whether the programme has no further step for the lead exercise
   * @param demand what the change asks beside what is in force, where that can be told
   */
  record Choice(
      Optional<Change> change,
      List<Line> lines,
      List<Considered> considered,
      Reason reason,
      boolean finished,
      Optional<Ratio> demand) {}

  /**
   * A step of one variable.
   *
   * @param variable the variable
   * @param change the step as a change
   * @param setting where it leads
   * @param demand what it asks beside what is in force, where that can be told
   */
  private record Step(
      ProgressionVariable variable, Change change, Setting setting, Optional<Ratio> demand) {}

  /** No larger step is looked for when equipment is missing. */
  private static final int MOST_UNITS = 20;

  private final Surroundings around;
  private final List<Line> lines;
  private final Line line;
  private final Prescription now;
  private final Exercise exercise;
  private final Variation variation;
  private final List<Considered> considered = new ArrayList<>();
  private final List<Step> tooBig = new ArrayList<>();

  private Choosing(Surroundings around, List<Line> lines, Line line) {
    this.around = around;
    this.lines = lines;
    this.line = line;
    this.now = line.prescription();
    this.exercise = around.exercise(now);
    this.variation = exercise.variation();
  }

  /**
   * Chooses the next change of one exercise.
   *
   * @param lines everything that stands
   * @param line the exercise whose turn it is, one of {@code lines}
   */
  static Choice choose(Surroundings around, List<Line> lines, Line line) {
    return new Choosing(around, lines, line).choose();
  }

  private Choice choose() {
    DoseLadder ladder = variation.ladder();
    if (ladder.isBelowBase(now.dose()) && ladder.up(now.dose()).isPresent()) {
      return dose(ladder.up(now.dose()).get());
    }
    boolean exhausted = true;
    for (ProgressionVariable variable : exercise.progressing()) {
      Value value = now.setting().get(variable.code());
      if (value == null || variable.reachesGoal(value)) {
        continue;
      }
      Optional<Value> next = around.harder(variable, value).filter(v -> !beyondGoal(variable, v));
      if (next.isEmpty()) {
        exhausted &= noFurther(variable, value);
        continue;
      }
      exhausted = false;
      Change change = change(variable, value, next.get(), List.of());
      Setting setting = now.setting().with(variable.code(), next.get());
      if (!around.hold(variable.requires())) {
        considered.add(Considered.of(change, Reason.REQUIREMENT_NOT_MET));
        continue;
      }
      if (!around.allows(variation, setting)) {
        considered.add(Considered.of(change, Reason.PRECAUTION_LIMITS));
        continue;
      }
      Step step = new Step(variable, change, setting, demand(setting));
      if (comfortable(variable, value, next.get()) && !around.exceeds(step.demand(), variable)) {
        return taken(step);
      }
      considered.add(
          new Considered(change, Reason.STEP_TOO_BIG, between(variable, value), step.demand()));
      tooBig.add(step);
    }
    if (!tooBig.isEmpty()) {
      return ladder.up(now.dose()).map(this::dose).orElseGet(this::bridge);
    }
    if (exhausted) {
      return line.role() == Exercise.Role.LEAD ? nextStage() : none(Reason.NOTHING_NEW, false);
    }
    return none(
        considered.isEmpty() ? Reason.NO_FEASIBLE_CHANGE : considered.get(0).why(),
        asFarAsItGoes());
  }

  private Optional<Ratio> demand(Setting setting) {
    return around.demand(variation, now.setting(), setting);
  }

  /**
   * Whether all that is left, in the last stage, asks for something the person has not shown: the
   * programme then ends here for this person.
   */
  private boolean asFarAsItGoes() {
    return line.role() == Exercise.Role.LEAD
        && around.programme().stageAfter(now.stage()).isEmpty()
        && !considered.isEmpty()
        && considered.stream().allMatch(other -> other.why() == Reason.REQUIREMENT_NOT_MET);
  }

  private boolean beyondGoal(ProgressionVariable variable, Value value) {
    return variable.goal().isPresent() && variable.compare(value, variable.goal().get()) > 0;
  }

  /**
   * Nothing harder can be made: that is the end of the variable, unless its goal still lies ahead.
   */
  private boolean noFurther(ProgressionVariable variable, Value value) {
    if (variable.goal().isEmpty()) {
      return true;
    }
    Change wanted = change(variable, value, variable.goal().get(), List.of());
    considered.add(
        new Considered(
            wanted, Reason.NO_FEASIBLE_CHANGE, between(variable, value), Optional.empty()));
    return false;
  }

  private static boolean comfortable(ProgressionVariable variable, Value from, Value to) {
    return !(from instanceof Amount a && to instanceof Amount b)
        || variable.comfortableStep().map(most -> !a.distanceTo(b).isAbove(most)).orElse(true);
  }

  private Choice dose(Dose more) {
    Change change =
        new Change(
            Change.Kind.DOSE,
            variation.code(),
            "",
            describe(now.dose()),
            describe(more),
            List.of());
    return taken(change, now.setting(), more, Optional.empty());
  }

  /** With the dose at its top: the first step that easing brings under its cap. */
  private Choice bridge() {
    return tooBig.stream()
        .flatMap(step -> eased(step).stream())
        .findFirst()
        .map(this::taken)
        .orElseGet(() -> none(Reason.STEP_TOO_BIG, false));
  }

  /**
   * A step with one variable eased, by as little as brings it under the cap; by one value where its
   * demand cannot be told.
   */
  private Optional<Step> eased(Step step) {
    for (ProgressionVariable help : easingOrder()) {
      Value value = now.setting().get(help.code());
      if (help.equals(step.variable()) || value == null) {
        continue;
      }
      Optional<Value> easier = around.easier(help, value);
      while (easier.isPresent()) {
        Setting setting = step.setting().with(help.code(), easier.get());
        Change change =
            change(
                step.variable(),
                now.setting().get(step.variable().code()),
                setting.get(step.variable().code()),
                List.of(help.code()));
        Step bridged = new Step(step.variable(), change, setting, demand(setting));
        if (around.allows(variation, setting)
            && !around.exceeds(bridged.demand(), step.variable())) {
          return Optional.of(bridged);
        }
        easier = around.easier(help, easier.get());
      }
    }
    return Optional.empty();
  }

  /**
   * The variables that this stage makes harder, the last first: what was won last is given back
   * first.
   */
  private List<ProgressionVariable> easingOrder() {
    List<ProgressionVariable> order = new ArrayList<>(exercise.progressing());
    java.util.Collections.reverse(order);
    return order;
  }

  private Choice nextStage() {
    Optional<Stage> next = around.programme().stageAfter(now.stage());
    if (next.isEmpty()) {
      return none(Reason.NOTHING_NEW, true);
    }
    Change change =
        new Change(
            Change.Kind.STAGE, variation.code(), "", now.stage(), next.get().code(), List.of());
    if (!around.hold(next.get().conditions())) {
      return refused(
          new Considered(
              change, Reason.REQUIREMENT_NOT_MET, notOwned(next.get()), Optional.empty()));
    }
    Optional<List<Line>> begun = around.begin(next.get(), lines).map(this::withAccessories);
    if (begun.isEmpty()) {
      return refused(Considered.of(change, Reason.NO_FEASIBLE_CHANGE));
    }
    if (!around.forbidding(begun.get()).isEmpty()) {
      return refused(Considered.of(change, Reason.PRECAUTION_LIMITS));
    }
    Optional<Setting> goesOn =
        begun.get().stream()
            .map(Line::prescription)
            .filter(first -> first.variation().equals(now.variation()))
            .map(Prescription::setting)
            .findFirst();
    Optional<Ratio> demand = goesOn.flatMap(this::demand);
    if (demand
        .filter(ratio -> ratio.high() > around.programme().demandCap().doubleValue())
        .isPresent()) {
      Considered big =
          new Considered(change, Reason.STEP_TOO_BIG, firstPiece(goesOn.get()), demand);
      Optional<Dose> more = variation.ladder().up(now.dose());
      if (more.isEmpty()) {
        return refused(big);
      }
      considered.add(big);
      return dose(more.get());
    }
    return new Choice(
        Optional.of(change), begun.get(), List.copyOf(considered), Reason.SETTLED, false, demand);
  }

  /** The first piece of equipment that a stage asks for and that the exercise would be set to. */
  private Optional<Piece> notOwned(Stage stage) {
    return stage.conditions().stream()
        .filter(Condition.Owns.class::isInstance)
        .map(condition -> ((Condition.Owns) condition).item())
        .filter(item -> !around.equipment().has(item))
        .flatMap(item -> variation.variables().stream().filter(variable -> takes(variable, item)))
        .filter(variable -> now.setting().get(variable.code()) != null)
        .flatMap(variable -> between(variable, now.setting().get(variable.code())).stream())
        .findFirst();
  }

  private static boolean takes(ProgressionVariable variable, String item) {
    return variable.source() instanceof Source.OneOf one && one.item().equals(item);
  }

  /** What was added at a stall goes on beside what a stage begins with. */
  private List<Line> withAccessories(List<Line> begun) {
    List<Line> all = new ArrayList<>(begun);
    lines.stream()
        .filter(other -> other.role() == Exercise.Role.ACCESSORY)
        .map(other -> other.anew(around.at()))
        .forEach(all::add);
    return all;
  }

  /** The piece of equipment that would make the beginning of a stage a smaller step. */
  private Optional<Piece> firstPiece(Setting first) {
    return variation.variables().stream()
        .filter(variable -> now.setting().get(variable.code()) != null)
        .filter(variable -> !now.setting().get(variable.code()).equals(first.get(variable.code())))
        .flatMap(variable -> between(variable, now.setting().get(variable.code())).stream())
        .findFirst();
  }

  private Choice refused(Considered weighed) {
    considered.add(weighed);
    return none(weighed.why(), false);
  }

  /** A harder setting starts with the base dose again. */
  private Choice taken(Step step) {
    return taken(step.change(), step.setting(), easedDose(now.dose()), step.demand());
  }

  private Choice taken(Change change, Setting setting, Dose dose, Optional<Ratio> demand) {
    Prescription next = new Prescription(now.stage(), now.variation(), setting, dose);
    List<Line> after =
        lines.stream()
            .map(other -> other == line ? other.set(next, around.at()) : other.anew(around.at()))
            .toList();
    return new Choice(
        Optional.of(change), after, List.copyOf(considered), Reason.SETTLED, false, demand);
  }

  private Choice none(Reason reason, boolean finished) {
    return new Choice(
        Optional.empty(), lines, List.copyOf(considered), reason, finished, Optional.empty());
  }

  private Dose easedDose(Dose dose) {
    Dose base = variation.ladder().baseDose();
    return dose.volume() > base.volume() ? base.timesPerWeek(dose.timesPerWeek()) : dose;
  }

  private Change change(ProgressionVariable variable, Value from, Value to, List<String> eased) {
    return new Change(
        Change.Kind.VARIABLE,
        variation.code(),
        variable.code(),
        Change.text(from),
        Change.text(to),
        eased);
  }

  static String describe(Dose dose) {
    StringBuilder text = new StringBuilder().append(dose.sets());
    if (dose.repetitions() > 0) {
      text.append(" × ").append(dose.repetitions());
    }
    if (dose.holdSeconds() > 0) {
      text.append(" × ").append(dose.holdSeconds()).append(" s held");
    }
    if (dose.timeSeconds() > 0) {
      text.append(" × ").append(dose.timeSeconds()).append(" s");
    }
    return text.toString();
  }

  /** The piece of equipment that would make the next step comfortable, where one could. */
  private Optional<Piece> between(ProgressionVariable variable, Value value) {
    if (!(value instanceof Amount from)) {
      return Optional.empty();
    }
    if (variable.source() instanceof Source.OneOf one) {
      return Optional.of(new Piece(one.item(), nextSize(variable, from)));
    }
    List<String> items =
        variable.source() instanceof Source.Stack stack
            ? stack.items()
            : variable.source() instanceof Source.Stairs stairs ? stairs.items() : List.of();
    Optional<Amount> target =
        nearest(variable, from).or(() -> withinCap(variable, from)).or(variable::goal);
    if (items.isEmpty() || target.isEmpty()) {
      return Optional.empty();
    }
    Amount wanted = target.get();
    Amount base =
        variable.source().values(around.equipment()).stream()
            .map(Amount.class::cast)
            .filter(known -> known.isBelow(wanted))
            .max(Amount::compareTo)
            .orElse(Amount.zero(from.unit()));
    Amount size = wanted.minus(base);
    return size.value().signum() > 0
        ? Optional.of(new Piece(items.get(0), rounded(size, BigDecimal.ONE)))
        : Optional.empty();
  }

  /** The end of a comfortable step, where the variable says how large one is. */
  private static Optional<Amount> nearest(ProgressionVariable variable, Amount from) {
    return variable.comfortableStep().map(step -> moved(variable, from, step));
  }

  private static Amount moved(ProgressionVariable variable, Amount from, Amount step) {
    return variable.harder() == Direction.DECREASE ? from.minus(step) : from.plus(step);
  }

  /** The end of the largest step of whole units that asks no more than the cap. */
  private Optional<Amount> withinCap(ProgressionVariable variable, Amount from) {
    Optional<Amount> found = Optional.empty();
    for (int units = 1; units <= MOST_UNITS; units++) {
      Amount to = moved(variable, from, Amount.of(units, from.unit()));
      boolean within =
          to.value().signum() >= 0
              && demand(now.setting().with(variable.code(), to))
                  .filter(ratio -> ratio.high() <= around.cap(variable).doubleValue())
                  .isPresent();
      if (!within) {
        return found;
      }
      found = Optional.of(to);
    }
    return found;
  }

  /**
   * A tenth more than now, the most that the dose literature allows in one step (ACSM 2009), to the
   * next half unit; one unit where there is nothing yet.
   */
  private static Amount nextSize(ProgressionVariable variable, Amount from) {
    if (from.isZero()) {
      return Amount.of(1, from.unit());
    }
    BigDecimal tenth = from.value().multiply(new BigDecimal("0.1"));
    BigDecimal size =
        variable.harder() == Direction.INCREASE
            ? from.value().add(tenth)
            : from.value().subtract(tenth);
    return rounded(new Amount(size, from.unit()), new BigDecimal("0.5"));
  }

  private static Amount rounded(Amount amount, BigDecimal to) {
    return new Amount(
        amount.value().divide(to, 0, RoundingMode.CEILING).multiply(to), amount.unit());
  }
}
