package org.tidemark.decision;

import java.time.LocalDate;
import java.time.OffsetDateTime;
import java.time.temporal.ChronoUnit;
import java.util.ArrayList;
import java.util.Comparator;
import java.util.DoubleSummaryStatistics;
import java.util.IdentityHashMap;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import org.tidemark.demand.Ratio;
import org.tidemark.programme.Dose;
import org.tidemark.programme.Exercise;
import org.tidemark.programme.Precaution;
import org.tidemark.programme.Programme;
import org.tidemark.response.Response;
import org.tidemark.response.Session;

/**
 * What the rules look at: one plan at the moment of one fact, the fact already taken in. What they
 * ask again and again is worked out once.
 */
final class Situation {
  /** How far back adherence looks, days. */
  private static final int ADHERENCE_DAYS = 14;

  /** How many answered sessions the rule on stirred ones looks at (common practice). */
  private static final int LOOK_BACK = 4;

  private static final Comparator<Line> TURN =
      Comparator.comparing(Line::changed, OffsetDateTime.timeLineOrder()).thenComparing(Line::role);

  final Surroundings around;
  final PlanState state;
  final Fact fact;
  final long gapDays;
  private final Map<Line, Double> adherence = new IdentityHashMap<>();
  private final Map<Line, Double> chance = new IdentityHashMap<>();
  private List<Diary.Entry> answered;
  private List<Line> inTurn;
  private Optional<Line> ready;
  private List<Precaution> broken;

  Situation(Programme programme, PlanState state, Fact fact, long gapDays) {
    this.around = new Surroundings(programme, state.person(), fact.at());
    this.state = state;
    this.fact = fact;
    this.gapDays = gapDays;
  }

  /** The same moment with something more known. */
  Situation with(PlanState other) {
    return new Situation(around.programme(), other, fact, gapDays);
  }

  OffsetDateTime at() {
    return around.at();
  }

  boolean placed() {
    return !state.standing().empty();
  }

  List<Precaution> broken() {
    if (broken == null) {
      broken = around.forbidding(state.standing().lines());
    }
    return broken;
  }

  /**
   * Whether what stands can no longer be made. Asked when equipment is listed and when exercise
   * comes back; in between, a setting by hand need not be one that the list can make.
   */
  boolean equipmentGone() {
    boolean asked = fact instanceof Fact.EquipmentListed || state.inForce().isEmpty();
    return asked && placed() && !around.canMake(state.standing().lines());
  }

  boolean freshFlare() {
    return state.diary().unanswered();
  }

  /**
   * Flares that add up: those within 14 days of the one that has just shown itself, whichever
   * morning it was that showed it; without one, those of the last 14 days.
   */
  int flares() {
    LocalDate today = at().toLocalDate();
    LocalDate until =
        freshFlare()
            ? state.diary().flares().stream().max(Comparator.naturalOrder()).orElse(today)
            : today;
    return state.diary().flaresUpTo(until);
  }

  /**
   * How many of the last four answered sessions were stirred, or flared and have been answered. A
   * session at something easier speaks only where it did not go well.
   */
  int stirredOfLastFour() {
    int looked = 0;
    int stirred = 0;
    for (Diary.Entry entry : answered()) {
      boolean speaks = entry.response() != Response.SETTLED || !entry.variations().isEmpty();
      if (!speaks) {
        continue;
      }
      boolean counts =
          entry.response() == Response.STIRRED
              || (entry.response() == Response.FLARED && !freshFlare());
      stirred += counts ? 1 : 0;
      looked++;
      if (looked == LOOK_BACK) {
        break;
      }
    }
    return stirred;
  }

  boolean pending() {
    return state.diary().newest().filter(entry -> entry.response() == Response.PENDING).isPresent();
  }

  boolean inferred() {
    return state.diary().newest().filter(Diary.Entry::inferred).isPresent();
  }

  /**
   * The exercises in the order of their turn: the one whose last own change is the oldest first,
   * the lead at a tie.
   */
  List<Line> inTurn() {
    if (inTurn == null) {
      inTurn = new ArrayList<>(state.standing().lines());
      inTurn.sort(TURN);
    }
    return inTurn;
  }

  /** The exercise whose turn it is; empty while nobody is placed. */
  Optional<Line> turn() {
    return inTurn().isEmpty() ? Optional.empty() : Optional.of(inTurn().get(0));
  }

  /** The answered sessions since what stands began, the newest first. */
  private List<Diary.Entry> answered() {
    if (answered == null) {
      answered = state.diary().answered(state.standing().epoch());
    }
    return answered;
  }

  double toleratedRate(Line line) {
    return around.stage(line.prescription()).toleratedRate().doubleValue();
  }

  boolean evidenceSuffices(Line line, int factor) {
    return factor == 1
        ? chance(line, 1) >= Evidence.NEEDED
        : line.evidence().suffices(toleratedRate(line), factor);
  }

  private double chance(Line line, int factor) {
    return factor == 1
        ? chance.computeIfAbsent(
            line, other -> other.evidence().chanceBelow(toleratedRate(other), 1))
        : line.evidence().chanceBelow(toleratedRate(line), factor);
  }

  boolean contactShown(Line line) {
    return !around.exercise(line.prescription()).variation().contactAsked()
        || lastAnswered(line).flatMap(entry -> entry.session().contact()).orElse(false);
  }

  /** The newest answered session of an exercise as it stands. */
  Optional<Diary.Entry> lastAnswered(Line line) {
    for (Diary.Entry entry : answered()) {
      if (entry.variations().contains(line.prescription().variation())) {
        return Optional.of(entry);
      }
    }
    return Optional.empty();
  }

  /**
   * The share of what was asked of an exercise that was done, over the time it has been in force as
   * it is, two weeks at the most. Nothing was asked while exercise was withheld.
   */
  double adherence(Line line) {
    return adherence.computeIfAbsent(line, this::shareOfAsked);
  }

  private double shareOfAsked(Line line) {
    OffsetDateTime since = askedSince(line);
    String variation = line.prescription().variation();
    DoubleSummaryStatistics done = new DoubleSummaryStatistics();
    for (Diary.Entry entry : state.diary().sessions()) {
      if (entry.variations().contains(variation) && !entry.session().start().isBefore(since)) {
        done.accept(shareDone(entry.session(), line));
      }
    }
    double perDay = line.prescription().dose().timesPerWeek() / 7.0;
    return done.getSum() / (Math.max(1, daysAsked(line)) * perDay);
  }

  /** Whether enough of what was asked of an exercise was done for a step up. */
  boolean adheres(Line line) {
    return adherence(line) >= around.programme().leastAdherence().doubleValue();
  }

  /** For how many whole days an exercise has been asked as it is, two weeks at the most. */
  long daysAsked(Line line) {
    return ChronoUnit.DAYS.between(askedSince(line).toLocalDate(), at().toLocalDate());
  }

  private OffsetDateTime askedSince(Line line) {
    OffsetDateTime inForce = state.because().map(Decision::asOf).orElse(line.since());
    return later(later(line.since(), inForce), at().minusDays(ADHERENCE_DAYS));
  }

  private static OffsetDateTime later(OffsetDateTime one, OffsetDateTime other) {
    return other.isAfter(one) ? other : one;
  }

  /**
   * How much of what was asked a session held, 0 to 1. What was not reported counts as done. The
   * amounts of a report that names no prescription are taken for the lead exercise: they cannot be
   * those of every exercise at once.
   */
  private static double shareDone(Session session, Line line) {
    if (session.done().isEmpty() && line.role() != Exercise.Role.LEAD) {
      return 1;
    }
    Dose dose = line.prescription().dose();
    double share = 1;
    if (session.sets().isPresent()) {
      share *= Math.min(1.0, (double) session.sets().get() / dose.sets());
    }
    if (session.repetitions().isPresent() && dose.repetitions() > 0) {
      share *= Math.min(1.0, (double) session.repetitions().get() / dose.repetitions());
    }
    if (session.timeSeconds().isPresent() && dose.timeSeconds() > 0) {
      share *= Math.min(1.0, (double) session.timeSeconds().get() / dose.timeSeconds());
    }
    return share;
  }

  /** The first exercise, in the order of their turn, that is ready to be made harder. */
  Optional<Line> ready() {
    if (ready == null) {
      ready = inTurn().stream().filter(this::isReady).findFirst();
    }
    return ready;
  }

  /** Whether one exercise has been tolerated, done and shown well enough to be made harder. */
  boolean isReady(Line line) {
    return evidenceSuffices(line, 1) && adheres(line) && contactShown(line);
  }

  Decision.Figures figures(Optional<Line> about, int factor, Optional<Ratio> demand) {
    Optional<org.tidemark.quantity.PainScore> rest = state.diary().rest(state.person().items());
    return about
        .map(
            line ->
                new Decision.Figures(
                    line.answered(),
                    line.unsettled(),
                    chance(line, factor),
                    Evidence.NEEDED,
                    toleratedRate(line),
                    factor,
                    adherence(line),
                    flares(),
                    rest,
                    demand,
                    List.of()))
        .orElseGet(
            () ->
                new Decision.Figures(
                    0, 0, 0, Evidence.NEEDED, 0, 1, 0, flares(), rest, demand, List.of()));
  }
}
