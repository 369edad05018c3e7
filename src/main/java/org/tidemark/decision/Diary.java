package org.tidemark.decision;

import java.math.BigDecimal;
import java.time.Duration;
import java.time.LocalDate;
import java.time.LocalTime;
import java.time.OffsetDateTime;
import java.util.ArrayList;
import java.util.Collections;
import java.util.Comparator;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import java.util.TreeSet;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.PainScore;
import org.tidemark.quantity.Value;
import org.tidemark.response.Morning;
import org.tidemark.response.Response;
import org.tidemark.response.ResponsePolicy;
import org.tidemark.response.Session;
import org.tidemark.response.Symptoms;

/**
 * The recent sessions and mornings, each session judged. What is older than the rules look back is
 * let go.
 *
 * @param sessions the recent sessions, oldest first
 * @param mornings the mornings of the last two weeks, oldest first
 * @param quiet pain on the last seven quiet mornings, oldest first
 * @param flares the days of the recent flares, in the order they showed themselves
 * @param unanswered whether a flare has not been answered by a decision yet
 * @param lastSession when the last session was
 * @param effusion the last grade of effusion
 */
public record Diary(
    List<Entry> sessions,
    List<Morning> mornings,
    List<PainScore> quiet,
    List<LocalDate> flares,
    boolean unanswered,
    Optional<OffsetDateTime> lastSession,
    Optional<Integer> effusion) {
  static final Diary EMPTY =
      new Diary(
          List.of(), List.of(), List.of(), List.of(), false, Optional.empty(), Optional.empty());

  /** Code of the baseline item that holds pain at rest. */
  static final String PAIN_AT_REST = "pain-at-rest";

  /** Code of the baseline item that holds the grade of effusion, 0 to 4. */
  static final String EFFUSION_GRADE = "effusion-grade";

  /** Within how many days flares add up, included (common practice). */
  static final int FLARE_DAYS = 14;

  /** How many quiet mornings replace the baseline's pain at rest (common practice). */
  private static final int QUIET_MORNINGS = 7;

  private static final int DAYS_KEPT = 15;
  private static final int MOST_SESSIONS = 90;

  /** How long a session lasts whose end is not reported (common practice). */
  private static final Duration USUAL_SESSION = Duration.ofMinutes(30);

  /** Until how long after a session pain counts as pain after it, included. */
  private static final Duration AFTER = Duration.ofHours(2);

  private static final Comparator<Entry> NEWEST_FIRST =
      Comparator.comparing((Entry entry) -> entry.session().start()).reversed();

  private static final LocalTime MORNING_FROM = LocalTime.of(4, 0);
  private static final LocalTime MORNING_TO = LocalTime.of(12, 0);

  /**
   * One session with what followed.
   *
   * @param source where it was read
   * @param session the session
   * @param morning the morning after, once it is known
   * @param morningSource where that was read
   * @param swollenMore whether its own grade of effusion was higher than the one before
   * @param stillWorse whether pain was still above rest more than a day later
   * @param inferred whether a pain score without a time of its own was taken into it
   * @param response how it went
   * @param epoch the state of the plan it was done in
   * @param variations the codes of the exercises it counts for, in alphabetical order
   */
  public record Entry(
      FactSource source,
      Session session,
      Optional<Morning> morning,
      Optional<FactSource> morningSource,
      boolean swollenMore,
      boolean stillWorse,
      boolean inferred,
      Response response,
      int epoch,
      Set<String> variations) {
    public Entry {
      variations =
          variations.size() <= 1
              ? Set.copyOf(variations)
              : Collections.unmodifiableSet(new TreeSet<>(variations));
    }

    LocalDate day() {
      return session.start().toLocalDate();
    }

    Entry judged(Response other) {
      return other == response
          ? this
          : new Entry(
              source,
              session,
              morning,
              morningSource,
              swollenMore,
              stillWorse,
              inferred,
              other,
              epoch,
              variations);
    }

    Entry after(Morning other, FactSource from, boolean byInference) {
      return new Entry(
          source,
          session,
          Optional.of(other),
          Optional.of(from),
          swollenMore,
          stillWorse,
          inferred || byInference,
          response,
          epoch,
          variations);
    }

    Entry worse() {
      return new Entry(
          source,
          session,
          morning,
          morningSource,
          swollenMore,
          true,
          inferred,
          response,
          epoch,
          variations);
    }

    Entry felt(Optional<PainScore> during, Optional<PainScore> after) {
      Session s = session;
      Session other =
          new Session(
              s.start(),
              s.end(),
              s.done(),
              s.settings(),
              s.sets(),
              s.repetitions(),
              s.timeSeconds(),
              s.contact(),
              greater(s.during(), during),
              greater(s.after(), after),
              s.effort(),
              s.effusion());
      return new Entry(
          source,
          other,
          morning,
          morningSource,
          swollenMore,
          stillWorse,
          true,
          response,
          epoch,
          variations);
    }

    private static Optional<PainScore> greater(
        Optional<PainScore> known, Optional<PainScore> other) {
      return known.isPresent() && other.isPresent()
          ? Optional.of(known.get().isAbove(other.get()) ? known.get() : other.get())
          : known.or(() -> other);
    }
  }

  /**
   * Pain at rest: the median of the last seven quiet mornings once there are seven, before that the
   * baseline's.
   */
  Optional<PainScore> rest(Map<String, Value> items) {
    if (quiet.size() >= QUIET_MORNINGS) {
      return Optional.of(median(quiet));
    }
    return items.get(PAIN_AT_REST) instanceof Amount amount
        ? Optional.of(new PainScore(amount.value()))
        : Optional.empty();
  }

  Optional<Entry> newest() {
    return sessions.isEmpty() ? Optional.empty() : Optional.of(sessions.get(sessions.size() - 1));
  }

  /** The answered sessions of a state of the plan, newest first. */
  List<Entry> answered(int epoch) {
    List<Entry> answered = new ArrayList<>(sessions.size());
    for (Entry entry : sessions) {
      if (entry.epoch() == epoch && entry.response() != Response.PENDING) {
        answered.add(entry);
      }
    }
    answered.sort(NEWEST_FIRST);
    return answered;
  }

  /** Whether a session is in here just as it is. */
  boolean holds(Entry entry) {
    for (int i = sessions.size() - 1; i >= 0; i--) {
      if (sessions.get(i) == entry) {
        return true;
      }
    }
    return false;
  }

  /** What is known of the session that was read there. */
  Optional<Entry> find(FactSource source) {
    for (int i = sessions.size() - 1; i >= 0; i--) {
      if (sessions.get(i).source().equals(source)) {
        return Optional.of(sessions.get(i));
      }
    }
    return Optional.empty();
  }

  int flaresUpTo(LocalDate day) {
    LocalDate first = day.minusDays(FLARE_DAYS);
    return (int) flares.stream().filter(flare -> !flare.isBefore(first)).count();
  }

  /** Whether the newest morning was above rest or more swollen. */
  boolean unquiet(Map<String, Value> items) {
    if (mornings.isEmpty()) {
      return false;
    }
    Morning newest = mornings.get(mornings.size() - 1);
    boolean sore =
        rest(items).flatMap(rest -> newest.pain().filter(pain -> pain.isAbove(rest))).isPresent();
    return sore || newest.moreSwollen().orElse(false);
  }

  Diary plus(Entry entry, Map<String, Value> items, ResponsePolicy policy) {
    Optional<Integer> before = effusion.or(() -> baselineEffusion(items));
    Optional<Integer> now = entry.session().effusion();
    boolean more = now.isPresent() && before.isPresent() && now.get() > before.get();
    Entry known =
        new Entry(
            entry.source(),
            entry.session(),
            entry.morning(),
            entry.morningSource(),
            more,
            false,
            entry.inferred(),
            entry.response(),
            entry.epoch(),
            entry.variations());
    List<Entry> all = new ArrayList<>(sessions);
    all.add(judged(known, rest(items), policy));
    Diary with =
        new Diary(
            all,
            mornings,
            quiet,
            flares,
            unanswered,
            Optional.of(entry.session().start()),
            now.or(() -> before));
    return with.flaring(sessions).pruned(entry.session().start().toLocalDate());
  }

  /** The morning after belongs to the sessions of the day before, in the person's own calendar. */
  Diary plus(
      Morning morning,
      FactSource source,
      boolean inferred,
      Map<String, Value> items,
      ResponsePolicy policy) {
    LocalDate today = morning.at().toLocalDate();
    LocalDate yesterday = today.minusDays(1);
    LocalDate dayBefore = today.minusDays(2);
    Optional<PainScore> rest = rest(items);
    Optional<Integer> before = effusion.or(() -> baselineEffusion(items));
    boolean grown =
        morning.effusion().isPresent()
            && before.isPresent()
            && morning.effusion().get() > before.get();
    Optional<Morning> earlier = morningOf(today);
    Morning known = together(morning, earlier, grown);
    boolean sessionYesterday = anyOn(yesterday);
    List<Morning> recent = new ArrayList<>(mornings);
    LocalDate oldest = today.minusDays(DAYS_KEPT);
    recent.removeIf(
        other ->
            other.at().toLocalDate().isBefore(oldest) || other.at().toLocalDate().equals(today));
    recent.add(known);
    Diary with =
        new Diary(
            sessions,
            recent,
            quiet,
            flares,
            unanswered,
            lastSession,
            morning.effusion().or(() -> effusion));
    List<Entry> all = new ArrayList<>(sessions.size());
    for (Entry entry : sessions) {
      if (entry.day().equals(yesterday)) {
        all.add(with.judged(entry.after(known, source, inferred), rest, policy));
      } else if (!sessionYesterday
          && entry.day().equals(dayBefore)
          && stillAbove(entry, known, rest)) {
        all.add(with.judged(entry.worse(), rest, policy));
      } else {
        all.add(entry);
      }
    }
    Diary answered = with.with(all).flaring(sessions);
    boolean replaces = rest.isPresent() && earlier.filter(m -> isQuiet(m, rest.get())).isPresent();
    boolean isQuiet = rest.isPresent() && isQuiet(known, rest.get());
    return isQuiet ? answered.quietMorning(known.pain().get(), replaces) : answered;
  }

  private Optional<Morning> morningOf(LocalDate day) {
    for (Morning morning : mornings) {
      if (morning.at().toLocalDate().equals(day)) {
        return Optional.of(morning);
      }
    }
    return Optional.empty();
  }

  private boolean anyOn(LocalDate day) {
    for (Entry entry : sessions) {
      if (entry.day().equals(day)) {
        return true;
      }
    }
    return false;
  }

  /** One morning from two reports of it: the later answer stands where both give one. */
  private static Morning together(Morning later, Optional<Morning> earlier, boolean grown) {
    return new Morning(
        later.at(),
        later.pain().or(() -> earlier.flatMap(Morning::pain)),
        later.stiffnessMinutes().or(() -> earlier.flatMap(Morning::stiffnessMinutes)),
        grown
            ? Optional.of(true)
            : later.moreSwollen().or(() -> earlier.flatMap(Morning::moreSwollen)),
        later.wouldRepeat().or(() -> earlier.flatMap(Morning::wouldRepeat)),
        later.effusion().or(() -> earlier.flatMap(Morning::effusion)));
  }

  /** A bare pain score belongs where its time says. One that belongs nowhere changes nothing. */
  Diary plus(
      PainScore pain,
      OffsetDateTime at,
      FactSource source,
      Map<String, Value> items,
      ResponsePolicy policy) {
    List<Entry> all = new ArrayList<>(sessions);
    for (int i = all.size() - 1; i >= 0; i--) {
      Session session = all.get(i).session();
      OffsetDateTime end =
          session.end().isAfter(session.start())
              ? session.end()
              : session.start().plus(USUAL_SESSION);
      if (!at.isBefore(session.start()) && !at.isAfter(end)) {
        all.set(
            i, judged(all.get(i).felt(Optional.of(pain), Optional.empty()), rest(items), policy));
        return with(all).flaring(sessions);
      }
      if (at.isAfter(end) && !at.isAfter(end.plus(AFTER))) {
        all.set(
            i, judged(all.get(i).felt(Optional.empty(), Optional.of(pain)), rest(items), policy));
        return with(all).flaring(sessions);
      }
    }
    LocalTime time = at.toLocalTime();
    if (!time.isBefore(MORNING_FROM) && !time.isAfter(MORNING_TO)) {
      Morning morning =
          new Morning(
              at,
              Optional.of(pain),
              Optional.empty(),
              Optional.empty(),
              Optional.empty(),
              Optional.empty());
      return plus(morning, source, true, items, policy);
    }
    return this;
  }

  Diary answeredFlare() {
    return new Diary(sessions, mornings, quiet, flares, false, lastSession, effusion);
  }

  /** A clinician has looked: what came before no longer adds up. */
  Diary forgiven() {
    return new Diary(sessions, mornings, quiet, List.of(), false, lastSession, effusion);
  }

  private Diary with(List<Entry> others) {
    return new Diary(others, mornings, quiet, flares, unanswered, lastSession, effusion);
  }

  private Entry judged(Entry entry, Optional<PainScore> rest, ResponsePolicy policy) {
    return entry.judged(rest.map(r -> policy.judge(symptoms(entry, r))).orElse(Response.PENDING));
  }

  /**
   * Notes the days that have flared since the sessions were as given; two flares of one day are
   * one.
   */
  private Diary flaring(List<Entry> before) {
    List<LocalDate> flared = flares;
    for (Entry entry : sessions) {
      boolean isNew =
          entry.response() == Response.FLARED
              && !flared.contains(entry.day())
              && !hasFlared(entry.source(), before);
      if (isNew) {
        flared = new ArrayList<>(flared);
        flared.add(entry.day());
      }
    }
    return flared == flares
        ? this
        : new Diary(sessions, mornings, quiet, flared, true, lastSession, effusion);
  }

  private static boolean hasFlared(FactSource source, List<Entry> entries) {
    return entries.stream()
        .anyMatch(entry -> entry.response() == Response.FLARED && entry.source().equals(source));
  }

  private Symptoms symptoms(Entry entry, PainScore rest) {
    Optional<Morning> morning = entry.morning();
    return new Symptoms(
        rest,
        entry.session().during(),
        entry.session().after(),
        morning.flatMap(Morning::pain),
        entry.swollenMore() || morning.flatMap(Morning::moreSwollen).orElse(false),
        morning.flatMap(Morning::wouldRepeat).map(willing -> !willing).orElse(false),
        entry.stillWorse(),
        morning.map(m -> risen(m.at().toLocalDate())).orElse(false));
  }

  /**
   * Whether the median morning pain of the seven days up to a day is above that of the seven days
   * before.
   */
  private boolean risen(LocalDate day) {
    List<PainScore> week = painBetween(day.minusDays(6), day);
    List<PainScore> weekBefore = painBetween(day.minusDays(13), day.minusDays(7));
    return !week.isEmpty() && !weekBefore.isEmpty() && median(week).isAbove(median(weekBefore));
  }

  private List<PainScore> painBetween(LocalDate from, LocalDate to) {
    List<PainScore> pains = new ArrayList<>();
    for (Morning morning : mornings) {
      LocalDate day = morning.at().toLocalDate();
      if (!day.isBefore(from) && !day.isAfter(to)) {
        morning.pain().ifPresent(pains::add);
      }
    }
    return pains;
  }

  private Diary quietMorning(PainScore pain, boolean replacesNewest) {
    List<PainScore> all = new ArrayList<>(quiet);
    if (replacesNewest && !all.isEmpty()) {
      all.remove(all.size() - 1);
    }
    all.add(pain);
    List<PainScore> last =
        all.size() > QUIET_MORNINGS ? all.subList(all.size() - QUIET_MORNINGS, all.size()) : all;
    return new Diary(
        sessions, mornings, List.copyOf(last), flares, unanswered, lastSession, effusion);
  }

  private Diary pruned(LocalDate today) {
    LocalDate oldest = today.minusDays(DAYS_KEPT);
    List<Entry> kept = new ArrayList<>(sessions);
    kept.removeIf(entry -> entry.day().isBefore(oldest));
    List<Entry> bounded =
        kept.size() > MOST_SESSIONS ? kept.subList(kept.size() - MOST_SESSIONS, kept.size()) : kept;
    LocalDate oldestFlare = today.minusDays(FLARE_DAYS + DAYS_KEPT);
    List<LocalDate> recent = new ArrayList<>(flares);
    recent.removeIf(flare -> flare.isBefore(oldestFlare));
    return new Diary(bounded, mornings, quiet, recent, unanswered, lastSession, effusion);
  }

  private static boolean stillAbove(Entry entry, Morning now, Optional<PainScore> rest) {
    return rest.isPresent()
        && entry
            .morning()
            .flatMap(Morning::pain)
            .filter(pain -> pain.isAbove(rest.get()))
            .isPresent()
        && now.pain().filter(pain -> pain.isAbove(rest.get())).isPresent();
  }

  private static boolean isQuiet(Morning morning, PainScore rest) {
    return morning.pain().filter(pain -> !pain.isAbove(rest)).isPresent()
        && !morning.moreSwollen().orElse(false);
  }

  private static Optional<Integer> baselineEffusion(Map<String, Value> items) {
    return items.get(EFFUSION_GRADE) instanceof Amount grade
        ? Optional.of(grade.value().intValue())
        : Optional.empty();
  }

  private static PainScore median(List<PainScore> scores) {
    List<PainScore> sorted = new ArrayList<>(scores);
    Collections.sort(sorted);
    int middle = sorted.size() / 2;
    if (sorted.size() % 2 == 1) {
      return sorted.get(middle);
    }
    BigDecimal sum = sorted.get(middle - 1).value().add(sorted.get(middle).value());
    return new PainScore(sum.divide(BigDecimal.valueOf(2)));
  }
}
