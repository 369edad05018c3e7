package org.tidemark.report;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.List;
import java.util.Locale;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.EnumSource;
import org.tidemark.decision.Chronicle;
import org.tidemark.decision.Reason;
import org.tidemark.decision.Told;
import org.tidemark.decision.Verdict;
import org.tidemark.quantity.Unit;
import org.tidemark.response.Response;

/** What a chart shows is what the plan holds. */
class PlanProgressTest {
  private static Progress progress(Chronicle chronicle, Locale locale) {
    return PlanProgress.of(Told.programme(locale), chronicle, locale);
  }

  @Test
  void aCourseIsShownWhole() {
    Chronicle chronicle = Told.course(16, 1.7);
    Progress progress = progress(chronicle, Locale.ENGLISH);
    assertEquals(112, progress.sessions().size());
    assertEquals(
        1, progress.sessions().stream().filter(s -> s.response() == Response.FLARED).count());
    assertEquals(chronicle.changes().size(), progress.decisions().size());
    assertTrue(progress.readings().size() >= 12);
    assertTrue(progress.mdc95().isPresent());
    assertEquals(Unit.CENTIMETRE, progress.unit());
    assertTrue(progress.steps().size() > 1, progress.steps().toString());
    assertTrue(progress.trend().size() >= 12);
    assertFalse(progress.forecast().isEmpty());
    assertEquals(
        progress.trend().get(progress.trend().size() - 1).day(), progress.forecast().get(0).day());
  }

  /** Where no arrival can be forecast no fan is drawn either. */
  @Test
  void rangeThatStandsStillHasNoFan() {
    assertEquals(List.of(), progress(Told.course(12, 0), Locale.ENGLISH).forecast());
  }

  @Test
  void decisionsAreInTheReadersLanguage() {
    Chronicle chronicle = Told.course(12, 1.5);
    List<String> english = words(progress(chronicle, Locale.ENGLISH));
    List<String> german = words(progress(chronicle, Locale.GERMAN));
    assertTrue(english.get(0).startsWith("Start: "), english.get(0));
    assertTrue(german.get(0).startsWith("Beginn: "), german.get(0));
    assertTrue(
        english.stream().anyMatch(w -> w.startsWith("Easier: ") && w.endsWith("flared.")),
        english.toString());
    assertTrue(
        german.stream().anyMatch(w -> w.startsWith("Leichter: ") && w.endsWith("aufgeflammt.")),
        german.toString());
    assertTrue(
        german.stream().noneMatch(w -> w.contains("Rocking") || w.contains(" sets")),
        german.toString());
  }

  @Test
  void aPlanThatNobodyIsPlacedOnHasNothingToDraw() {
    Progress progress = progress(Told.incomplete(), Locale.ENGLISH);
    assertEquals(List.of(), progress.decisions());
    assertEquals(List.of(), progress.steps());
    assertEquals(List.of(), progress.sessions());
  }

  @Test
  void aLimitAndAStopAreShown() {
    Progress progress = progress(Told.stopped(4), Locale.GERMAN);
    assertEquals(1, progress.precautions().size());
    List<String> words = words(progress);
    assertEquals("Keine Übung. Ein Warnzeichen wurde gemeldet.", words.get(words.size() - 1));
  }

  /** Whatever takes something back says why, in both languages. */
  @ParameterizedTest
  @EnumSource(Reason.class)
  void whatEasesOrStopsHasItsWords(Reason reason) {
    boolean needed = reason.verdict() == Verdict.REGRESS || reason.verdict() == Verdict.WITHHOLD;
    for (Locale locale : List.of(Locale.ENGLISH, Locale.GERMAN)) {
      assertTrue(
          !needed || Words.ofPapers(locale).find("why." + reason.code()).isPresent(),
          reason + " " + locale);
    }
  }

  private static List<String> words(Progress progress) {
    return progress.decisions().stream().map(Progress.Note::words).toList();
  }
}
