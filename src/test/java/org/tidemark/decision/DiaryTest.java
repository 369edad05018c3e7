package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.time.LocalTime;
import java.time.OffsetDateTime;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.PainScore;
import org.tidemark.quantity.Unit;
import org.tidemark.quantity.Value;
import org.tidemark.response.Morning;
import org.tidemark.response.Response;
import org.tidemark.response.ResponsePolicy;
import org.tidemark.response.Session;

/** What is kept of sessions and mornings, and what one report adds to another. */
class DiaryTest {
  private static final Map<String, Value> NO_PAIN_AT_REST =
      Map.of("pain-at-rest", Amount.of(0, Unit.SCORE));
  private static final Optional<Integer> NOT_GRADED = Optional.empty();

  private Diary diary = Diary.EMPTY;
  private Map<String, Value> items = NO_PAIN_AT_REST;
  private int sources;

  /** Effusion is compared with the grade known before: a session's, a morning's, the baseline's. */
  @ParameterizedTest(name = "baseline {0}, session {1}: {2}")
  @CsvSource({
    "1, 2, FLARED",
    "1, 1, PENDING",
    "2, 1, PENDING",
    "-, 2, PENDING",
    "1, -, PENDING",
    "0, 1, FLARED"
  })
  void aSessionMoreSwollenThanTheBaseline(String baseline, String session, Response response) {
    graded(baseline);
    session(1, grade(session));
    assertEquals(response, newest().response());
    assertEquals(response == Response.FLARED, diary.unanswered());
  }

  @ParameterizedTest(name = "baseline {0}, morning {1}: {2}")
  @CsvSource({"1, 2, FLARED", "1, 1, SETTLED", "2, 1, SETTLED", "-, 2, SETTLED", "1, -, SETTLED"})
  void aMorningMoreSwollenThanTheBaseline(String baseline, String morning, Response response) {
    graded(baseline);
    session(1, NOT_GRADED);
    morning(2, "7:00", "0", "-", "-", "-", morning);
    assertEquals(response, newest().response());
  }

  @ParameterizedTest(name = "baseline {0}, a morning before any session {1}: {2}")
  @CsvSource({"1, 2, true", "1, 1, false", "-, 2, false"})
  void aMorningBeforeAnySession(String baseline, String morning, boolean moreSwollen) {
    graded(baseline);
    morning(2, "7:00", "0", "-", "-", "-", morning);
    assertEquals(moreSwollen, diary.mornings().get(0).moreSwollen().orElse(false));
  }

  @ParameterizedTest(name = "session {0}, later session {1}: {2}")
  @CsvSource({"1, 2, FLARED", "2, 2, PENDING", "2, 1, PENDING"})
  void aSessionMoreSwollenThanTheOneBefore(String first, String second, Response response) {
    graded("0");
    session(1, grade(first));
    session(2, NOT_GRADED);
    session(3, grade(second));
    assertEquals(response, newest().response());
  }

  @Test
  void aMorningThatIsNotGradedKeepsTheGradeBefore() {
    session(1, Optional.of(2));
    morning(2, "7:00", "0", "-", "-", "-", "-");
    assertEquals(Optional.of(2), diary.effusion());
    morning(3, "7:00", "0", "-", "-", "-", "1");
    assertEquals(Optional.of(1), diary.effusion());
  }

  @Test
  void twoReportsOfOneMorningAreOne() {
    session(1, NOT_GRADED);
    morning(2, "7:00", "1", "20", "yes", "no", "2");
    morning(2, "8:00", "-", "-", "-", "-", "-");
    Morning both = diary.mornings().get(0);
    assertEquals(1, diary.mornings().size());
    assertEquals(LocalTime.of(8, 0), both.at().toLocalTime());
    assertEquals(Optional.of(PainScore.of(1)), both.pain());
    assertEquals(Optional.of(20), both.stiffnessMinutes());
    assertEquals(Optional.of(true), both.moreSwollen());
    assertEquals(Optional.of(false), both.wouldRepeat());
    assertEquals(Optional.of(2), both.effusion());
  }

  @Test
  void theLaterAnswerStands() {
    session(1, NOT_GRADED);
    morning(2, "7:00", "1", "20", "yes", "no", "2");
    morning(2, "8:00", "0", "5", "no", "yes", "1");
    Morning both = diary.mornings().get(0);
    assertEquals(Optional.of(PainScore.NONE), both.pain());
    assertEquals(Optional.of(5), both.stiffnessMinutes());
    assertEquals(Optional.of(false), both.moreSwollen());
    assertEquals(Optional.of(true), both.wouldRepeat());
    assertEquals(Optional.of(1), both.effusion());
    assertEquals(Response.SETTLED, newest().response());
  }

  @Test
  void whoWouldGladlyRepeatItHasSettled() {
    session(1, NOT_GRADED);
    morning(2, "7:00", "0", "-", "-", "yes", "-");
    assertEquals(Response.SETTLED, newest().response());
    session(2, NOT_GRADED);
    morning(3, "7:00", "0", "-", "-", "no", "-");
    assertEquals(Response.STIRRED, newest().response());
  }

  /** Not above rest, and not more swollen: only then does a morning say what rest is. */
  @ParameterizedTest(name = "pain {0}, more swollen {1}: quiet {2}")
  @CsvSource({"2, no, true", "2, -, true", "1, no, true", "3, no, false", "2, yes, false"})
  void aQuietMorning(String pain, String swollen, boolean quiet) {
    items = Map.of("pain-at-rest", Amount.of(2, Unit.SCORE));
    morning(2, "7:00", pain, "-", swollen, "-", "-");
    assertEquals(quiet ? 1 : 0, diary.quiet().size());
  }

  @Test
  void aQuietMorningToldTwiceIsCountedOnce() {
    items = Map.of("pain-at-rest", Amount.of(3, Unit.SCORE));
    morning(2, "7:00", "3", "-", "-", "-", "-");
    morning(3, "7:00", "2", "-", "-", "-", "-");
    morning(3, "8:00", "1", "-", "-", "-", "-");
    assertEquals(List.of(PainScore.of(3), PainScore.of(1)), diary.quiet());
  }

  /** A morning that was not quiet at first has not been counted, so nothing is taken back. */
  @Test
  void aMorningThatTurnsQuietIsAdded() {
    items = Map.of("pain-at-rest", Amount.of(3, Unit.SCORE));
    morning(2, "7:00", "3", "-", "-", "-", "-");
    morning(3, "7:00", "4", "-", "-", "-", "-");
    morning(3, "8:00", "1", "-", "-", "-", "-");
    assertEquals(List.of(PainScore.of(3), PainScore.of(1)), diary.quiet());
  }

  @Test
  void theMedianOfSevenQuietMorningsReplacesTheBaseline() {
    items = Map.of("pain-at-rest", Amount.of(3, Unit.SCORE));
    for (int day = 2; day <= 7; day++) {
      morning(day, "7:00", String.valueOf(day % 2), "-", "-", "-", "-");
    }
    assertEquals(Optional.of(PainScore.of(3)), diary.rest(items));
    morning(8, "7:00", "0", "-", "-", "-", "-");
    assertEquals(7, diary.quiet().size());
    assertEquals(Optional.of(PainScore.NONE), diary.rest(items));
    morning(9, "7:00", "0", "-", "-", "-", "-");
    assertEquals(7, diary.quiet().size());
  }

  @ParameterizedTest(name = "{0} days later: kept {1}")
  @CsvSource({"15, true", "16, false"})
  void whatIsOlderThanFifteenDaysIsLetGo(int days, boolean kept) {
    session(1, NOT_GRADED);
    morning(1, "7:00", "0", "-", "-", "-", "-");
    session(1 + days, NOT_GRADED);
    morning(1 + days, "7:00", "0", "-", "-", "-", "-");
    assertEquals(kept ? 2 : 1, diary.sessions().size());
    assertEquals(kept ? 2 : 1, diary.mornings().size());
  }

  @Test
  void noMoreThanNinetySessionsAreKept() {
    for (int i = 0; i < 95; i++) {
      session(1, NOT_GRADED);
    }
    assertEquals(90, diary.sessions().size());
    assertEquals("n6", diary.sessions().get(0).source().id());
    assertEquals("n95", newest().source().id());
  }

  /** Flares are counted over 14 days, and kept as long as a late morning can look back on them. */
  @ParameterizedTest(name = "{0} days later: counted {1}, kept {2}")
  @CsvSource({"14, 1, 1", "15, 0, 1", "29, 0, 1", "30, 0, 0"})
  void flaresOfTheLastFourteenDaysAddUp(int days, int counted, int kept) {
    session(1, NOT_GRADED);
    morning(2, "7:00", "4", "-", "-", "-", "-");
    session(1 + days, NOT_GRADED);
    assertEquals(counted, diary.flaresUpTo(at(1 + days, "18:00").toLocalDate()));
    assertEquals(kept, diary.flares().size());
  }

  @Test
  void twoFlaresOfOneDayAreOne() {
    session(1, NOT_GRADED);
    session(1, NOT_GRADED);
    morning(2, "7:00", "4", "-", "-", "-", "-");
    assertEquals(1, diary.flares().size());
    diary = diary.answeredFlare();
    morning(2, "8:00", "5", "-", "-", "-", "-");
    assertFalse(diary.unanswered(), "it has been answered already");
  }

  /** What a clinician has looked at does not come up again with the same session. */
  @Test
  void aFlareThatWasForgivenIsNotFoundAgain() {
    session(1, NOT_GRADED);
    morning(2, "7:00", "4", "-", "-", "-", "-");
    diary = diary.forgiven();
    morning(2, "8:00", "5", "-", "-", "-", "-");
    assertEquals(Response.FLARED, newest().response());
    assertTrue(diary.flares().isEmpty());
    assertFalse(diary.unanswered());
  }

  /** A day without a session: pain that has not gone down since yesterday's morning lasts. */
  @ParameterizedTest(name = "mornings {0}, then {1}: {2}")
  @CsvSource({"1, 1, FLARED", "1, 0, STIRRED", "0, 1, SETTLED"})
  void stillWorseTwoMorningsOn(String first, String second, Response response) {
    session(1, NOT_GRADED);
    morning(2, "7:00", first, "-", "-", "-", "-");
    morning(3, "7:00", second, "-", "-", "-", "-");
    assertEquals(response, newest().response());
  }

  @Test
  void aSessionInBetweenExplainsTheSecondMorning() {
    session(1, NOT_GRADED);
    morning(2, "7:00", "1", "-", "-", "-", "-");
    session(2, NOT_GRADED);
    morning(3, "7:00", "1", "-", "-", "-", "-");
    assertEquals(Response.STIRRED, diary.sessions().get(0).response());
    assertEquals(Response.STIRRED, diary.sessions().get(1).response());
  }

  /**
   * The seven days up to the morning, from the 9th to the 15th, against the seven before them. Five
   * quiet mornings do not replace the baseline's pain at rest yet.
   */
  @ParameterizedTest(name = "a week of {0}, then one of {1}: {2}")
  @CsvSource({"1, 2, STIRRED", "1, 1, SETTLED", "2, 1, SETTLED"})
  void painThatRisesFromWeekToWeek(String weekBefore, String week, Response response) {
    items = Map.of("pain-at-rest", Amount.of(2, Unit.SCORE));
    for (int day : new int[] {2, 5, 8, 9, 12}) {
      policyMorning(day, day <= 8 ? weekBefore : week);
    }
    diary = diary.plus(entry(14, NOT_GRADED), items, ResponsePolicy.PAIN_MONITORED);
    policyMorning(15, week);
    assertEquals(response, newest().response());
  }

  @Test
  void theAnsweredSessionsOfOneStateOfThePlanNewestFirst() {
    session(1, NOT_GRADED);
    morning(2, "7:00", "0", "-", "-", "-", "-");
    session(2, NOT_GRADED);
    morning(3, "7:00", "1", "-", "-", "-", "-");
    session(3, NOT_GRADED);
    List<String> answered = diary.answered(0).stream().map(e -> e.source().id()).toList();
    assertEquals(List.of("n3", "n1"), answered);
    assertTrue(diary.answered(1).isEmpty());
  }

  private Diary.Entry newest() {
    return diary.newest().orElseThrow();
  }

  private void graded(String baseline) {
    items =
        baseline.equals("-")
            ? NO_PAIN_AT_REST
            : Map.of(
                "pain-at-rest",
                Amount.of(0, Unit.SCORE),
                "effusion-grade",
                Amount.of(baseline, Unit.COUNT));
  }

  private static Optional<Integer> grade(String text) {
    return text.equals("-") ? Optional.empty() : Optional.of(Integer.valueOf(text));
  }

  private static Optional<Boolean> yes(String text) {
    return text.equals("-") ? Optional.empty() : Optional.of(text.equals("yes"));
  }

  private void session(int day, Optional<Integer> effusion) {
    diary = diary.plus(entry(day, effusion), items, ResponsePolicy.SYMPTOM_FREE);
  }

  private Diary.Entry entry(int day, Optional<Integer> effusion) {
    OffsetDateTime start = at(day, "18:00");
    Session session =
        new Session(
            start,
            start.plusMinutes(20),
            Optional.empty(),
            Optional.empty(),
            Optional.empty(),
            Optional.empty(),
            Optional.empty(),
            Optional.empty(),
            Optional.of(PainScore.NONE),
            Optional.of(PainScore.NONE),
            Optional.empty(),
            effusion);
    return new Diary.Entry(
        source(),
        session,
        Optional.empty(),
        Optional.empty(),
        false,
        false,
        false,
        Response.PENDING,
        0,
        Set.of());
  }

  /** A morning: pain, minutes of stiffness, more swollen, would repeat, grade of effusion. */
  private void morning(
      int day,
      String time,
      String pain,
      String stiff,
      String swollen,
      String repeat,
      String effusion) {
    Morning morning =
        new Morning(
            at(day, time), score(pain), grade(stiff), yes(swollen), yes(repeat), grade(effusion));
    diary = diary.plus(morning, source(), false, items, ResponsePolicy.SYMPTOM_FREE);
  }

  private void policyMorning(int day, String pain) {
    Morning morning =
        new Morning(
            at(day, "7:00"),
            score(pain),
            Optional.empty(),
            Optional.empty(),
            Optional.empty(),
            Optional.empty());
    diary = diary.plus(morning, source(), false, items, ResponsePolicy.PAIN_MONITORED);
  }

  private static Optional<PainScore> score(String text) {
    return text.equals("-") ? Optional.empty() : Optional.of(PainScore.of(Long.parseLong(text)));
  }

  private FactSource source() {
    sources++;
    return new FactSource("Observation", "n" + sources, 1);
  }

  /** A day of the story and a time such as {@code 7:00}. */
  private static OffsetDateTime at(int day, String time) {
    String[] parts = time.split(":");
    return OffsetDateTime.parse("2026-01-01T00:00:00+01:00")
        .plusDays(day - 1)
        .withHour(Integer.parseInt(parts[0]))
        .withMinute(Integer.parseInt(parts[1]));
  }
}
