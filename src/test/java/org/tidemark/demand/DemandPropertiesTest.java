package org.tidemark.demand;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;
import static org.tidemark.demand.Squat.ROCK;
import static org.tidemark.demand.Squat.ratio;

import java.math.BigDecimal;
import java.util.HashMap;
import java.util.List;
import java.util.Map;
import net.jqwik.api.Arbitraries;
import net.jqwik.api.Arbitrary;
import net.jqwik.api.Combinators;
import net.jqwik.api.ForAll;
import net.jqwik.api.Property;
import net.jqwik.api.Provide;
import net.jqwik.api.constraints.IntRange;
import org.tidemark.programme.Setting;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Grade;
import org.tidemark.quantity.Unit;
import org.tidemark.quantity.Value;

/** What holds for every person and every two settings of a split squat. */
class DemandPropertiesTest {
  private static final List<String> HANDS = List.of("two-hands", "one-hand", "fingertips", "none");

  @Property(tries = 200)
  void aSettingBesideItselfIsOneExactly(
      @ForAll("settings") Setting setting, @ForAll("people") Map<String, Value> person) {
    Ratio ratio = ratio(ROCK, setting, setting, person);
    assertEquals(1, ratio.low(), 0);
    assertEquals(1, ratio.mid(), 0);
    assertEquals(1, ratio.high(), 0);
  }

  @Property(tries = 200)
  void theWayBackIsTheReciprocal(
      @ForAll("settings") Setting from,
      @ForAll("settings") Setting to,
      @ForAll("people") Map<String, Value> person) {
    Ratio there = ratio(ROCK, from, to, person);
    Ratio back = ratio(ROCK, to, from, person);
    assertEquals(1, there.mid() * back.mid(), 1e-9);
    assertEquals(1, there.low() * back.high(), 1e-9);
    assertEquals(1, there.high() * back.low(), 1e-9);
  }

  @Property(tries = 200)
  void theBandHoldsItsMiddleAndTheSameFactsGiveTheSame(
      @ForAll("settings") Setting from,
      @ForAll("settings") Setting to,
      @ForAll("people") Map<String, Value> person) {
    Ratio ratio = ratio(ROCK, from, to, person);
    assertTrue(0 < ratio.low() && ratio.low() <= ratio.mid() && ratio.mid() <= ratio.high());
    assertEquals(ratio, ratio(ROCK, from, to, new HashMap<>(person)));
  }

  @Property(tries = 200)
  void aLowerStepAsksMore(
      @ForAll("settings") Setting setting,
      @ForAll @IntRange(min = 1, max = 200) int millimetres,
      @ForAll("people") Map<String, Value> person) {
    Amount height = (Amount) setting.get("step-height");
    Amount higher = height.plus(amount(millimetres, Unit.CENTIMETRE));
    Ratio ratio = ratio(ROCK, setting.with("step-height", higher), setting, person);
    assertTrue(ratio.low() > 1, ratio.toString());
  }

  @Property(tries = 200)
  void moreInTheHandsAsksMore(
      @ForAll("settings") Setting setting,
      @ForAll @IntRange(min = 1, max = 200) int tenths,
      @ForAll("people") Map<String, Value> person) {
    Amount load = (Amount) setting.get("dumbbell-load");
    Setting heavier = setting.with("dumbbell-load", load.plus(amount(tenths, Unit.KILOGRAM)));
    Ratio ratio = ratio(ROCK, setting, heavier, person);
    assertTrue(ratio.low() > 1, ratio.toString());
  }

  @Property(tries = 200)
  void lessHelpOfTheHandsAsksMore(
      @ForAll("settings") Setting setting,
      @ForAll @IntRange(min = 0, max = 2) int grade,
      @ForAll("people") Map<String, Value> person) {
    Value more = new Grade(HANDS.get(grade));
    Value less = new Grade(HANDS.get(grade + 1));
    Ratio ratio =
        ratio(ROCK, setting.with("hand-assist", more), setting.with("hand-assist", less), person);
    assertTrue(ratio.low() > 1, ratio.toString());
  }

  /** Twice the person with twice the dumbbells: the same ratio. */
  @Property(tries = 100)
  void onlyTheLoadBesideTheBodyCounts(
      @ForAll("settings") Setting from,
      @ForAll("settings") Setting to,
      @ForAll("people") Map<String, Value> person) {
    Map<String, Value> light = new HashMap<>(person);
    light.put("body-weight", Amount.of(60, Unit.KILOGRAM));
    Map<String, Value> heavy = new HashMap<>(person);
    heavy.put("body-weight", Amount.of(120, Unit.KILOGRAM));
    Ratio one = ratio(ROCK, from, to, light);
    Ratio other = ratio(ROCK, doubled(from), doubled(to), heavy);
    assertEquals(one.low(), other.low(), 1e-9);
    assertEquals(one.mid(), other.mid(), 1e-9);
    assertEquals(one.high(), other.high(), 1e-9);
  }

  @Provide
  Arbitrary<Setting> settings() {
    return Combinators.combine(
            Arbitraries.integers().between(0, 400),
            Arbitraries.of(HANDS),
            Arbitraries.integers().between(0, 200),
            Arbitraries.of("raised", "flat"))
        .as(
            (step, hands, load, heel) ->
                Squat.rock(
                    amount(step, Unit.CENTIMETRE).value().toPlainString(),
                    hands,
                    amount(load, Unit.KILOGRAM).value().toPlainString(),
                    heel));
  }

  @Provide
  Arbitrary<Map<String, Value>> people() {
    return Combinators.combine(
            item("body-height", 1450, 2050, Unit.CENTIMETRE),
            item("body-weight", 450, 1600, Unit.KILOGRAM),
            item("calf-girth", 280, 500, Unit.CENTIMETRE),
            item("thigh-girth", 420, 800, Unit.CENTIMETRE),
            item("wall-lunge-distance", 30, 160, Unit.CENTIMETRE))
        .as(
            (height, weight, calf, thigh, lunge) -> {
              Map<String, Value> all = new HashMap<>();
              List.of(height, weight, calf, thigh, lunge).forEach(all::putAll);
              return all;
            });
  }

  /** Tenths of an item, or the item left out. */
  private static Arbitrary<Map<String, Value>> item(String code, int from, int to, Unit unit) {
    return Arbitraries.integers()
        .between(from, to)
        .map(tenths -> Map.<String, Value>of(code, amount(tenths, unit)))
        .injectNull(0.3)
        .map(known -> known == null ? Map.<String, Value>of() : known);
  }

  private static Setting doubled(Setting setting) {
    return setting.with("dumbbell-load", ((Amount) setting.get("dumbbell-load")).times(2));
  }

  private static Amount amount(int tenths, Unit unit) {
    return new Amount(BigDecimal.valueOf(tenths, 1), unit);
  }
}
