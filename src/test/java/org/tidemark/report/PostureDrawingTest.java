package org.tidemark.report;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.io.IOException;
import java.io.InputStreamReader;
import java.io.Reader;
import java.nio.charset.StandardCharsets;
import java.util.ArrayList;
import java.util.Comparator;
import java.util.HashMap;
import java.util.List;
import java.util.Locale;
import java.util.Map;
import java.util.Optional;
import java.util.Properties;
import java.util.TreeSet;
import java.util.stream.Stream;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.MethodSource;
import org.tidemark.demand.Build;
import org.tidemark.programme.Dose;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.ProgressionVariable;
import org.tidemark.programme.Setting;
import org.tidemark.programme.Source;
import org.tidemark.programme.TestProgrammes;
import org.tidemark.programme.Variation;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Grade;
import org.tidemark.quantity.Unit;
import org.tidemark.quantity.Value;

/** The picture is the model's figure, to scale, and all of it can be seen and read. */
class PostureDrawingTest {
  /** The picture is written to a hundredth of a unit, at some hundred units for each metre. */
  private static final double WRITTEN = 3e-4;

  private static final Build USUAL = Build.of(Map.of());

  /** What the amounts are set to, least, usual, most. */
  private static final Map<String, List<Amount>> AMOUNTS =
      Map.ofEntries(
          Map.entry("step-height", centimetres("0", "4", "17.5", "36")),
          Map.entry("dumbbell-load", kilograms("0", "12.5")),
          Map.entry("towel-thickness", centimetres("0", "1.5", "8", "20")),
          Map.entry("seat-height", centimetres("0", "30", "45")),
          Map.entry("wall-distance", centimetres("0", "14", "30")),
          Map.entry("board-angle", List.of(degree(5), degree(20), degree(30))),
          Map.entry("seat-distance", centimetres("0", "4", "12")),
          Map.entry("cycling-time", List.of(Amount.of(20, Unit.MINUTE))),
          Map.entry("drop-height", centimetres("0", "5", "17.5")));

  /** A variation, what it is set to, and whose picture it is. */
  record Case(Variation variation, Setting setting, Build build, String person) {
    @Override
    public String toString() {
      return variation.code() + " " + setting.values().values() + " " + person;
    }

    Posture posture() {
      return PostureDrawing.posture(prescription(), variation, build).orElseThrow();
    }

    Picture picture(Locale locale) {
      return new Picture(
          PostureDrawing.svg(prescription(), variation, build, locale).orElseThrow());
    }

    Prescription prescription() {
      return new Prescription("any", variation.code(), setting, new Dose(2, 10, 0, 0, 7));
    }
  }

  static List<Case> cases() {
    Map<String, Build> people =
        Map.of(
            "usual", USUAL,
            "small", Build.of(Map.of("body-height", Amount.of(140, Unit.CENTIMETRE))),
            "tall", Build.of(Map.of("body-height", Amount.of(205, Unit.CENTIMETRE))));
    List<Case> cases = new ArrayList<>();
    for (Variation variation : variations()) {
      for (Setting setting : settings(variation)) {
        people.forEach((who, build) -> cases.add(new Case(variation, setting, build, who)));
      }
    }
    return cases;
  }

  @Test
  void everyVariationOfBothProgrammesIsDrawn() {
    assertEquals(8, variations().size());
    assertTrue(cases().size() > 400, () -> cases().size() + " cases");
  }

  @ParameterizedTest(name = "{0}")
  @MethodSource("cases")
  void thePictureIsTheFigure(Case it) {
    Posture posture = it.posture();
    Picture picture = it.picture(Locale.ENGLISH);
    Leg leg = posture.leg();
    assertNear(leg.hip(), picture.joint("leg-hip"));
    assertNear(leg.knee(), picture.joint("leg-knee"));
    assertNear(leg.ankle(), picture.joint("leg-ankle"));
    assertNear(posture.other().knee(), picture.joint("other-knee"));
    assertNear(posture.shoulder(), picture.joint("shoulder"));
    Point knee = picture.joint("leg-knee");
    Leg drawn =
        new Leg(picture.joint("leg-hip"), knee, picture.joint("leg-ankle"), knee, knee, knee);
    assertEquals(leg.flexion(), drawn.flexion(), 0.1);
  }

  @ParameterizedTest(name = "{0}")
  @MethodSource("cases")
  void everySegmentKeepsItsLength(Case it) {
    Posture posture = it.posture();
    Build build = it.build();
    for (Leg leg : List.of(posture.leg(), posture.other())) {
      assertEquals(build.thigh(), leg.hip().to(leg.knee()), 1e-9);
      assertEquals(build.shank(), leg.knee().to(leg.ankle()), 1e-9);
      assertEquals(build.ballAhead() + build.heelBehind(), leg.heel().to(leg.ball()), 1e-9);
    }
    assertEquals(build.trunk(), posture.leg().hip().to(posture.shoulder()), 1e-9);
    for (Arm arm : posture.arms()) {
      assertEquals(build.upperArm(), arm.shoulder().to(arm.elbow()), 1e-9);
      assertEquals(build.forearm(), arm.elbow().to(arm.wrist()), 1e-9);
    }
  }

  @ParameterizedTest(name = "{0}")
  @MethodSource("cases")
  void nothingIsBelowTheFloor(Case it) {
    Posture posture = it.posture();
    List<Point> lowest = new ArrayList<>();
    for (Leg leg :
        List.of(posture.leg(), posture.other(), posture.lowest().orElse(posture.leg()))) {
      lowest.addAll(List.of(leg.hip(), leg.knee(), leg.ankle(), leg.heel(), leg.ball(), leg.toe()));
    }
    posture.arms().forEach(arm -> lowest.addAll(List.of(arm.elbow(), arm.wrist(), arm.tip())));
    posture.props().forEach(prop -> lowest.addAll(prop.outline()));
    Point least = lowest.stream().min(Comparator.comparingDouble(Point::y)).orElseThrow();
    assertTrue(least.y() > -1e-9, least.toString());
  }

  @ParameterizedTest(name = "{0}")
  @MethodSource("cases")
  void nothingIsOutsideThePictureAndTheLongestTextsFit(Case it) {
    assertEquals(List.of(), it.picture(Locale.ENGLISH).outside());
    assertEquals(List.of(), it.picture(Locale.GERMAN).outside());
  }

  /** Depth as the programme asks: in the split squat and on the board that of the demand model. */
  @ParameterizedTest(name = "{0}: {1} deg")
  @CsvSource({
    "split-squat-rock, 140",
    "slant-board-squat, 140",
    "wall-quadriceps-stretch, 140",
    "recumbent-cycling, 110",
    "standing-heel-raise, 0"
  })
  void theKneeIsBentAsFarAsTheProgrammeSays(String variation, double flexion) {
    cases().stream()
        .filter(it -> it.variation().code().equals(variation))
        .filter(it -> !isAbove(it.setting(), "seat-distance", 0))
        .forEach(it -> assertEquals(flexion, it.posture().leg().flexion(), 1e-6));
  }

  /** A towel lies exactly between calf and thigh, and opens the knee. */
  @ParameterizedTest(name = "{0} cm")
  @CsvSource({"1.5", "4", "8", "12", "20", "30"})
  void calfAndThighMeetOnTheTowel(String thickness) {
    Posture posture = towel(thickness);
    double metres = Double.parseDouble(thickness) / 100;
    assertEquals(metres, posture.contact().orElseThrow().apart(), 1e-9);
    assertTrue(posture.contact().orElseThrow().reached());
    Prop roll =
        posture.props().stream()
            .filter(prop -> prop.kind() == Prop.Kind.TOWEL)
            .findFirst()
            .orElseThrow();
    Posture.Contact at = posture.contact().orElseThrow();
    assertEquals(metres / 2, roll.radius(), 1e-9);
    double radius = roll.radius();
    assertEquals(USUAL.calfRadius(), roll.outline().get(0).to(at.calf()) - radius, 1e-9);
    assertEquals(USUAL.thighRadius(), roll.outline().get(0).to(at.thigh()) - radius, 1e-9);
  }

  @Test
  void aThinnerTowelLetsTheKneeBendFurther() {
    List<Double> flexions =
        Stream.of("20", "8", "4", "2", "0").map(t -> towel(t).leg().flexion()).toList();
    assertEquals(flexions.stream().sorted().toList(), flexions);
    assertEquals(90, flexions.get(0), 1e-9);
    assertEquals(140, flexions.get(4), 1e-9);
  }

  /** Legs so thin that 140 degrees leave a gap: it is drawn and said, not a touch. */
  @Test
  void aGapIsShownAsOne() {
    Variation squat = variation("split-squat-rock");
    Setting setting = new Setting(Map.of("step-height", Amount.of("0", Unit.CENTIMETRE)));
    Build thin =
        Build.of(
            Map.of(
                "calf-girth", Amount.of(24, Unit.CENTIMETRE),
                "thigh-girth", Amount.of(36, Unit.CENTIMETRE)));
    Picture gap = new Case(squat, setting, thin, "thin").picture(Locale.ENGLISH);
    assertEquals(3, gap.outlines("gap").size());
    assertEquals(0, gap.outlines("touch").size());
    assertTrue(gap.only("desc").contains("Calf and thigh are still apart"));
    Picture touch = new Case(squat, setting, USUAL, "usual").picture(Locale.ENGLISH);
    assertEquals(0, touch.outlines("gap").size());
    assertEquals(1, touch.outlines("touch").size());
    assertTrue(touch.only("desc").contains("Calf and thigh touch"));
  }

  @ParameterizedTest(name = "{0} cm, heel {1}")
  @CsvSource({"0, raised", "0, flat", "10, raised", "36, flat", "36, raised"})
  void theFeetOfASplitSquatStandOnStepAndFloor(String height, String heel) {
    Case it =
        new Case(
            variation("split-squat-rock"),
            new Setting(
                Map.of(
                    "step-height",
                    Amount.of(height, Unit.CENTIMETRE),
                    "heel-position",
                    new Grade(heel))),
            USUAL,
            "usual");
    Posture posture = it.posture();
    double step = Double.parseDouble(height) / 100;
    assertEquals(step, posture.leg().ball().y(), 1e-9);
    assertEquals(step, posture.leg().toe().y(), 1e-9);
    assertEquals(heel.equals("flat"), posture.leg().heel().y() < step + 1e-9);
    assertEquals(0, posture.other().ball().y(), 1e-9);
    assertEquals(0, posture.other().flexion(), 1e-4);
    Build.Squat squat =
        USUAL.squat(140, heel.equals("raised"), posture.leg().ankle().y() - USUAL.ankleHeight());
    double ankle = posture.leg().ankle().x();
    assertEquals(squat.knee(), posture.leg().knee().x() - ankle, 1e-9);
    assertEquals(squat.hip(), posture.leg().hip().x() - ankle, 1e-9);
    assertEquals(squat.hipHeight(), posture.leg().hip().y(), 1e-9);
    assertEquals(squat.rearBall(), posture.other().ball().x() - ankle, 1e-9);
    Picture picture = it.picture(Locale.ENGLISH);
    List<List<Svg.Spot>> drawn = picture.outlines("step");
    assertEquals(step > 0 ? 1 : 0, drawn.size());
    if (step > 0) {
      double scale = Double.parseDouble(picture.root.getAttribute("data-scale"));
      double units = drawn.get(0).get(0).y() - drawn.get(0).get(1).y();
      assertEquals(step, units / scale, WRITTEN);
    }
  }

  @ParameterizedTest(name = "{0}, {1} kg: {2} on the rail, {3} dumbbells")
  @CsvSource({
    "two-hands, 0, 2, 0",
    "one-hand, 5, 1, 1",
    "fingertips, 0, 1, 0",
    "none, 10, 0, 2",
    "none, 0, 0, 0"
  })
  void theHandsAreWhereTheSettingPutsThem(String assist, long load, int onRail, int dumbbells) {
    Posture posture =
        new Case(
                variation("split-squat-rock"),
                new Setting(
                    Map.of(
                        "hand-assist",
                        new Grade(assist),
                        "dumbbell-load",
                        Amount.of(load, Unit.KILOGRAM))),
                USUAL,
                "usual")
            .posture();
    Optional<Point> rail =
        posture.props().stream()
            .filter(prop -> prop.kind() == Prop.Kind.RAIL)
            .map(prop -> prop.outline().get(1))
            .findFirst();
    assertEquals(onRail > 0, rail.isPresent());
    assertEquals(
        onRail,
        posture.arms().stream()
            .filter(arm -> rail.filter(grip -> grip.to(arm.tip()) < 0.01).isPresent())
            .count());
    assertEquals(
        dumbbells,
        posture.props().stream().filter(prop -> prop.kind() == Prop.Kind.DUMBBELL).count());
  }

  @Test
  void aScreenReaderHearsThePicture() {
    Picture german = split("17.5").picture(Locale.GERMANY);
    assertEquals("Vorwippen in die volle Beugung", german.only("title"));
    assertTrue(german.only("desc").contains("Stufe unter dem vorderen Fuß: 17,5 cm"));
    assertTrue(german.only("desc").contains("Beugung des Knies: 140°"));
    assertEquals("img", german.root.getAttribute("role"));
    assertEquals("de", german.root.getAttribute("xml:lang"));
    assertEquals("en", split("17.5").picture(Locale.FRENCH).root.getAttribute("xml:lang"));
  }

  @Test
  void germanSaysAllThatEnglishSays() throws IOException {
    TreeSet<Object> english = new TreeSet<>(texts("drawing.properties").keySet());
    english.removeIf(key -> key.toString().startsWith("unit."));
    assertEquals(english, new TreeSet<>(texts("drawing_de.properties").keySet()));
  }

  /** Every value of every variable of the programmes is said in words. */
  @ParameterizedTest(name = "{0}")
  @MethodSource("cases")
  void everythingThatIsSetIsSaid(Case it) {
    Words words = new Words(Locale.ENGLISH);
    String said = it.picture(Locale.ENGLISH).only("desc");
    it.setting()
        .values()
        .forEach((code, value) -> assertTrue(said.contains(words.set(code, value).orElseThrow())));
  }

  @Test
  void anExerciseOfAClinicHasNoPicture() {
    Variation known = variation("split-squat-rock");
    Variation own =
        new Variation(
            "clinic-own",
            known.title(),
            known.instruction(),
            true,
            true,
            known.reach(),
            known.variables(),
            known.ladder(),
            known.demand());
    Prescription asked =
        new Prescription("any", "clinic-own", new Setting(Map.of()), new Dose(1, 1, 0, 0, 7));
    assertFalse(PostureDrawing.svg(asked, own, USUAL, Locale.ENGLISH).isPresent());
  }

  private static Case split(String height) {
    return new Case(
        variation("split-squat-rock"),
        new Setting(Map.of("step-height", Amount.of(height, Unit.CENTIMETRE))),
        USUAL,
        "usual");
  }

  private static Posture towel(String thickness) {
    Setting setting = new Setting(Map.of("towel-thickness", Amount.of(thickness, Unit.CENTIMETRE)));
    return new Case(variation("towel-flexion-stretch"), setting, USUAL, "usual").posture();
  }

  private static List<Variation> variations() {
    return Stream.of(TestProgrammes.KNEE_AS_SHIPPED, TestProgrammes.HEEL)
        .flatMap(programme -> programme.stages().stream())
        .flatMap(stage -> stage.exercises().stream())
        .map(exercise -> exercise.variation())
        .filter(new java.util.HashSet<>()::add)
        .toList();
  }

  private static Variation variation(String code) {
    return variations().stream().filter(v -> v.code().equals(code)).findFirst().orElseThrow();
  }

  private static List<Setting> settings(Variation variation) {
    List<Map<String, Value>> all = List.of(Map.of());
    for (ProgressionVariable variable : variation.variables()) {
      List<Map<String, Value>> next = new ArrayList<>();
      List<? extends Value> values =
          variable.source() instanceof Source.Grades grades
              ? grades.fromEasiest()
              : AMOUNTS.get(variable.code());
      for (Map<String, Value> before : all) {
        for (Value value : values) {
          assertTrue(variable.accepts(value));
          Map<String, Value> with = new HashMap<>(before);
          with.put(variable.code(), value);
          next.add(with);
        }
      }
      all = next;
    }
    return all.stream().map(Setting::new).toList();
  }

  private static Properties texts(String file) throws IOException {
    Properties texts = new Properties();
    try (Reader reader =
        new InputStreamReader(
            PostureDrawing.class.getResourceAsStream(file), StandardCharsets.UTF_8)) {
      texts.load(reader);
    }
    return texts;
  }

  private static boolean isAbove(Setting setting, String variable, long least) {
    return setting.get(variable) instanceof Amount amount && amount.value().longValue() > least;
  }

  private static void assertNear(Point expected, Point drawn) {
    assertTrue(expected.to(drawn) < WRITTEN, () -> expected + " is drawn at " + drawn);
  }

  private static List<Amount> centimetres(String... numbers) {
    return Stream.of(numbers).map(number -> Amount.of(number, Unit.CENTIMETRE)).toList();
  }

  private static List<Amount> kilograms(String... numbers) {
    return Stream.of(numbers).map(number -> Amount.of(number, Unit.KILOGRAM)).toList();
  }

  private static Amount degree(long number) {
    return Amount.of(number, Unit.DEGREE);
  }
}
