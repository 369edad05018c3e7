package org.tidemark.decision;

import java.time.OffsetDateTime;
import java.util.ArrayList;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import java.util.TreeMap;
import java.util.TreeSet;
import org.tidemark.programme.Equipment;
import org.tidemark.programme.Precaution;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.Side;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Unit;
import org.tidemark.quantity.Value;
import org.tidemark.response.ResponsePolicy;
import org.tidemark.trend.MeasuringMethod;
import org.tidemark.trend.Reading;

/**
 * One plan folded up to its newest fact. Its size does not grow with the length of the history.
 *
 * @param horizon the newest fact that is folded in; empty at the very start
 * @param person what is known of the person and the home
 * @param enrolment how the plan is run, once it has begun
 * @param standing what stands
 * @param diary the recent sessions and mornings
 * @param control what keeps the plan from going on by itself
 * @param stall what is known of a stall of range
 * @param last the last decision
 * @param because the decision that made what stands as it is
 */
public record PlanState(
    Optional<Horizon> horizon,
    Person person,
    Optional<Enrolment> enrolment,
    Standing standing,
    Diary diary,
    Control control,
    Stall stall,
    Optional<Decision> last,
    Optional<Decision> because) {

  /** A plan of which nothing is known. */
  public static final PlanState EMPTY =
      new PlanState(
          Optional.empty(),
          Person.UNKNOWN,
          Optional.empty(),
          Standing.NONE,
          Diary.EMPTY,
          Control.FREE,
          Stall.NONE,
          Optional.empty(),
          Optional.empty());

  /** The prescriptions in force. */
  public List<Prescription> inForce() {
    return last.map(Decision::inForce).orElse(List.of());
  }

  PlanState with(Person other) {
    return new PlanState(horizon, other, enrolment, standing, diary, control, stall, last, because);
  }

  PlanState with(Enrolment other) {
    return new PlanState(
        horizon, person, Optional.of(other), standing, diary, control, stall, last, because);
  }

  PlanState with(Standing other) {
    return new PlanState(horizon, person, enrolment, other, diary, control, stall, last, because);
  }

  PlanState with(Diary other) {
    return new PlanState(
        horizon, person, enrolment, standing, other, control, stall, last, because);
  }

  PlanState with(Control other) {
    return new PlanState(horizon, person, enrolment, standing, diary, other, stall, last, because);
  }

  PlanState with(Stall other) {
    return new PlanState(
        horizon, person, enrolment, standing, diary, control, other, last, because);
  }

  PlanState at(Fact newest) {
    Horizon reached = new Horizon(newest.at(), newest.rank(), newest.source());
    return new PlanState(
        Optional.of(reached), person, enrolment, standing, diary, control, stall, last, because);
  }

  PlanState decided(Decision decision, boolean standingChanged) {
    Optional<Decision> reason =
        standingChanged || because.isEmpty() ? Optional.of(decision) : because;
    return new PlanState(
        horizon, person, enrolment, standing, diary, control, stall, Optional.of(decision), reason);
  }

  /** Whether a fact comes after everything that is folded in, so that it can be folded next. */
  public boolean isFollowedBy(Fact fact) {
    return horizon.isEmpty() || horizon.get().isBefore(fact);
  }

  /**
   * The place of the newest folded fact in clinical order.
   *
   * @param at its time
   * @param rank its rank among facts of one moment
   * @param source where it was read
   */
  public record Horizon(OffsetDateTime at, int rank, FactSource source) {
    boolean isBefore(Fact fact) {
      int byTime = at.toInstant().compareTo(fact.at().toInstant());
      int byRank = byTime != 0 ? byTime : Integer.compare(rank, fact.rank());
      return (byRank != 0 ? byRank : source.compareTo(fact.source())) <= 0;
    }
  }

  /**
   * What is known of the person and the home.
   *
   * @param items the newest value of each recorded item, by its code
   * @param first the first amount of each recorded item, to compare later ones with
   * @param equipment what the person has
   * @param precautions every limit that was set, in force or not
   * @param sources where the baseline, the equipment and the precautions were read
   * @param baselineAt when the newest baseline was taken
   * @param angles the readings of each angle of the body by code of the item, earliest first: the
   *     first one and the newest
   * @param targets what a clinician has set to be reached, by code of the goal
   */
  public record Person(
      Map<String, Value> items,
      Map<String, Amount> first,
      Equipment equipment,
      List<Precaution> precautions,
      List<FactSource> sources,
      Optional<OffsetDateTime> baselineAt,
      Map<String, List<Angle>> angles,
      Map<String, Value> targets) {
    static final Person UNKNOWN =
        new Person(
            Map.of(),
            Map.of(),
            Equipment.NONE,
            List.of(),
            List.of(),
            Optional.empty(),
            Map.of(),
            Map.of());

    /** The most sources that are kept: a person has a handful. */
    private static final int MOST_SOURCES = 32;

    /** The most readings of one angle that are kept: two years of one a week. */
    static final int MOST_READINGS = 104;

    /**
     * With newer values of some items.
     *
     * @param alternatives groups of items that answer one question: a newer answer by one of them
     *     ends the older answers by the others
     */
    private Person knowing(Map<String, Value> newer, List<List<String>> alternatives) {
      Map<String, Value> all = new TreeMap<>(items);
      alternatives.stream()
          .filter(group -> group.stream().anyMatch(newer::containsKey))
          .forEach(all.keySet()::removeAll);
      all.putAll(newer);
      Map<String, Amount> firsts = new TreeMap<>(first);
      newer.forEach(
          (code, value) -> {
            if (value instanceof Amount amount) {
              firsts.putIfAbsent(code, amount);
            }
          });
      return new Person(all, firsts, equipment, precautions, sources, baselineAt, angles, targets);
    }

    Person measured(Fact.Measured fact, List<List<String>> alternatives) {
      Map<String, Value> item = Map.of(fact.item(), fact.amount());
      return knowing(item, alternatives).reading(fact, item, fact.method(), fact.rater());
    }

    Person baseline(Fact.BaselineTaken fact, List<List<String>> alternatives) {
      Person known =
          knowing(fact.items(), alternatives)
              .reading(fact, fact.items(), fact.method(), fact.rater());
      return new Person(
          known.items,
          known.first,
          equipment,
          precautions,
          plus(fact.source()),
          Optional.of(fact.at()),
          known.angles,
          targets);
    }

    /** With the angles among some items read. */
    private Person reading(Fact fact, Map<String, Value> newer, String method, String rater) {
      Map<String, List<Angle>> all = new TreeMap<>(angles);
      newer.forEach(
          (code, value) -> {
            if (value instanceof Amount angle && angle.unit() == Unit.DEGREE) {
              List<Angle> readings = new ArrayList<>(all.getOrDefault(code, List.of()));
              if (readings.size() >= MOST_READINGS) {
                readings.remove(1);
              }
              Reading reading =
                  new Reading(
                      fact.at(),
                      angle.value().doubleValue(),
                      MeasuringMethod.of(method),
                      Optional.of(rater).filter(name -> !name.isBlank()));
              readings.add(new Angle(fact.source(), reading));
              all.put(code, List.copyOf(readings));
            }
          });
      return new Person(items, first, equipment, precautions, sources, baselineAt, all, targets);
    }

    Person owning(Fact.EquipmentListed fact) {
      return new Person(
          items,
          first,
          fact.equipment(),
          precautions,
          plus(fact.source()),
          baselineAt,
          angles,
          targets);
    }

    Person limited(Fact.PrecautionSet fact) {
      List<Precaution> all = new ArrayList<>(precautions);
      all.add(fact.precaution());
      return new Person(
          items, first, equipment, all, plus(fact.source()), baselineAt, angles, targets);
    }

    Person aiming(Fact.TargetSet fact) {
      Map<String, Value> all = new TreeMap<>(targets);
      fact.target()
          .ifPresentOrElse(target -> all.put(fact.goal(), target), () -> all.remove(fact.goal()));
      return new Person(items, first, equipment, precautions, sources, baselineAt, angles, all);
    }

    private List<FactSource> plus(FactSource source) {
      List<FactSource> all = new ArrayList<>(sources);
      all.add(source);
      return all.size() > MOST_SOURCES ? all.subList(1, all.size()) : all;
    }
  }

  /**
   * An angle of the body that was read.
   *
   * @param source where
   * @param reading what it was
   */
  public record Angle(FactSource source, Reading reading) {}

  /** How a plan is run. */
  public record Enrolment(
      OffsetDateTime at,
      FactSource source,
      Side side,
      ResponsePolicy policy,
      ChangeControl control) {}

  /**
   * What stands.
   *
   * @param lines the exercises
   * @param path the upward changes that led here, the newest last
   * @param factors how many times the usual evidence a change needs that failed before, by its key
   * @param epoch how many times what stands has changed
   */
  public record Standing(
      List<Line> lines, List<UpwardChange> path, Map<String, Integer> factors, int epoch) {
    static final Standing NONE = new Standing(List.of(), List.of(), Map.of(), 0);

    /** The most that a failed change can ask for (common practice). */
    private static final int MOST_FACTOR = 8;

    /** The most changes that can be undone one after the other. */
    private static final int LONGEST_PATH = 64;

    boolean empty() {
      return lines.isEmpty();
    }

    List<Prescription> prescriptions() {
      return lines.stream().map(Line::prescription).toList();
    }

    Standing lines(List<Line> others) {
      return new Standing(others, path, factors, epoch);
    }

    /** Other exercises, with the path that leads to them. */
    Standing changed(List<Line> others, List<UpwardChange> otherPath) {
      List<UpwardChange> kept =
          otherPath.size() > LONGEST_PATH
              ? otherPath.subList(otherPath.size() - LONGEST_PATH, otherPath.size())
              : otherPath;
      return new Standing(others, kept, factors, epoch + 1);
    }

    int factor(Change change) {
      return factors.getOrDefault(change.key(), 1);
    }

    Standing failed(Change change) {
      return factor(change, Math.min(MOST_FACTOR, factor(change) * 2));
    }

    /**
     * The newest upward change has proved itself: it is remembered as such and its factor is
     * halved.
     */
    Standing proven() {
      UpwardChange newest = path.get(path.size() - 1);
      List<UpwardChange> marked = new ArrayList<>(path.subList(0, path.size() - 1));
      marked.add(new UpwardChange(newest.change(), newest.before(), true));
      Standing halved = factor(newest.change(), Math.max(1, factor(newest.change()) / 2));
      return new Standing(lines, marked, halved.factors, epoch);
    }

    boolean unproven() {
      return !path.isEmpty() && !path.get(path.size() - 1).proven();
    }

    private Standing factor(Change change, int factor) {
      Map<String, Integer> all = new TreeMap<>(factors);
      if (factor == 1) {
        all.remove(change.key());
      } else {
        all.put(change.key(), factor);
      }
      return new Standing(lines, path, all, epoch);
    }
  }

  /**
   * An upward change that can be undone.
   *
   * @param change the change
   * @param before what stood before it
   * @param proven whether enough settled sessions have followed it
   */
  public record UpwardChange(Change change, List<Line> before, boolean proven) {}

  /**
   * What keeps the plan from going on by itself.
   *
   * @param withheld why exercise is withheld until a clinician looks; empty when it is not
   * @param warnings the warning signs that are open
   * @param sources where they were read
   * @param awaiting the change that waits for a clinician, with what it would lead to
   * @param held whether the plan is on hold
   * @param reassess whether a new baseline is needed
   * @param completed whether every goal has been met and held
   */
  public record Control(
      Set<Reason> withheld,
      Set<Warning> warnings,
      List<FactSource> sources,
      Optional<Awaiting> awaiting,
      boolean held,
      boolean reassess,
      boolean completed) {
    static final Control FREE =
        new Control(Set.of(), Set.of(), List.of(), Optional.empty(), false, false, false);

    Control warned(Fact.WarningRaised fact) {
      Set<Warning> all = new TreeSet<>(warnings);
      all.addAll(fact.warnings());
      List<FactSource> from = new ArrayList<>(sources);
      from.add(fact.source());
      if (from.size() > Person.MOST_SOURCES) {
        from.remove(0);
      }
      return new Control(withheld, all, from, Optional.empty(), held, reassess, completed);
    }

    Control withheldFor(Set<Reason> reasons) {
      Set<Reason> all = new TreeSet<>(withheld);
      all.addAll(reasons);
      return new Control(all, warnings, sources, Optional.empty(), held, reassess, completed);
    }

    /** A clinician has looked. */
    Control resumed() {
      return new Control(Set.of(), Set.of(), List.of(), awaiting, held, reassess, completed);
    }

    Control awaiting(Optional<Awaiting> other) {
      return new Control(withheld, warnings, sources, other, held, reassess, completed);
    }

    Control held(boolean other) {
      return new Control(withheld, warnings, sources, awaiting, other, reassess, completed);
    }

    Control reassess(boolean other) {
      return new Control(withheld, warnings, sources, awaiting, held, other, completed);
    }

    Control completed(boolean other) {
      return new Control(withheld, warnings, sources, awaiting, held, reassess, other);
    }
  }

  /**
   * What is known of a stall of range.
   *
   * @param tried the codes of the programme's options that a clinician has accepted or refused
   * @param lookedAt the newest reading at which the trend was looked at
   * @param since since when range had stood still then; empty when it had not
   */
  public record Stall(
      Set<String> tried, Optional<OffsetDateTime> lookedAt, Optional<OffsetDateTime> since) {
    static final Stall NONE = new Stall(Set.of(), Optional.empty(), Optional.empty());

    Stall trying(String option) {
      Set<String> all = new TreeSet<>(tried);
      all.add(option);
      return new Stall(all, lookedAt, since);
    }
  }

  /**
   * A change that waits for a clinician.
   *
   * @param change the change
   * @param lines what would stand
   */
  public record Awaiting(Change change, List<Line> lines) {
    List<Prescription> prescriptions() {
      return lines.stream().map(Line::prescription).toList();
    }
  }
}
