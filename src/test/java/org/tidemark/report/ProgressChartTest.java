package org.tidemark.report;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.time.LocalDate;
import java.util.ArrayList;
import java.util.List;
import java.util.Locale;
import java.util.Optional;
import java.util.OptionalDouble;
import java.util.stream.IntStream;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.ValueSource;
import org.tidemark.quantity.Unit;
import org.tidemark.response.Response;

/** What the chart shows stands where its axes say. */
class ProgressChartTest {
  private static final LocalDate START = LocalDate.of(2027, 1, 4);

  /** The chart is written to a hundredth of a unit. */
  private static final double WRITTEN = 0.011;

  private static final Progress PLAN = plan(100);
  private static final Picture CHART = new Picture(ProgressChart.svg(PLAN, Locale.ENGLISH));

  @Test
  void equalTimesAreEquallyFarApart() {
    List<Double> x = CHART.outlines("error").stream().map(bar -> bar.get(0).x()).toList();
    assertEquals(5, x.size());
    double apart = x.get(1) - x.get(0);
    assertTrue(apart > 20);
    for (int i = 1; i < x.size(); i++) {
      assertEquals(apart, x.get(i) - x.get(i - 1), 2 * WRITTEN);
    }
  }

  /** A bar is as long as twice its error, against the lines that the axis labels. */
  @Test
  void barsBandAndTrendKeepTheScaleOfTheAxis() {
    double each = degree();
    CHART
        .outlines("error")
        .forEach(bar -> assertEquals(14 * each, bar.get(0).y() - bar.get(1).y(), 2 * WRITTEN));
    List<Svg.Spot> band = CHART.outlines("band").get(0);
    double top = band.stream().mapToDouble(Svg.Spot::y).min().orElseThrow();
    double floor = band.stream().mapToDouble(Svg.Spot::y).max().orElseThrow();
    assertEquals(2 * 9.4 * each, floor - top, 2 * WRITTEN);
    List<Svg.Spot> first = CHART.outlines("error").get(0);
    assertEquals((first.get(0).y() + first.get(1).y()) / 2, (top + floor) / 2, WRITTEN);
    List<Svg.Spot> trend = CHART.outlines("trend").get(0);
    assertEquals(20 * each, trend.get(0).y() - trend.get(4).y(), 2 * WRITTEN);
  }

  @Test
  void theFanOpensFromTheTrend() {
    Svg.Spot end = CHART.outlines("trend").get(0).get(4);
    for (String line : List.of("fan-low", "fan-middle", "fan-high")) {
      Svg.Spot from = CHART.outlines(line).get(0).get(0);
      assertEquals(end.x(), from.x(), WRITTEN);
      assertEquals(end.y(), from.y(), WRITTEN);
    }
    double low = CHART.outlines("fan-low").get(0).get(1).y();
    double high = CHART.outlines("fan-high").get(0).get(1).y();
    assertEquals(12 * degree(), low - high, 2 * WRITTEN);
  }

  /** A staircase turns at right angles only, and goes up where the plan went back. */
  @Test
  void theStaircaseHoldsEachValueUntilTheNext() {
    List<Svg.Spot> stairs = CHART.outlines("stairs").get(0);
    assertEquals(2 * PLAN.steps().size(), stairs.size());
    for (int i = 1; i < stairs.size(); i++) {
      boolean level = stairs.get(i).y() == stairs.get(i - 1).y();
      boolean upright = stairs.get(i).x() == stairs.get(i - 1).x();
      assertEquals(i % 2 == 1, level && !upright);
    }
    assertTrue(stairs.get(2).y() > stairs.get(0).y(), "36 to 20 cm goes down");
    assertTrue(stairs.get(4).y() < stairs.get(2).y(), "20 to 30 cm goes up");
  }

  /** Without colour: each response has a row, a letter and a shape of its own. */
  @Test
  void everySessionHasAMarkOfItsResponse() {
    String svg = ProgressChart.svg(PLAN, Locale.ENGLISH);
    for (Response response : Response.values()) {
      long sessions = PLAN.sessions().stream().filter(s -> s.response() == response).count();
      assertTrue(sessions > 0);
      String mark = "class=\"session " + response.code() + "\"";
      assertEquals(sessions, svg.split(mark, -1).length - 1, mark);
    }
    List<String> letters =
        CHART.words().stream()
            .filter(w -> w.kind().equals("letter"))
            .map(Picture.Words::words)
            .distinct()
            .toList();
    assertEquals(Response.values().length, letters.size());
    List<Integer> corners =
        List.of(
            CHART.outlines("session settled").size(),
            CHART.outlines("session stirred").get(0).size(),
            CHART.outlines("session flared").get(0).size());
    assertEquals(List.of(0, 3, 4), corners);
  }

  @Test
  void aPrecautionIsShadedFromItsFirstDayToItsLast() {
    List<Svg.Spot> shaded = CHART.outlines("precaution").get(0);
    List<Svg.Spot> bars = CHART.outlines("error").stream().map(bar -> bar.get(0)).toList();
    assertEquals(bars.get(1).x(), shaded.get(0).x(), WRITTEN);
    assertEquals(bars.get(2).x(), shaded.get(1).x(), WRITTEN);
  }

  @Test
  void decisionsAreNumberedInTheOrderOfTheirDays() {
    assertEquals(PLAN.decisions().size(), CHART.outlines("decision").size());
    List<Picture.Words> numbers =
        CHART.words().stream().filter(w -> w.kind().equals("number")).toList();
    assertEquals(List.of("1", "2", "3"), numbers.stream().map(Picture.Words::words).toList());
    assertTrue(numbers.get(0).x() < numbers.get(1).x());
    assertTrue(
        CHART.words().stream().anyMatch(w -> w.words().startsWith("2. 1 Feb 2027: Step 20 cm")));
  }

  @ParameterizedTest(name = "{0} days")
  @ValueSource(ints = {0, 1, 3, 30, 100, 400, 1500})
  void nothingIsOutsideTheChart(int days) {
    Progress plan = plan(days);
    for (Locale locale : List.of(Locale.ENGLISH, Locale.GERMAN)) {
      assertEquals(List.of(), new Picture(ProgressChart.svg(plan, locale)).outside());
    }
  }

  /** Sixty decisions in two months: those numbers that are written do not cover each other. */
  @Test
  void numbersDoNotCoverEachOther() {
    List<Progress.Note> many =
        IntStream.range(0, 60).mapToObj(i -> new Progress.Note(START.plusDays(i), "x")).toList();
    Progress plan =
        new Progress(
            PLAN.readings(),
            PLAN.mdc95(),
            PLAN.trend(),
            PLAN.forecast(),
            PLAN.goal(),
            PLAN.variable(),
            PLAN.steps(),
            PLAN.unit(),
            PLAN.sessions(),
            many,
            PLAN.precautions());
    List<Picture.Words> numbers =
        new Picture(ProgressChart.svg(plan, Locale.ENGLISH))
            .words().stream().filter(w -> w.kind().equals("number")).toList();
    assertTrue(numbers.size() > 5);
    for (Picture.Words a : numbers) {
      for (Picture.Words b : numbers) {
        double wide = (TextWidth.of(a.words(), true) + TextWidth.of(b.words(), true)) / 2;
        assertTrue(a == b || a.y() != b.y() || Math.abs(a.x() - b.x()) >= wide, a + " " + b);
      }
    }
  }

  @Test
  void aPlanWithoutReportsSaysSo() {
    Progress nothing =
        new Progress(
            List.of(),
            OptionalDouble.empty(),
            List.of(),
            List.of(),
            OptionalDouble.empty(),
            "",
            List.of(),
            Unit.CENTIMETRE,
            List.of(),
            List.of(),
            List.of());
    Picture chart = new Picture(ProgressChart.svg(nothing, Locale.GERMAN));
    assertEquals("Es ist noch nichts aufgezeichnet", chart.only("desc"));
    assertEquals(List.of(), chart.outside());
  }

  /** Beside a list of the decisions the chart keeps their numbers and leaves out their words. */
  @Test
  void theNumberedChartLeavesTheListToOthers() {
    Progress newest = PLAN.newest(2);
    assertEquals(
        List.of("Step 20 cm", "Back to 30 cm: the knee flared twice within 14 days & <more>"),
        newest.decisions().stream().map(Progress.Note::words).toList());
    List<String> said =
        new Picture(ProgressChart.numbered(newest, Locale.ENGLISH))
            .words().stream().map(Picture.Words::words).toList();
    assertTrue(said.containsAll(List.of("1", "2", "Stairs: Height of the step")), said.toString());
    assertTrue(said.stream().noneMatch(words -> words.contains("Back to")), said.toString());
  }

  /** Units of one degree, from the two lowest lines of the range and what stands beside them. */
  private static double degree() {
    List<Picture.Words> labels =
        CHART.words().stream()
            .filter(w -> w.kind().equals("value") && w.words().endsWith("°"))
            .toList();
    Picture.Words low = labels.get(0);
    Picture.Words next = labels.get(1);
    return (low.y() - next.y()) / (value(next) - value(low));
  }

  private static double value(Picture.Words label) {
    return Double.parseDouble(label.words().replace("°", ""));
  }

  private static Progress plan(int days) {
    List<Progress.Reading> readings = new ArrayList<>();
    List<Progress.Level> trend = new ArrayList<>();
    List<Progress.Session> sessions = new ArrayList<>();
    for (int i = 0; i < 5; i++) {
      LocalDate day = START.plusDays((long) days * i / 4);
      readings.add(new Progress.Reading(day, 104 + 5.5 * i, 7));
      trend.add(new Progress.Level(day, 105 + 5 * i));
    }
    for (int i = 0; i <= days; i++) {
      Response response =
          i == days
              ? Response.PENDING
              : i % 30 == 20 ? Response.FLARED : i % 9 == 4 ? Response.STIRRED : Response.SETTLED;
      sessions.add(new Progress.Session(START.plusDays(i), response));
    }
    LocalDate second = START.plusDays(days * 28L / 100);
    LocalDate third = START.plusDays(days * 60L / 100);
    return new Progress(
        readings,
        OptionalDouble.of(9.4),
        trend,
        List.of(
            new Progress.Fan(START.plusDays(days), 125, 125, 125),
            new Progress.Fan(START.plusDays(days + 60L), 122, 128, 134)),
        OptionalDouble.of(140),
        "Height of the step",
        List.of(
            new Progress.Step(second, 20),
            new Progress.Step(START, 36),
            new Progress.Step(third, 30)),
        Unit.CENTIMETRE,
        sessions,
        List.of(
            new Progress.Note(
                third, "Back to 30 cm: the knee flared twice within 14 days & <more>"),
            new Progress.Note(START, "Step 36 cm"),
            new Progress.Note(second, "Step 20 cm")),
        List.of(
            new Progress.Period(
                START.plusDays(days / 4),
                Optional.of(START.plusDays(days / 2)),
                "Keine belastete Beugung über 90 Grad bis zur Freigabe durch die Klinik")));
  }
}
