package org.tidemark.cohort;

import java.util.Arrays;
import java.util.EnumMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.OptionalInt;
import java.util.stream.Collectors;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.Programme;
import org.tidemark.programme.Stage;
import org.tidemark.response.Response;
import org.tidemark.response.ResponsePolicy;

/**
 * One person's days under one policy. What is counted is what was truly felt, by the rule for
 * symptoms of the default policy, whatever was reported and whatever the policy under test makes of
 * it.
 */
final class Life {
  private static final int EPISODE_DAYS = 7;
  private static final int FLARE_DAYS = 14;

  private final Programme programme;
  private final Person person;
  private final Policy policy;
  private final Policy.Course course;
  private final TrueDemand demand;
  private final Knee knee;
  private final Milestone goal;
  private final Milestone lastGoal;
  private final List<String> stages;
  private final Map<HeldUp, int[]> heldUp = new EnumMap<>(HeldUp.class);

  private Optional<Felt> yesterday = Optional.empty();
  private Optional<Judged> waiting = Optional.empty();
  private List<Prescription> doneYesterday = List.of();
  private Woken woken = new Woken(0, false, false);
  private boolean resting;
  private int awayUntil;
  private int lastFlare = -1_000;
  private double hardest = Double.NEGATIVE_INFINITY;
  private int furthest;
  private int stage;
  private int steps;

  private int sessions;
  private int flares;
  private int episodes;
  private int soreMornings;
  private int withheld;
  private int eased;
  private OptionalInt goalDay = OptionalInt.empty();
  private OptionalInt lastGoalDay = OptionalInt.empty();

  /** A session that was sore the next morning, until the second morning has told its part. */
  private record Judged(Felt felt, Woken morning) {}

  private Life(Programme programme, Person person, Policy policy, TrueDemand demand) {
    this.programme = programme;
    this.person = person;
    this.policy = policy;
    this.demand = demand;
    this.knee = new Knee(person.traits(), demand);
    this.course = policy.begin(programme, person);
    this.goal = Milestone.beforeLast(programme);
    this.lastGoal = Milestone.last(programme);
    this.stages = programme.stages().stream().map(Stage::code).toList();
  }

  /** Empty when the baseline leads to no start, which is a clinician's case. */
  static Optional<Outcome> live(
      Programme programme, Person person, Policy policy, TrueDemand demand, int weeks) {
    Life life = new Life(programme, person, policy, demand);
    return life.course.asked().isEmpty() ? Optional.empty() : Optional.of(life.live(weeks));
  }

  private Outcome live(int weeks) {
    int days = 7 * weeks;
    int day = 0;
    for (; day < days; day++) {
      Luck luck = person.luck(day);
      if (day > 0) {
        morning(day, luck);
      }
      course.noon(day);
      measure(day, luck);
      if (goalDay.isEmpty()) {
        count();
      }
      evening(day, luck);
      woken = knee.night(day, luck);
      boolean flaring = day - lastFlare <= FLARE_DAYS;
      if (luck.drops() < person.habits().dropsOut() * (flaring ? 2 : 1) / 365) {
        day++;
        break;
      }
    }
    return new Outcome(
        person.number(),
        day,
        sessions,
        flares,
        episodes,
        soreMornings,
        goalDay,
        lastGoalDay,
        withheld,
        eased,
        course.piecesGot(),
        furthest,
        steps,
        heldUp.entrySet().stream()
            .collect(
                Collectors.toMap(
                    Map.Entry::getKey, why -> Arrays.stream(why.getValue()).boxed().toList())));
  }

  private void morning(int day, Luck luck) {
    int rest = person.traits().restPain();
    soreMornings += woken.pain() > rest ? 1 : 0;
    waiting
        .filter(judged -> yesterday.isEmpty())
        .filter(judged -> judged.morning().pain() > rest && woken.pain() > rest)
        .ifPresent(judged -> flared(day));
    waiting = Optional.empty();
    yesterday.ifPresent(felt -> judge(felt, rest, day));
    yesterday = Optional.empty();
    boolean quiet = woken.pain() <= rest && !woken.swollen();
    resting =
        woken.pain() >= rest + Assumption.TOO_SORE.value()
            || (policy.restsUntilQuiet() && resting && !quiet);
    boolean answered = luck.answers() >= person.habits().morningMissed() && day >= awayUntil;
    course.morning(day, answered ? Optional.of(woken) : Optional.empty());
  }

  /** Notes what the day is spent on. */
  private void count() {
    if (!course.asked().isEmpty()) {
      stage = stages.indexOf(course.asked().get(0).stage());
    }
    steps = course.stepsTaken();
    course
        .heldUp()
        .ifPresent(why -> heldUp.computeIfAbsent(why, w -> new int[stages.size()])[stage]++);
  }

  private void judge(Felt felt, int rest, int day) {
    Response response = ResponsePolicy.SYMPTOM_FREE.judge(felt.with(rest, woken, false));
    if (response == Response.FLARED) {
      flared(day);
      resting = true;
    } else {
      waiting = Optional.of(new Judged(felt, woken));
    }
    if (response == Response.SETTLED && felt.contact()) {
      if (goalDay.isEmpty() && goal.reachedBy(doneYesterday)) {
        goalDay = OptionalInt.of(felt.day());
      }
      if (lastGoalDay.isEmpty() && lastGoal.reachedBy(doneYesterday)) {
        lastGoalDay = OptionalInt.of(felt.day());
      }
    }
  }

  private void flared(int day) {
    flares++;
    episodes += day - lastFlare > EPISODE_DAYS ? 1 : 0;
    lastFlare = day;
  }

  private void measure(int day, Luck luck) {
    Habits habits = person.habits();
    if (day > 0 && day % habits.visitDays() == 0 && day >= awayUntil) {
      double error = habits.method().standardErrorDegrees() * luck.reading();
      double gap =
          Knee.gap(person.traits(), knee.flexion()) + Assumption.GAP_ERROR.value() * luck.gap();
      course.measured(day, knee.flexion() + error, Math.max(0, Math.round(2 * gap) / 2.0));
    }
  }

  private void evening(int day, Luck luck) {
    if (day >= awayUntil && luck.leaves()[0] < person.habits().awayPerYear() / 365) {
      awayUntil = day + (int) Assumption.HOLIDAY_LASTS.at(luck.leaves()[1]);
    }
    List<Prescription> asked = course.asked();
    withheld += asked.isEmpty() ? 1 : 0;
    if (asked.isEmpty()) {
      return;
    }
    double level = level(asked.get(0));
    eased += level < hardest - 1e-9 ? 1 : 0;
    hardest = Math.max(hardest, level);
    double perDay = Math.min(1, asked.get(0).dose().timesPerWeek() / 7.0);
    boolean does =
        !resting && day >= awayUntil && luck.session() < person.habits().adherence() * perDay;
    if (does) {
      Felt felt = knee.session(day, asked, luck);
      sessions++;
      yesterday = Optional.of(felt);
      doneYesterday = asked;
      course.session(felt);
    }
  }

  /** How far on a prescription is: its stage, and within it what it really asks. */
  private double level(Prescription lead) {
    int stage = stages.indexOf(lead.stage());
    furthest = Math.max(furthest, stage);
    double asks =
        demand.ofSetting(lead.variation(), lead.setting()).orElseGet(() -> Knee.stretch(lead));
    return 100 * stage + asks;
  }
}
