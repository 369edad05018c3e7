package org.tidemark.fhir;

import java.math.BigDecimal;
import java.util.Arrays;
import java.util.EnumSet;
import java.util.List;
import java.util.Map;
import java.util.Optional;
import java.util.Set;
import java.util.function.Function;
import java.util.stream.Collectors;
import java.util.stream.Stream;
import org.tidemark.quantity.Unit;

/**
 * An item that a report can hold: how it is answered, which answers make sense, and where it may
 * stand. All limits of what is accepted are in this one table; both ends are included. A limit
 * without a source beside it is common practice: it catches slips of the pen and wrong units, and
 * judges nobody.
 *
 * @param system its code system
 * @param code its code
 * @param answer how it is answered
 * @param unit the unit of its amount, null where it has none
 * @param least the least amount that makes sense
 * @param most the greatest amount that makes sense
 * @param step amounts are whole multiples of it; 0 when any amount will do
 * @param why why the limits are where they are
 * @param places the reports that may hold it
 */
record Item(
    String system,
    String code,
    Answer answer,
    Unit unit,
    BigDecimal least,
    BigDecimal most,
    BigDecimal step,
    String why,
    Set<Place> places) {

  /** How an item is answered. */
  enum Answer {
    /** A quantity; a plain integer where the unit is a score or a count. */
    AMOUNT,
    /** A boolean. */
    YES_NO,
    /** A boolean, or how many there are: 0 is no. */
    OWNED,
    /** A boolean, or a size. */
    OWNED_OR_AMOUNT,
    /** A boolean, or the gap that remains: 0 is contact. */
    CONTACT,
    /** A grade of effusion: 0, trace, 1+, 2+ or 3+. */
    EFFUSION
  }

  /** A report that holds items. */
  enum Place {
    BASELINE("baseline"),
    SESSION("session"),
    MORNING("morning"),
    EQUIPMENT("home-equipment"),
    WARNING("warning"),
    /** A pain score of another system. */
    PAIN_SCORE("pain score"),
    /** An Observation of its own. */
    ALONE("");

    private final String panel;

    Place(String panel) {
      this.panel = panel;
    }

    /** The panel that has this code of our own. */
    static Optional<Place> panel(String code) {
      return Arrays.stream(values())
          .filter(place -> place != ALONE && place != PAIN_SCORE && place.panel.equals(code))
          .findFirst();
    }

    String code() {
      return panel;
    }
  }

  /** The grades of effusion from none to the worst (stroke test, Sturgill 2009, JOSPT 39:845-9). */
  static final List<String> EFFUSION_GRADES = List.of("0", "trace", "1+", "2+", "3+");

  private static final Set<Place> BODY = EnumSet.of(Place.BASELINE, Place.ALONE);
  private static final Set<Place> BASELINE = EnumSet.of(Place.BASELINE);
  private static final Set<Place> SESSION = EnumSet.of(Place.SESSION);
  private static final Set<Place> MORNING = EnumSet.of(Place.MORNING);
  private static final Set<Place> ANY_REPORT =
      EnumSet.of(Place.BASELINE, Place.SESSION, Place.MORNING);

  private static final String FLEXION =
      "no series of healthy knees bends beyond 160 degrees (Soucie 2011, Haemophilia 17:500-7)";
  private static final String SEGMENT =
      "thigh and lower leg are each about a quarter of the height (Winter 2009, table 4.1): 20 to 70"
          + " cm in people of 1 to 2.5 m";
  private static final String PAIN = "the pain scale runs from 0 to 10 in whole numbers";

  /** Items without a side: they are about the person. */
  private static final Set<String> OF_THE_PERSON = Set.of("body-height", "body-weight");

  private static final Map<String, Item> TABLE =
      Stream.of(
              report("comfortable-flexion", Unit.DEGREE, "0", "165", "0", FLEXION, BODY),
              report("other-side-flexion", Unit.DEGREE, "0", "165", "0", FLEXION, BODY),
              report(
                  "gap",
                  Unit.CENTIMETRE,
                  "0",
                  "50",
                  "0",
                  "a gap is not wider than the lower leg is long",
                  EnumSet.of(Place.BASELINE, Place.SESSION, Place.ALONE)),
              report(
                  "wall-lunge-distance",
                  Unit.CENTIMETRE,
                  "0",
                  "30",
                  "0",
                  "healthy students reach 11.8 cm, standard deviation 4.2 (Calatayud 2015)",
                  BODY),
              report(
                  "heel-to-buttock",
                  Unit.CENTIMETRE,
                  "0",
                  "100",
                  "0",
                  "the distance is not longer than a leg",
                  BODY),
              report(
                  "body-height",
                  Unit.CENTIMETRE,
                  "100",
                  "250",
                  "0",
                  "people who do such a programme are 1 to 2.5 m tall",
                  BODY),
              report(
                  "body-weight",
                  Unit.KILOGRAM,
                  "20",
                  "350",
                  "0",
                  "people who do such a programme weigh 20 to 350 kg",
                  BODY),
              report(
                  "calf-girth",
                  Unit.CENTIMETRE,
                  "15",
                  "80",
                  "0",
                  "a calf measures 15 to 80 cm around",
                  BODY),
              report(
                  "thigh-girth",
                  Unit.CENTIMETRE,
                  "20",
                  "120",
                  "0",
                  "a thigh measures 20 to 120 cm around",
                  BODY),
              report("shank-length", Unit.CENTIMETRE, "20", "70", "0", SEGMENT, BODY),
              report("thigh-length", Unit.CENTIMETRE, "20", "70", "0", SEGMENT, BODY),
              report(
                  "carried-by-two-hands",
                  Unit.KILOGRAM,
                  "0",
                  "150",
                  "0",
                  "two hands put no more than 150 kg on a support",
                  BODY),
              report(
                  "carried-by-one-hand",
                  Unit.KILOGRAM,
                  "0",
                  "100",
                  "0",
                  "one hand puts no more than 100 kg on a support",
                  BODY),
              report(
                  "carried-by-fingertips",
                  Unit.KILOGRAM,
                  "0",
                  "50",
                  "0",
                  "fingertips put no more than 50 kg on a support",
                  BODY),
              report(
                  "pain-at-rest",
                  Unit.SCORE,
                  "0",
                  "10",
                  "1",
                  PAIN,
                  EnumSet.of(Place.BASELINE, Place.ALONE, Place.PAIN_SCORE)),
              report(
                  "pain-during",
                  Unit.SCORE,
                  "0",
                  "10",
                  "1",
                  PAIN,
                  EnumSet.of(Place.SESSION, Place.PAIN_SCORE)),
              report("pain-after", Unit.SCORE, "0", "10", "1", PAIN, SESSION),
              report("pain-next-morning", Unit.SCORE, "0", "10", "1", PAIN, MORNING),
              report(
                  "effort",
                  Unit.SCORE,
                  "0",
                  "10",
                  "0.5",
                  "the effort scale runs from 0 to 10 and has a half",
                  SESSION),
              report(
                  "stiffness",
                  Unit.MINUTE,
                  "0",
                  "1440",
                  "0",
                  "a morning's stiffness lasts no longer than the day",
                  EnumSet.of(Place.BASELINE, Place.MORNING)),
              report(
                  "sets-done",
                  Unit.COUNT,
                  "0",
                  "20",
                  "1",
                  "more than 20 sets in a session is a slip",
                  SESSION),
              report(
                  "repetitions-done",
                  Unit.COUNT,
                  "0",
                  "500",
                  "1",
                  "more than 500 repetitions in a set is a slip",
                  SESSION),
              report(
                  "time-done",
                  Unit.SECOND,
                  "0",
                  "14400",
                  "0",
                  "a session lasts no longer than 4 hours",
                  SESSION),
              report(
                  "hold-done",
                  Unit.SECOND,
                  "0",
                  "3600",
                  "0",
                  "a hold lasts no longer than an hour",
                  SESSION),
              yesNo("can-kneel", BASELINE),
              yesNo("can-stand-on-one-leg", BASELINE),
              yesNo("more-swollen", MORNING),
              yesNo("would-repeat", MORNING),
              new Item(
                  Codes.REPORT_ITEM,
                  "contact",
                  Answer.CONTACT,
                  Unit.CENTIMETRE,
                  BigDecimal.ZERO,
                  new BigDecimal("50"),
                  BigDecimal.ZERO,
                  "a gap is not wider than the lower leg is long",
                  EnumSet.of(Place.BASELINE, Place.SESSION)),
              new Item(
                  Codes.REPORT_ITEM,
                  "effusion-grade",
                  Answer.EFFUSION,
                  Unit.COUNT,
                  BigDecimal.ZERO,
                  new BigDecimal("4"),
                  BigDecimal.ONE,
                  "the grades of effusion are " + String.join(", ", EFFUSION_GRADES),
                  ANY_REPORT),
              piece(
                  "stair-riser",
                  Unit.CENTIMETRE,
                  "5",
                  "30",
                  "building codes ask for risers of 10 to 22 cm; some old stairs lie outside"),
              piece(
                  "towel-roll",
                  Unit.CENTIMETRE,
                  "0.5",
                  "60",
                  "a rolled towel is 0.5 to 60 cm thick; what is not there is left out"),
              piece(
                  "book",
                  Unit.CENTIMETRE,
                  "0.2",
                  "30",
                  "a book is 0.2 to 30 cm thick; what is not there is left out"),
              piece(
                  "block",
                  Unit.CENTIMETRE,
                  "0.2",
                  "60",
                  "a block to stand on is 0.2 to 60 cm high; what is not there is left out"),
              piece(
                  "dumbbell-pair",
                  Unit.KILOGRAM,
                  "0.1",
                  "100",
                  "one dumbbell of a pair weighs 0.1 to 100 kg; what is not there is left out"),
              piece(
                  "slant-board",
                  Unit.DEGREE,
                  "1",
                  "60",
                  "a board to stand on slants by 1 to 60 degrees"),
              new Item(
                  Codes.EQUIPMENT_ITEM,
                  "stair-count",
                  Answer.AMOUNT,
                  Unit.COUNT,
                  BigDecimal.ZERO,
                  new BigDecimal("200"),
                  BigDecimal.ONE,
                  "a flight at home has no more than 200 steps",
                  EnumSet.of(Place.EQUIPMENT)),
              new Item(
                  Codes.EQUIPMENT_ITEM,
                  "bench",
                  Answer.OWNED_OR_AMOUNT,
                  Unit.CENTIMETRE,
                  new BigDecimal("5"),
                  new BigDecimal("120"),
                  BigDecimal.ZERO,
                  "a bench is 5 to 120 cm high",
                  EnumSet.of(Place.EQUIPMENT)),
              owned("hand-support"),
              owned("stationary-cycle"))
          .collect(Collectors.toUnmodifiableMap(Item::key, Function.identity()));

  /** The item of ours with this code, if there is one. */
  static Optional<Item> find(String system, String code) {
    return Optional.ofNullable(TABLE.get(system + "|" + code));
  }

  /** Every item of ours. */
  static Stream<Item> all() {
    return TABLE.values().stream();
  }

  /** Whether an Observation of this item alone must say which side it is about. */
  boolean hasSide() {
    return !OF_THE_PERSON.contains(code);
  }

  private String key() {
    return system + "|" + code;
  }

  private static Item report(
      String code,
      Unit unit,
      String least,
      String most,
      String step,
      String why,
      Set<Place> places) {
    return new Item(
        Codes.REPORT_ITEM,
        code,
        Answer.AMOUNT,
        unit,
        new BigDecimal(least),
        new BigDecimal(most),
        new BigDecimal(step),
        why,
        places);
  }

  private static Item yesNo(String code, Set<Place> places) {
    return without(Codes.REPORT_ITEM, code, Answer.YES_NO, places);
  }

  private static Item owned(String code) {
    return without(Codes.EQUIPMENT_ITEM, code, Answer.OWNED, EnumSet.of(Place.EQUIPMENT));
  }

  private static Item without(String system, String code, Answer answer, Set<Place> places) {
    return new Item(
        system,
        code,
        answer,
        Unit.COUNT,
        BigDecimal.ZERO,
        new BigDecimal("1000"),
        BigDecimal.ONE,
        "a number of pieces is 0 to 1000",
        places);
  }

  private static Item piece(String code, Unit unit, String least, String most, String why) {
    return new Item(
        Codes.EQUIPMENT_ITEM,
        code,
        Answer.AMOUNT,
        unit,
        new BigDecimal(least),
        new BigDecimal(most),
        BigDecimal.ZERO,
        why,
        EnumSet.of(Place.EQUIPMENT));
  }
}
