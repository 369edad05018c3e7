package org.tidemark.fhir;

import java.util.Map;
import java.util.Optional;
import org.tidemark.quantity.Unit;

/** The unit that each measured item of our own code system is held in. */
final class ProgrammeItems {
  private static final Map<String, Unit> UNITS =
      Map.ofEntries(
          Map.entry("comfortable-flexion", Unit.DEGREE),
          Map.entry("other-side-flexion", Unit.DEGREE),
          Map.entry("gap", Unit.CENTIMETRE),
          Map.entry("pain-at-rest", Unit.SCORE),
          Map.entry("wall-lunge-distance", Unit.CENTIMETRE),
          Map.entry("body-height", Unit.CENTIMETRE),
          Map.entry("body-weight", Unit.KILOGRAM),
          Map.entry("calf-girth", Unit.CENTIMETRE),
          Map.entry("thigh-girth", Unit.CENTIMETRE),
          Map.entry("heel-to-buttock", Unit.CENTIMETRE),
          Map.entry("shank-length", Unit.CENTIMETRE),
          Map.entry("thigh-length", Unit.CENTIMETRE),
          Map.entry("carried-by-two-hands", Unit.KILOGRAM),
          Map.entry("carried-by-one-hand", Unit.KILOGRAM),
          Map.entry("carried-by-fingertips", Unit.KILOGRAM));

  private ProgrammeItems() {}

  /** The unit of an item; empty when it is not measured, or is a clinic's own. */
  static Optional<Unit> unit(String item) {
    return Optional.ofNullable(UNITS.get(item));
  }

  static Map<String, Unit> units() {
    return UNITS;
  }
}
