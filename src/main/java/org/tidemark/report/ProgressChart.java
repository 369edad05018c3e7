package org.tidemark.report;

import java.math.BigDecimal;
import java.math.RoundingMode;
import java.time.LocalDate;
import java.time.format.DateTimeFormatter;
import java.time.temporal.ChronoUnit;
import java.util.ArrayList;
import java.util.Comparator;
import java.util.List;
import java.util.Locale;
import java.util.stream.Collectors;
import java.util.stream.DoubleStream;
import java.util.stream.Stream;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Unit;
import org.tidemark.response.Response;

/**
 * Draws how a plan has gone, as SVG text without colour: the range with its error, band, trend and
 * forecast; under it a row of sessions for each response; under that the leading variable as a
 * staircase. Decisions are numbered and listed below; precautions are hatched.
 */
public final class ProgressChart {
  private static final double WIDTH = 640;
  private static final double LEFT = 92;
  private static final double RIGHT = 615;
  private static final double RANGE_TOP = 52;
  private static final double RANGE_FLOOR = 264;
  private static final double ROW = 28;
  private static final double ROWS_TOP = 290;
  private static final double STEPS_TOP = 440;
  private static final double STEPS_FLOOR = 560;
  private static final double DATES = 592;
  private static final double LINE = 33;
  private static final double SIDE = 16;
  private static final double BETWEEN_DATES = 220;
  private static final double MARK = 8;

  private static final String AXIS = "stroke=\"#000\" stroke-width=\"2\"";
  private static final String GRID = "stroke=\"#bbb\" stroke-width=\"1\"";
  private static final String BOLD = "stroke=\"#000\" stroke-width=\"4\"";
  private static final String DASHED = AXIS + " stroke-dasharray=\"9 6\"";
  private static final String DOTTED = AXIS + " stroke-dasharray=\"2 6\"";

  private final Progress progress;
  private final Words words;
  private final boolean listed;
  private final DateTimeFormatter dates;
  private final LocalDate first;
  private final double days;
  private final Scale range;
  private final Scale steps;
  private final List<String> notes;
  private final Svg svg;

  /** Values of one panel: from the lowest to the highest line, and how far lines are apart. */
  private record Scale(double low, double high, double apart, double top, double floor) {

    static Scale of(List<Double> values, double top, double floor, int lines) {
      double low = values.stream().mapToDouble(v -> v).min().orElse(0);
      double high = values.stream().mapToDouble(v -> v).max().orElse(1);
      double span = Math.max(high - low, 1);
      double apart = Math.pow(10, Math.floor(Math.log10(span / lines)));
      for (double factor : new double[] {2, 2.5, 2}) {
        apart = span / apart > lines ? apart * factor : apart;
      }
      double from = Math.floor(low / apart) * apart;
      double to = Math.max(Math.ceil(high / apart) * apart, from + apart);
      return new Scale(from, to, apart, top, floor);
    }

    double y(double value) {
      return floor - (value - low) / (high - low) * (floor - top);
    }

    List<Double> lines() {
      return DoubleStream.iterate(low, v -> v <= high + apart / 2, v -> v + apart).boxed().toList();
    }
  }

  /**
   * The chart of a plan.
   *
   * @param progress what has been recorded
   * @param locale the language: English or German, English for any other
   * @return SVG text with a title and a description; also where nothing has been recorded yet
   */
  public static String svg(Progress progress, Locale locale) {
    return new ProgressChart(progress, new Words(locale), true).draw();
  }

  /** The same where the decisions are listed beside it, by the same numbers. */
  static String numbered(Progress progress, Locale locale) {
    return new ProgressChart(progress, new Words(locale), false).draw();
  }

  private ProgressChart(Progress progress, Words words, boolean listed) {
    this.progress = progress;
    this.words = words;
    this.listed = listed;
    dates = DateTimeFormatter.ofPattern(words.of("date.day"), words.locale());
    List<LocalDate> all = dates(progress).sorted().toList();
    first = all.isEmpty() ? LocalDate.EPOCH : all.get(0);
    LocalDate last = all.isEmpty() ? first : all.get(all.size() - 1);
    days = Math.max(1, ChronoUnit.DAYS.between(first, last));
    range = Scale.of(ranges(), RANGE_TOP, RANGE_FLOOR, 5);
    List<Double> values = new ArrayList<>(progress.steps().stream().map(s -> s.value()).toList());
    values.add(0.0);
    steps = Scale.of(values, STEPS_TOP, STEPS_FLOOR, 4);
    notes = notes();
    String description =
        all.isEmpty()
            ? words.of("chart.empty")
            : words.of(
                "chart.description",
                angle(range.low()),
                angle(range.high()),
                progress.sessions().size(),
                progress.decisions().size());
    double height = DATES + 14 + LINE * notes.size();
    svg = new Svg(WIDTH, height, words.language(), words.of("chart.title"), description, "");
  }

  private String draw() {
    progress.precautions().forEach(this::precaution);
    if (!progress.readings().isEmpty()) {
      range();
    }
    sessions();
    staircase();
    dates();
    decisions();
    double y = DATES + 6;
    for (String note : notes) {
      y += LINE;
      svg.text("note", "start", "normal", new Svg.Spot(SIDE, y), note);
    }
    return svg.end();
  }

  private void range() {
    grid(range, Unit.DEGREE);
    Progress.Reading start = earliest();
    progress
        .mdc95()
        .ifPresent(
            change ->
                area(
                    "band",
                    "fill=\"#000\" fill-opacity=\"0.18\"",
                    range.y(start.degrees() + change),
                    range.y(start.degrees() - change)));
    progress
        .goal()
        .ifPresent(
            goal ->
                svg.line(
                    "goal",
                    BOLD + " stroke-dasharray=\"1 9\"",
                    new Svg.Spot(LEFT, range.y(goal)),
                    new Svg.Spot(RIGHT, range.y(goal))));
    List<Progress.Level> trend =
        progress.trend().stream().sorted(Comparator.comparing(Progress.Level::day)).toList();
    if (!trend.isEmpty()) {
      svg.path("trend", BOLD, trend.stream().map(l -> at(l.day(), l.degrees())).toList(), false);
    }
    List<Progress.Fan> fan =
        progress.forecast().stream().sorted(Comparator.comparing(Progress.Fan::day)).toList();
    if (!fan.isEmpty()) {
      svg.path("fan-low", DASHED, fan.stream().map(f -> at(f.day(), f.low())).toList(), false);
      svg.path(
          "fan-middle", DASHED, fan.stream().map(f -> at(f.day(), f.middle())).toList(), false);
      svg.path("fan-high", DASHED, fan.stream().map(f -> at(f.day(), f.high())).toList(), false);
    }
    for (Progress.Reading reading : progress.readings()) {
      svg.line(
          "error",
          AXIS,
          at(reading.day(), reading.degrees() - reading.error()),
          at(reading.day(), reading.degrees() + reading.error()));
      svg.circle(
          "reading",
          "stroke=\"#000\" stroke-width=\"2.5\" fill=\"#fff\"",
          at(reading.day(), reading.degrees()),
          5.5);
    }
  }

  private void sessions() {
    for (Response response : Response.values()) {
      double y = row(response);
      svg.line("row", GRID, new Svg.Spot(LEFT, y), new Svg.Spot(RIGHT, y));
      mark("key", response, new Svg.Spot(LEFT - 24, y), MARK - 2);
      svg.text(
          "letter", "end", "bold", new Svg.Spot(LEFT - 42, y + 0.35 * Svg.FONT), letter(response));
    }
    for (Progress.Session session : progress.sessions()) {
      mark(
          "session",
          session.response(),
          new Svg.Spot(x(session.day()), row(session.response())),
          dot());
    }
  }

  /** One shape for each response: a dot, a triangle, a filled square, an empty ring. */
  private void mark(String use, Response response, Svg.Spot at, double dot) {
    String kind = use + " " + response.name().toLowerCase(Locale.ROOT);
    double x = at.x();
    double y = at.y();
    switch (response) {
      case SETTLED -> svg.circle(kind, "fill=\"#000\"", at, dot);
      case PENDING ->
          svg.circle(kind, "stroke=\"#000\" stroke-width=\"2\" fill=\"#fff\"", at, MARK - 3);
      case STIRRED ->
          svg.path(
              kind,
              "stroke=\"#000\" stroke-width=\"2\" fill=\"#fff\"",
              List.of(
                  new Svg.Spot(x, y - MARK),
                  new Svg.Spot(x + MARK, y + MARK - 2),
                  new Svg.Spot(x - MARK, y + MARK - 2)),
              true);
      case FLARED ->
          svg.path(
              kind,
              "fill=\"#000\"",
              List.of(
                  new Svg.Spot(x - MARK, y - MARK),
                  new Svg.Spot(x + MARK, y - MARK),
                  new Svg.Spot(x + MARK, y + MARK),
                  new Svg.Spot(x - MARK, y + MARK)),
              true);
    }
  }

  /** Radius of the mark that is most frequent: smaller when sessions stand close to each other. */
  private double dot() {
    return Math.max(2.5, Math.min(MARK - 2, 0.4 * (RIGHT - LEFT) / days));
  }

  private void staircase() {
    List<Progress.Step> in =
        progress.steps().stream().sorted(Comparator.comparing(Progress.Step::day)).toList();
    if (in.isEmpty()) {
      return;
    }
    grid(steps, progress.unit());
    List<Svg.Spot> stairs = new ArrayList<>();
    for (Progress.Step step : in) {
      double x = x(step.day());
      if (!stairs.isEmpty()) {
        stairs.add(new Svg.Spot(x, stairs.get(stairs.size() - 1).y()));
      }
      stairs.add(new Svg.Spot(x, steps.y(step.value())));
    }
    double now = x(lastRecorded());
    stairs.add(new Svg.Spot(now, stairs.get(stairs.size() - 1).y()));
    svg.path("stairs", BOLD, stairs, false);
  }

  private void grid(Scale scale, Unit unit) {
    for (double value : scale.lines()) {
      double y = scale.y(value);
      svg.line("grid", GRID, new Svg.Spot(LEFT, y), new Svg.Spot(RIGHT, y));
      String label = words.amount(new Amount(rounded(value), unit));
      svg.text("value", "end", "normal", new Svg.Spot(LEFT - 8, y + 0.35 * Svg.FONT), label);
    }
    svg.line("axis", AXIS, new Svg.Spot(LEFT, scale.top()), new Svg.Spot(LEFT, scale.floor()));
  }

  private void precaution(Progress.Period period) {
    double from = x(period.from());
    double to = period.to().map(this::x).orElse(RIGHT);
    List<Svg.Spot> outline =
        List.of(
            new Svg.Spot(from, RANGE_TOP),
            new Svg.Spot(to, RANGE_TOP),
            new Svg.Spot(to, STEPS_FLOOR),
            new Svg.Spot(from, STEPS_FLOOR));
    svg.path("precaution", "fill=\"#f2f2f2\"", outline, true);
    svg.hatch("stroke=\"#999\" stroke-width=\"1\"", outline, 18);
  }

  /**
   * Numbers over the day of each decision; one that would cover another stands a line lower, and
   * where that is taken too the list alone says it.
   */
  private void decisions() {
    double[] free = {LEFT - 40, LEFT - 40};
    int number = 0;
    for (Progress.Note note : decided()) {
      number++;
      double half = Svg.width("" + number) / 2 + 5;
      double x = Math.min(x(note.day()), WIDTH - half);
      int line = x - half >= free[0] ? 0 : 1;
      double top = RANGE_TOP;
      if (x - half >= free[line]) {
        free[line] = x + half;
        svg.label("number", new Svg.Spot(x, 22 + 24 * line), "" + number);
        top = 30 + 24 * line;
      }
      svg.line("decision", DOTTED, new Svg.Spot(x, top), new Svg.Spot(x, STEPS_FLOOR));
    }
  }

  private void dates() {
    if (days <= 1) {
      return;
    }
    long last = Math.round(days);
    long apart = (long) Math.ceil(days / Math.floor((RIGHT - LEFT) / BETWEEN_DATES));
    for (long after = 0; after <= last - apart; after += apart) {
      date(after, after == 0 ? "start" : "middle", after == 0 ? -30 : 0);
    }
    date(last, "end", 12);
    svg.line("axis", AXIS, new Svg.Spot(LEFT, STEPS_FLOOR), new Svg.Spot(RIGHT, STEPS_FLOOR));
  }

  /** A date below its tick, so far aside of it. */
  private void date(long after, String anchor, double aside) {
    LocalDate day = first.plusDays(after);
    double x = x(day);
    svg.line("date", AXIS, new Svg.Spot(x, STEPS_FLOOR), new Svg.Spot(x, STEPS_FLOOR + 7));
    svg.text("day", anchor, "normal", new Svg.Spot(x + aside, DATES), dates.format(day));
  }

  private List<String> notes() {
    List<String> said = new ArrayList<>();
    said.add(
        Stream.of(Response.values())
            .map(response -> letter(response) + ":\u00a0" + words.of(key(response)))
            .collect(Collectors.joining(" · ")));
    if (!progress.readings().isEmpty()) {
      said.add(words.of("chart.error"));
      progress.mdc95().ifPresent(change -> said.add(words.of("chart.band")));
      progress.goal().ifPresent(goal -> said.add(words.of("chart.goal")));
      if (!progress.trend().isEmpty()) {
        said.add(words.of("chart.trend"));
      }
      if (!progress.forecast().isEmpty()) {
        said.add(words.of("chart.fan"));
      }
    }
    if (!progress.steps().isEmpty() && !progress.variable().isBlank()) {
      said.add(words.of("chart.steps", progress.variable()));
    }
    progress.precautions().forEach(p -> said.add(words.of("chart.precaution", p.words())));
    int number = 0;
    for (Progress.Note note : listed ? decided() : List.<Progress.Note>of()) {
      number++;
      said.add(number + ". " + dates.format(note.day()) + ": " + note.words());
    }
    return said.stream().flatMap(s -> Svg.wrapped(s, WIDTH - 2 * SIDE).stream()).toList();
  }

  private List<Progress.Note> decided() {
    return progress.decisions().stream().sorted(Comparator.comparing(Progress.Note::day)).toList();
  }

  private Progress.Reading earliest() {
    return progress.readings().stream()
        .min(Comparator.comparing(Progress.Reading::day))
        .orElseThrow();
  }

  /** The newest day on which something happened, as against what is only expected. */
  private LocalDate lastRecorded() {
    return Stream.of(
            progress.readings().stream().map(Progress.Reading::day),
            progress.steps().stream().map(Progress.Step::day),
            progress.sessions().stream().map(Progress.Session::day),
            progress.decisions().stream().map(Progress.Note::day))
        .flatMap(all -> all)
        .max(Comparator.naturalOrder())
        .orElse(first);
  }

  private static Stream<LocalDate> dates(Progress progress) {
    return Stream.of(
            progress.readings().stream().map(Progress.Reading::day),
            progress.trend().stream().map(Progress.Level::day),
            progress.forecast().stream().map(Progress.Fan::day),
            progress.steps().stream().map(Progress.Step::day),
            progress.sessions().stream().map(Progress.Session::day),
            progress.decisions().stream().map(Progress.Note::day))
        .flatMap(all -> all);
  }

  private List<Double> ranges() {
    List<Double> all = new ArrayList<>();
    progress
        .readings()
        .forEach(r -> all.addAll(List.of(r.degrees() - r.error(), r.degrees() + r.error())));
    progress.trend().forEach(level -> all.add(level.degrees()));
    progress.forecast().forEach(fan -> all.addAll(List.of(fan.low(), fan.high())));
    progress.goal().ifPresent(all::add);
    if (!progress.readings().isEmpty()) {
      double start = earliest().degrees();
      progress.mdc95().ifPresent(change -> all.addAll(List.of(start - change, start + change)));
    }
    return all;
  }

  private void area(String kind, String style, double top, double floor) {
    svg.path(
        kind,
        style,
        List.of(
            new Svg.Spot(LEFT, top),
            new Svg.Spot(RIGHT, top),
            new Svg.Spot(RIGHT, floor),
            new Svg.Spot(LEFT, floor)),
        true);
  }

  private Svg.Spot at(LocalDate day, double degrees) {
    return new Svg.Spot(x(day), range.y(degrees));
  }

  /** A day before the first or after the last stands at the edge. */
  private double x(LocalDate day) {
    double share = ChronoUnit.DAYS.between(first, day) / days;
    return LEFT + Math.max(0, Math.min(1, share)) * (RIGHT - LEFT);
  }

  private static double row(Response response) {
    return ROWS_TOP + ROW * (response.ordinal() + 0.5);
  }

  private String letter(Response response) {
    return words.of(key(response) + ".letter");
  }

  private static String key(Response response) {
    return "response." + response.name().toLowerCase(Locale.ROOT);
  }

  private String angle(double degrees) {
    return words.amount(new Amount(rounded(degrees), Unit.DEGREE));
  }

  private static BigDecimal rounded(double value) {
    return BigDecimal.valueOf(value).setScale(2, RoundingMode.HALF_UP);
  }
}
