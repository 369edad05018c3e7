package org.tidemark.report;

import java.util.ArrayList;
import java.util.List;
import java.util.Locale;
import java.util.Optional;
import java.util.stream.DoubleStream;
import java.util.stream.Stream;
import org.tidemark.demand.Build;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.Variation;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Value;

/**
 * Draws a person in an exercise as a prescription sets it, from the side, as SVG text. The figure
 * is the one that {@link Postures} computes, to scale; below it stands in words what is set. The
 * element {@code svg} says how to get metres back: {@code data-scale} (units for each metre),
 * {@code data-left} and {@code data-floor} (where ahead and up begin).
 */
public final class PostureDrawing {
  private static final double WIDTH = 640;
  private static final double SIDE = 62;
  private static final double TOP = 16;
  private static final double TALLEST = 560;
  private static final double LARGEST_SCALE = 430;
  private static final double UNDER_FLOOR = 16;
  private static final double UNDER_MEASURE = 58;
  private static final double LINE = 33;

  /** Height of a step from which its label stands on it, units. */
  private static final double LEAST_FOR_LABEL = 32;

  /** A label this far from everything is free, units. */
  private static final double ROOM = 4;

  private static final double TEXT_SIDE = 16;

  private static final String NEAR = "stroke=\"#000\" stroke-width=\"3.5\" fill=\"#fff\"";
  private static final String FAR = "stroke=\"#000\" stroke-width=\"2\" fill=\"#ddd\"";
  private static final String THING = "stroke=\"#000\" stroke-width=\"3\" fill=\"#fff\"";
  private static final String THIN = "stroke=\"#000\" stroke-width=\"1.5\"";
  private static final String BONE = THIN + " stroke-dasharray=\"6 5\"";
  private static final String BOLD = "stroke=\"#000\" stroke-width=\"6\"";

  /** Radii of the body about its joints, metres: what one would draw (assumption). */
  private static final double HIP = 0.095;

  private static final double KNEE = 0.052;
  private static final double ANKLE = 0.036;
  private static final double WAIST = 0.088;
  private static final double CHEST = 0.108;
  private static final double SHOULDER = 0.06;
  private static final double ELBOW = 0.036;
  private static final double WRIST = 0.027;
  private static final double NECK = 0.045;

  /** Room that the label of a length takes, metres. */
  private static final double LABEL = 0.16;

  /** Radius of the head as a share of head and neck (assumption). */
  private static final double HEAD = 0.34;

  private final Posture posture;
  private final Build build;
  private final Words words;
  private final double scale;
  private final double left;
  private final double floor;
  private final List<String> captions;
  private final Svg svg;

  /** A circle of flesh about a place, metres. */
  private record Flesh(Point middle, double radius) {}

  /**
   * The picture of a prescription.
   *
   * @param prescription what is asked
   * @param variation the variation that it is a setting of
   * @param build the person's lengths
   * @param locale the language: English or German, English for any other
   * @return SVG text with a title and a description; empty for an exercise that has no picture, as
   *     one that a clinic added
   */
  public static Optional<String> svg(
      Prescription prescription, Variation variation, Build build, Locale locale) {
    return posture(prescription, variation, build)
        .map(
            posture ->
                new PostureDrawing(posture, build, new Words(locale), prescription, variation)
                    .draw(prescription));
  }

  /** The figure that is drawn, metres; empty for an exercise that has no picture. */
  public static Optional<Posture> posture(
      Prescription prescription, Variation variation, Build build) {
    return Postures.of(prescription, variation, build);
  }

  private PostureDrawing(
      Posture posture, Build build, Words words, Prescription prescription, Variation variation) {
    this.posture = posture;
    this.build = build;
    this.words = words;
    List<Flesh> all = all();
    double least = range(all, true).min().orElseThrow();
    double most = range(all, false).max().orElseThrow();
    double tall =
        all.stream().mapToDouble(part -> part.middle().y() + part.radius()).max().orElseThrow();
    scale =
        Math.min(
            LARGEST_SCALE, Math.min((WIDTH - 2 * SIDE) / (most - least), (TALLEST - TOP) / tall));
    left = WIDTH / 2 - scale * (least + most) / 2;
    floor = TOP + scale * tall;
    captions = captions(prescription, variation);
    double height = textTop() + LINE * captions.size();
    String title = words.of("title." + variation.code());
    svg =
        new Svg(
            WIDTH,
            height,
            words.language(),
            title,
            description(prescription, variation),
            "data-scale=\"%s\" data-left=\"%s\" data-floor=\"%s\""
                .formatted(Svg.number(scale), Svg.number(left), Svg.number(floor)));
  }

  private String draw(Prescription prescription) {
    ground();
    props(Prop.Kind.POST, Prop.Kind.WHEEL);
    limbs(posture.other(), FAR);
    foot(posture.other(), FAR);
    joints("other", posture.other(), 2.5);
    props(
        Prop.Kind.STEP,
        Prop.Kind.BENCH,
        Prop.Kind.SEAT,
        Prop.Kind.PAD,
        Prop.Kind.BOARD,
        Prop.Kind.WALL,
        Prop.Kind.RAIL,
        Prop.Kind.CRANK);
    List<Arm> arms = posture.arms();
    arms.stream().limit(arms.size() - 1).forEach(arm -> arm(arm, FAR));
    trunk();
    limbs(posture.leg(), NEAR);
    foot(posture.leg(), NEAR);
    posture.lowest().ifPresent(leg -> foot(leg, BONE + " fill=\"none\""));
    svg.circle("head", NEAR, spot(posture.head()), scale * HEAD * build.headAndNeck());
    contact();
    arm(arms.get(arms.size() - 1), NEAR);
    props(Prop.Kind.TOWEL, Prop.Kind.DUMBBELL);
    skeleton();
    kneeAngle();
    for (Posture.Measure measure : posture.measures()) {
      measure(measure, prescription.setting().get(measure.variable()));
    }
    double line = textTop() - 8;
    for (int i = 0; i < captions.size(); i++) {
      line += LINE;
      svg.text("caption", "start", "normal", new Svg.Spot(TEXT_SIDE, line), captions.get(i));
    }
    return svg.end();
  }

  private void ground() {
    Svg.Spot from = new Svg.Spot(8, floor);
    Svg.Spot to = new Svg.Spot(WIDTH - 8, floor);
    svg.hatch(
        THIN,
        List.of(from, to, new Svg.Spot(WIDTH - 8, floor + 10), new Svg.Spot(8, floor + 10)),
        14);
    svg.line("floor", "stroke=\"#000\" stroke-width=\"3\"", from, to);
  }

  private void props(Prop.Kind... kinds) {
    for (Prop.Kind kind : kinds) {
      posture.props().stream().filter(prop -> prop.kind() == kind).forEach(this::thing);
    }
  }

  private void thing(Prop prop) {
    List<Svg.Spot> outline = prop.outline().stream().map(this::spot).toList();
    Svg.Spot first = outline.get(0);
    double radius = scale * prop.radius();
    String kind = prop.kind().name().toLowerCase(Locale.ROOT);
    switch (prop.kind()) {
      case WALL -> {
        Svg.Spot top = outline.get(1);
        Svg.Spot behind = new Svg.Spot(first.x() - 10, first.y());
        svg.hatch(THIN, List.of(first, top, new Svg.Spot(behind.x(), top.y()), behind), 14);
        svg.line(kind, BOLD, first, top);
      }
      case RAIL -> {
        svg.line(kind, BOLD, first, outline.get(1));
        svg.circle("grip", "fill=\"#000\"", outline.get(1), 11);
      }
      case CRANK, POST -> svg.line(kind, BOLD, first, outline.get(1));
      case WHEEL -> svg.circle(kind, THING, first, radius);
      case TOWEL -> {
        svg.circle(kind, THING, first, radius);
        svg.circle("towel-roll", THIN + " fill=\"none\"", first, radius * 0.65);
        svg.circle("towel-roll", THIN + " fill=\"none\"", first, radius * 0.3);
      }
      case DUMBBELL -> {
        svg.circle(kind, "stroke=\"#000\" stroke-width=\"3\" fill=\"#555\"", first, radius);
        svg.circle("dumbbell-bar", "fill=\"#fff\"", first, radius * 0.3);
      }
      case STEP, BENCH, SEAT, PAD, BOARD -> {
        svg.path(kind, THING, outline, true);
        svg.hatch("stroke=\"#777\" stroke-width=\"1\"", outline, 13);
        svg.path(kind + "-edge", THING.replace("#fff", "none"), outline, true);
      }
    }
  }

  private void trunk() {
    Point hip = posture.leg().hip();
    Point shoulder = posture.shoulder();
    svg.circle("pelvis", NEAR, spot(hip), scale * HIP);
    body(
        NEAR,
        new Flesh(hip, HIP),
        new Flesh(hip.along(shoulder, 0.4), WAIST),
        new Flesh(hip.along(shoulder, 0.82), CHEST),
        new Flesh(shoulder, SHOULDER));
    body(NEAR, new Flesh(shoulder, NECK), new Flesh(posture.head(), NECK));
  }

  private void limbs(Leg leg, String style) {
    double thigh = build.meetingDistance() / build.thigh();
    double calf = build.meetingDistance() / build.shank();
    body(
        style,
        new Flesh(leg.hip(), HIP),
        new Flesh(leg.knee().along(leg.hip(), thigh), build.thighRadius()),
        new Flesh(leg.knee(), KNEE));
    body(
        style,
        new Flesh(leg.knee(), KNEE),
        new Flesh(leg.knee().along(leg.ankle(), calf), build.calfRadius()),
        new Flesh(leg.ankle(), ANKLE));
  }

  private void foot(Leg leg, String style) {
    Point above = leg.ankle();
    Point instep =
        leg.ankle().along(leg.ball(), 0.25).toward(leg.heel().direction(leg.ball()) + 90, 0.03);
    Point toeTop = leg.toe().toward(leg.ball().direction(leg.toe()) + 90, 0.025);
    Point ballTop = leg.ball().toward(leg.heel().direction(leg.ball()) + 90, 0.045);
    Point behind = leg.heel().toward(leg.heel().direction(leg.ball()) + 90, 0.05);
    svg.path(
        "foot",
        style,
        Stream.of(behind, leg.heel(), leg.ball(), leg.toe(), toeTop, ballTop, instep, above)
            .map(this::spot)
            .toList(),
        true);
  }

  private void arm(Arm arm, String style) {
    body(style, new Flesh(arm.shoulder(), SHOULDER * 0.8), new Flesh(arm.elbow(), ELBOW));
    body(style, new Flesh(arm.wrist(), WRIST), new Flesh(arm.tip(), WRIST * 0.6));
    body(style, new Flesh(arm.elbow(), ELBOW), new Flesh(arm.wrist(), WRIST));
  }

  /** Parts that follow one another as one outline: all edges first, then what is inside. */
  private void body(String style, Flesh... parts) {
    String fill = style.substring(style.indexOf("fill="));
    for (String each : List.of(style, fill)) {
      for (int i = 1; i < parts.length; i++) {
        svg.path("flesh", each, around(parts[i - 1], parts[i]), true);
      }
    }
  }

  /** The outline of a band around two circles. */
  private List<Svg.Spot> around(Flesh a, Flesh b) {
    double apart = a.middle().to(b.middle());
    double direction = a.middle().direction(b.middle());
    double cosine = (a.radius() - b.radius()) / apart;
    double turn = Math.toDegrees(Math.acos(Math.max(-1, Math.min(1, cosine))));
    List<Svg.Spot> outline = new ArrayList<>();
    int steps = 12;
    for (int i = 0; i <= steps; i++) {
      double at = direction - turn + 2 * turn * i / steps;
      outline.add(spot(b.middle().toward(at, b.radius())));
    }
    for (int i = 0; i <= steps; i++) {
      double at = direction + turn + (360 - 2 * turn) * i / steps;
      outline.add(spot(a.middle().toward(at, a.radius())));
    }
    return outline;
  }

  /** A bold line where calf and thigh touch; an arrow from one to the other where they do not. */
  private void contact() {
    if (posture.contact().isEmpty()) {
      return;
    }
    Posture.Contact at = posture.contact().get();
    double across = at.calf().direction(at.thigh());
    Point calf = at.calf().toward(across, build.calfRadius());
    Point thigh = at.thigh().toward(across + 180, build.thighRadius());
    Point middle = calf.along(thigh, 0.5);
    if (!at.reached()) {
      svg.line("gap", THIN, spot(calf), spot(thigh));
      bar(calf, across);
      bar(thigh, across);
    } else if (at.between() == 0) {
      double outward = posture.leg().knee().direction(middle);
      svg.line(
          "touch",
          BOLD,
          spot(middle.toward(outward + 180, 0.04)),
          spot(middle.toward(outward, 0.06)));
    }
  }

  private void bar(Point at, double across) {
    svg.line(
        "gap",
        "stroke=\"#000\" stroke-width=\"3\"",
        spot(at.toward(across + 90, 0.02)),
        spot(at.toward(across - 90, 0.02)));
  }

  private void skeleton() {
    Leg leg = posture.leg();
    svg.path(
        "bones",
        BONE,
        Stream.of(leg.hip(), leg.knee(), leg.ankle()).map(this::spot).toList(),
        false);
    joints("leg", leg, 5);
    joint("shoulder", posture.shoulder(), 3);
  }

  private void joints(String which, Leg leg, double radius) {
    joint(which + "-hip", leg.hip(), radius);
    joint(which + "-knee", leg.knee(), radius);
    joint(which + "-ankle", leg.ankle(), radius);
  }

  private void joint(String kind, Point at, double radius) {
    svg.circle(kind, "fill=\"#000\"", spot(at), radius);
  }

  /** An arc across the back of the knee, and its flexion outside of it. */
  private void kneeAngle() {
    Leg leg = posture.leg();
    if (leg.flexion() < 1) {
      return;
    }
    double from = leg.knee().direction(leg.hip());
    double turn = ((leg.knee().direction(leg.ankle()) - from) % 360 + 540) % 360 - 180;
    List<Svg.Spot> arc = new ArrayList<>();
    for (int i = 0; i <= 16; i++) {
      arc.add(spot(leg.knee().toward(from + turn * i / 16, 0.085)));
    }
    svg.path("knee-arc", "stroke=\"#000\" stroke-width=\"2.5\"", arc, false);
    String angle = words.degrees(leg.flexion());
    svg.label("knee-angle", freeSpot(leg.knee(), from + turn / 2 + 180, Svg.width(angle)), angle);
  }

  /**
   * Where a label beside a place covers least of the figure: the first of the directions about it
   * in which nothing is near, or the one in which most room is left.
   *
   * @param outward the direction that is best, degrees
   * @param width width of the label, units
   */
  private Svg.Spot freeSpot(Point about, double outward, double width) {
    List<Flesh> figure = figure();
    Svg.Spot best = null;
    double most = Double.NEGATIVE_INFINITY;
    for (int further : new int[] {8, 30, 52, 74, 96}) {
      for (int turn : new int[] {0, 20, -20, 40, -40, 60, -60, 80, -80, 100, -100}) {
        double angle = Math.toRadians(outward + turn);
        double away = scale * KNEE + further;
        Svg.Spot at = spot(about);
        Svg.Spot middle =
            new Svg.Spot(
                at.x() + Math.cos(angle) * (away + width / 2),
                at.y() - Math.sin(angle) * (away + Svg.FONT / 2));
        double room = Math.min(ROOM, room(middle, width, figure));
        if (room > most) {
          most = room;
          best = middle;
        }
      }
    }
    return new Svg.Spot(best.x(), best.y() + 0.35 * Svg.FONT);
  }

  /** How far a label is from the nearest of what is drawn, units; below 0 when it covers it. */
  private double room(Svg.Spot middle, double width, List<Flesh> figure) {
    double edge =
        Math.min(
            Math.min(middle.x(), WIDTH - middle.x()) - width / 2,
            Math.min(middle.y(), floor - middle.y()) - Svg.FONT / 2);
    for (Flesh part : figure) {
      Svg.Spot at = spot(part.middle());
      double dx = Math.max(0, Math.abs(at.x() - middle.x()) - width / 2);
      double dy = Math.max(0, Math.abs(at.y() - middle.y()) - Svg.FONT / 2);
      edge = Math.min(edge, Math.hypot(dx, dy) - scale * part.radius());
    }
    return edge;
  }

  /** What is drawn, as circles close to each other. */
  private List<Flesh> figure() {
    List<Flesh> figure = new ArrayList<>();
    for (Leg leg : List.of(posture.leg(), posture.other())) {
      between(figure, leg.hip(), leg.knee(), build.thighRadius());
      between(figure, leg.knee(), leg.ankle(), build.calfRadius());
      between(figure, leg.heel(), leg.toe(), 0.02);
    }
    between(figure, posture.leg().hip(), posture.shoulder(), WAIST);
    for (Arm arm : posture.arms()) {
      between(figure, arm.shoulder(), arm.elbow(), ELBOW);
      between(figure, arm.elbow(), arm.tip(), WRIST);
    }
    for (Prop prop : posture.props()) {
      List<Point> outline = prop.outline();
      for (int i = 0; i < outline.size(); i++) {
        between(figure, outline.get(i), outline.get((i + 1) % outline.size()), prop.radius());
      }
    }
    return figure;
  }

  private static void between(List<Flesh> figure, Point from, Point to, double radius) {
    for (int i = 0; i <= 20; i++) {
      figure.add(new Flesh(from.along(to, i / 20.0), radius));
    }
  }

  private void measure(Posture.Measure measure, Value value) {
    if (!(value instanceof Amount amount)) {
      return;
    }
    String label = words.amount(amount);
    Svg.Spot a = spot(measure.from());
    Svg.Spot b = spot(measure.to());
    Svg.Spot middle = spot(measure.label());
    if (underFloor(measure)) {
      double half = Svg.width(label) / 2 + 4;
      double x = Math.max(half, Math.min(WIDTH - half, middle.x()));
      middle = new Svg.Spot(x, floor + 44);
    }
    if (measure.from().x() == measure.to().x()) {
      double x = measure.from().x() < posture.leg().hip().x() ? a.x() - 10 : a.x() + 10;
      dimension(new Svg.Spot(x, a.y()), new Svg.Spot(x, b.y()), 6, 0);
    } else {
      dimension(new Svg.Spot(a.x(), floor + 20), new Svg.Spot(b.x(), floor + 20), 0, 6);
    }
    svg.label("measure", new Svg.Spot(middle.x(), middle.y() + 0.35 * Svg.FONT), label);
  }

  /** Whether a length is said under the floor: it lies along it, or is too low for a label. */
  private boolean underFloor(Posture.Measure measure) {
    double height = Math.abs(measure.to().y() - measure.from().y());
    return height * scale < LEAST_FOR_LABEL;
  }

  private void dimension(Svg.Spot a, Svg.Spot b, double wide, double high) {
    String style = "stroke=\"#000\" stroke-width=\"2.5\"";
    svg.line("dimension", style, a, b);
    for (Svg.Spot end : List.of(a, b)) {
      svg.line(
          "dimension-end",
          style,
          new Svg.Spot(end.x() - wide, end.y() - high),
          new Svg.Spot(end.x() + wide, end.y() + high));
    }
  }

  private List<String> captions(Prescription prescription, Variation variation) {
    List<String> all = new ArrayList<>();
    for (String said : said(prescription, variation)) {
      all.addAll(Svg.wrapped(said, WIDTH - 2 * TEXT_SIDE));
    }
    return all;
  }

  /** What is set, in words, then how the knee stands. */
  private List<String> said(Prescription prescription, Variation variation) {
    List<String> said = new ArrayList<>();
    variation
        .variables()
        .forEach(
            variable ->
                Optional.ofNullable(prescription.setting().get(variable.code()))
                    .flatMap(value -> words.set(variable.code(), value))
                    .ifPresent(said::add));
    if (posture.leg().flexion() >= 1) {
      said.add(words.of("knee", words.degrees(posture.leg().flexion())));
    }
    posture
        .contact()
        .ifPresent(
            at ->
                said.add(
                    words.of(
                        !at.reached()
                            ? "contact.gap"
                            : at.between() > 0 ? "contact.towel" : "contact.touch")));
    return said;
  }

  private String description(Prescription prescription, Variation variation) {
    return words.of("view." + variation.code())
        + " "
        + String.join(". ", said(prescription, variation))
        + ".";
  }

  private double textTop() {
    boolean under = posture.measures().stream().anyMatch(this::underFloor);
    return floor + (under ? UNDER_MEASURE : UNDER_FLOOR);
  }

  private Svg.Spot spot(Point at) {
    return new Svg.Spot(left + scale * at.x(), floor - scale * at.y());
  }

  /** Everything that must be inside the picture. */
  private List<Flesh> all() {
    List<Flesh> all = new ArrayList<>();
    for (Leg leg : List.of(posture.leg(), posture.other())) {
      all.add(new Flesh(leg.hip(), HIP));
      all.add(new Flesh(leg.knee(), Math.max(KNEE, build.calfRadius())));
      Stream.of(leg.ankle(), leg.heel(), leg.ball(), leg.toe())
          .forEach(at -> all.add(new Flesh(at, 0.05)));
    }
    all.add(new Flesh(posture.shoulder(), CHEST));
    all.add(new Flesh(posture.head(), HEAD * build.headAndNeck()));
    for (Arm arm : posture.arms()) {
      all.add(new Flesh(arm.elbow(), ELBOW));
      all.add(new Flesh(arm.tip(), WRIST));
    }
    posture.measures().forEach(measure -> all.add(new Flesh(measure.label(), LABEL)));
    for (Prop prop : posture.props()) {
      prop.outline().forEach(at -> all.add(new Flesh(at, prop.radius())));
    }
    return all;
  }

  private static DoubleStream range(List<Flesh> all, boolean low) {
    return all.stream()
        .mapToDouble(part -> part.middle().x() + (low ? -part.radius() : part.radius()));
  }
}
