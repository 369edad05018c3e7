package org.tidemark.demand;

import java.util.ArrayList;
import java.util.LinkedHashMap;
import java.util.List;
import java.util.Map;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Unit;
import org.tidemark.quantity.Value;

/**
 * The measures of one person that the models use. What was not measured is estimated, with the
 * spread that it has between people: lengths as fractions of stature by Winter 2009 (table 4.1)
 * with the spread of the 2012 Anthropometric Survey of US Army Personnel (Gordon 2014,
 * NATICK/TR-15/007); stature and girths by that survey, men and women together.
 *
 * @param stature height of the person, metres
 * @param mass mass of the person, kilograms
 * @param shank length of the shank, metres
 * @param thigh length of the thigh, metres
 * @param calfGirth girth of the calf at its thickest, metres
 * @param lowerThighGirth girth of the thigh just above the knee, where the calf meets it, metres
 * @param ankleTilt how far the shank tilts forward over a heel on the ground, degrees
 */
record Body(
    Estimate stature,
    Estimate mass,
    Estimate shank,
    Estimate thigh,
    Estimate calfGirth,
    Estimate lowerThighGirth,
    Estimate ankleTilt) {
  static final String HEIGHT = "body-height";
  static final String WEIGHT = "body-weight";
  static final String SHANK_LENGTH = "shank-length";
  static final String THIGH_LENGTH = "thigh-length";
  static final String CALF_GIRTH = "calf-girth";
  static final String THIGH_GIRTH = "thigh-girth";
  static final String WALL_LUNGE = "wall-lunge-distance";

  private static final Estimate ANY_STATURE = Estimate.unknown(1.69, 0.092);

  /** Kilograms for each square metre of stature (assumption). */
  private static final double USUAL_BUILD = 25;

  /** Spread of an unknown mass, as a fraction of it (assumption). */
  private static final double BUILD_SPREAD = 0.16;

  /** Spread of the length of shank and thigh between people, as a fraction of stature. */
  private static final double SHANK_SPREAD = 0.0102;

  private static final double THIGH_SPREAD = 0.0115;

  private static final Estimate ANY_CALF = Estimate.unknown(0.3825, 0.031);
  private static final Estimate ANY_LOWER_THIGH = Estimate.unknown(0.405, 0.0337);

  /**
   * Girth just above the knee as a fraction of that of the thigh at its thickest, 0.409 / 0.625 in
   * men and 0.401 / 0.616 in women, and how far a person is off it, metres (assumption).
   */
  private static final double LOWER_OF_THIGH = 0.653;

  private static final double LOWER_OF_THIGH_SPREAD = 0.018;

  /** Students, standing lunge: Calatayud 2015, PMC4387727. */
  private static final Estimate ANY_ANKLE = Estimate.unknown(40.6, 5.2);

  /**
   * Longest toe to ankle and the kneecap's depth, metres: with a shank of 0.42 m they turn 9.1 cm
   * of wall lunge into 35 degrees and 12 cm into 40, as measured.
   */
  private static final double TOE_TO_ANKLE = 0.20;

  private static final double KNEE_DEPTH = 0.05;

  /**
   * The body that the items describe. An item that is not there, in another unit, or beyond what
   * any adult measures counts as unknown.
   *
   * @param items the baseline, by code of the item
   */
  static Body of(Map<String, Value> items) {
    Estimate stature = measured(items, HEIGHT, Unit.CENTIMETRE, 100, 250, 0.01, ANY_STATURE);
    double height = stature.middle();
    double usualMass = USUAL_BUILD * height * height;
    Estimate mass =
        measured(
            items,
            WEIGHT,
            Unit.KILOGRAM,
            25,
            350,
            1,
            Estimate.unknown(usualMass, BUILD_SPREAD * usualMass));
    Estimate shank = segment(items, SHANK_LENGTH, stature, FrontLeg.SHANK, SHANK_SPREAD);
    Estimate thigh = segment(items, THIGH_LENGTH, stature, FrontLeg.THIGH, THIGH_SPREAD);
    Estimate calf = measured(items, CALF_GIRTH, Unit.CENTIMETRE, 15, 80, 0.01, ANY_CALF);
    Estimate thickest =
        measured(items, THIGH_GIRTH, Unit.CENTIMETRE, 25, 120, 0.01, ANY_LOWER_THIGH);
    Estimate lower =
        thickest.measured()
            ? new Estimate(LOWER_OF_THIGH * thickest.middle(), LOWER_OF_THIGH_SPREAD, true)
            : thickest;
    Estimate lunge = measured(items, WALL_LUNGE, Unit.CENTIMETRE, 0, 25, 0.01, ANY_ANKLE);
    Estimate ankle =
        lunge.measured() ? Estimate.measured(tilt(lunge.middle(), shank.middle())) : lunge;
    return new Body(stature, mass, shank, thigh, calf, lower, ankle);
  }

  /** The codes of the items that would narrow the result if they were measured. */
  List<String> estimated() {
    Map<String, Estimate> all = new LinkedHashMap<>();
    all.put(HEIGHT, stature);
    all.put(WEIGHT, mass);
    all.put(SHANK_LENGTH, shank);
    all.put(THIGH_LENGTH, thigh);
    all.put(CALF_GIRTH, calfGirth);
    all.put(THIGH_GIRTH, lowerThighGirth);
    all.put(WALL_LUNGE, ankleTilt);
    List<String> unknown = new ArrayList<>();
    all.forEach(
        (code, estimate) -> {
          if (!estimate.measured()) {
            unknown.add(code);
          }
        });
    return unknown;
  }

  /**
   * Tilt of the shank in the wall lunge, degrees.
   *
   * @param distance from toe to wall, metres
   * @param shank length of the shank, metres
   */
  static double tilt(double distance, double shank) {
    return Math.toDegrees(Math.asin(Math.min(1, (distance + TOE_TO_ANKLE - KNEE_DEPTH) / shank)));
  }

  private static Estimate segment(
      Map<String, Value> items, String code, Estimate stature, double fraction, double spread) {
    Estimate usual =
        Estimate.unknown(
            fraction * stature.middle(),
            Math.hypot(spread * stature.middle(), fraction * stature.spread()));
    return measured(items, code, Unit.CENTIMETRE, 20, 70, 0.01, usual);
  }

  private static Estimate measured(
      Map<String, Value> items,
      String code,
      Unit unit,
      double least,
      double most,
      double scale,
      Estimate unknown) {
    if (items.get(code) instanceof Amount amount && amount.unit() == unit) {
      double value = amount.value().doubleValue();
      return value >= least && value <= most ? Estimate.measured(value * scale) : unknown;
    }
    return unknown;
  }
}
