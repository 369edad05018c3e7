package org.tidemark.programme;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.math.BigDecimal;
import java.util.ArrayList;
import java.util.List;
import java.util.Map;
import java.util.Random;
import java.util.TreeSet;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.ValueSource;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Unit;
import org.tidemark.quantity.Value;

/**
 * Heights that a person's own stairs, blocks and books can make. Riser heights are those of
 * building codes: at most 7¾ in, 196.85 mm (International Residential Code R311.7.5.1); 4 to 7 in
 * (International Building Code 1011.5.2); 150 to 220 mm in private stairs (Approved Document K,
 * 2013). So one stair is 10 to 22 cm by building, and is measured.
 */
class StepHeightTest {
  private static final Source STEPS =
      new Source.Stairs("stair-riser", "stair-count", List.of("book", "block"), centimetres("60"));

  @ParameterizedTest(name = "{0} in is {1} cm")
  @CsvSource({"7.75, 19.685", "7, 17.78", "4, 10.16"})
  void aRiserMeasuredInInchesIsNotRounded(BigDecimal inches, String centimetres) {
    BigDecimal riser = inches.multiply(new BigDecimal("2.54"));
    assertEquals(centimetres(centimetres), new Amount(riser, Unit.CENTIMETRE));
    assertTrue(heights(riser.toPlainString(), 3).contains(centimetres(centimetres)));
  }

  @ParameterizedTest(name = "two stairs of {0} cm are exactly twice one")
  @ValueSource(strings = {"10", "10.16", "15", "17", "17.78", "19.685", "22"})
  void twoStairsAreExactlyTwiceTheMeasuredRiser(String riser) {
    Amount one = centimetres(riser);
    assertEquals(
        List.of(centimetres("0"), one, one.plus(one)), heights(riser, 2), "floor, one, two");
  }

  @Test
  void thereAreNoMoreStairsThanTheStaircaseHas() {
    assertEquals(3, heights("10", 2).size());
    assertEquals(List.of(centimetres("0")), heights("10", 0));
  }

  @Test
  void noHeightIsAboveTheMostThatMakesSense() {
    assertEquals(
        List.of("0 cm", "20 cm", "40 cm", "60 cm"),
        heights("20", 13).stream().map(Object::toString).toList());
  }

  @Test
  void withoutStairsOrPiecesThereIsTheFloor() {
    assertEquals(List.of(centimetres("0")), STEPS.values(Equipment.NONE));
  }

  @Test
  void aBookMakesHalfSteps() {
    Equipment kit =
        new Equipment(
            Map.of(
                "stair-riser", List.of(centimetres("17")),
                "stair-count", List.of(Amount.of(2, Unit.COUNT)),
                "book", List.of(centimetres("5"))));
    assertEquals(
        List.of("0 cm", "5 cm", "17 cm", "22 cm", "34 cm", "39 cm"),
        STEPS.values(kit).stream().map(Object::toString).toList());
  }

  /** Every subset of the pieces, tried one by one, on every stair: the same heights. */
  @ParameterizedTest(name = "kit {0}")
  @ValueSource(longs = {1, 2, 3, 4, 5, 6, 7, 8})
  void heightsAreAllSubsetSums(long seed) {
    Random chance = new Random(seed);
    List<Amount> books = pieces(chance, 4);
    List<Amount> blocks = pieces(chance, 4);
    Amount riser = new Amount(BigDecimal.valueOf(100 + chance.nextInt(121), 1), Unit.CENTIMETRE);
    int count = chance.nextInt(4);
    List<Amount> all = new ArrayList<>(books);
    all.addAll(blocks);
    TreeSet<Amount> expected = new TreeSet<>();
    for (int subset = 0; subset < 1 << all.size(); subset++) {
      Amount sum = centimetres("0");
      for (int i = 0; i < all.size(); i++) {
        sum = (subset >> i & 1) == 1 ? sum.plus(all.get(i)) : sum;
      }
      for (int stairs = 0; stairs <= count; stairs++) {
        Amount height = sum.plus(riser.times(stairs));
        if (!height.isAbove(centimetres("60"))) {
          expected.add(height);
        }
      }
    }
    Equipment kit =
        new Equipment(
            Map.of(
                "stair-riser", List.of(riser),
                "stair-count", List.of(Amount.of(count, Unit.COUNT)),
                "book", List.copyOf(books),
                "block", List.copyOf(blocks)));
    assertEquals(List.copyOf(expected), STEPS.values(kit));
  }

  /** A roll of one inch covers a gap of one inch. */
  @Test
  void aSinglePieceKeepsItsSize() {
    Source rolls = new Source.Stack(List.of("towel-roll"), centimetres("40"));
    Equipment kit = new Equipment(Map.of("towel-roll", List.of(centimetres("2.54"))));
    assertEquals(List.of(centimetres("0"), centimetres("2.54")), rolls.values(kit));
  }

  /** Thirty different books make no more heights than there are millimetres. */
  @Test
  void theNumberOfHeightsIsBounded() {
    List<Value> books = new ArrayList<>();
    for (int i = 1; i <= 30; i++) {
      books.add(centimetres("1." + (100 + i)));
    }
    Source rolls = new Source.Stack(List.of("book"), centimetres("60"));
    assertTrue(rolls.values(new Equipment(Map.of("book", books))).size() <= 601 + 30);
  }

  private static List<Amount> pieces(Random chance, int most) {
    List<Amount> pieces = new ArrayList<>();
    for (int i = chance.nextInt(most + 1); i > 0; i--) {
      pieces.add(new Amount(BigDecimal.valueOf(5 + chance.nextInt(150), 1), Unit.CENTIMETRE));
    }
    return pieces;
  }

  private static List<Value> heights(String riser, int count) {
    return STEPS.values(
        new Equipment(
            Map.of(
                "stair-riser", List.of(centimetres(riser)),
                "stair-count", List.of(Amount.of(count, Unit.COUNT)))));
  }

  private static Amount centimetres(String number) {
    return Amount.of(number, Unit.CENTIMETRE);
  }
}
