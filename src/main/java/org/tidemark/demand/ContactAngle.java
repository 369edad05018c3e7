package org.tidemark.demand;

import java.math.BigDecimal;
import java.math.RoundingMode;
import java.util.Map;
import java.util.Optional;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Unit;
import org.tidemark.quantity.Value;

/**
 * The flexion at which a person's calf and thigh meet, from their girths: the bend that is there to
 * be had. Geometry, see {@link Contact#onset}; where on the leg they meet is not measured, which
 * moves it by 10 to 14 degrees either way.
 */
public final class ContactAngle {
  /** The name that a programme's goal refers to it by. */
  public static final String MODEL = "thigh-calf-contact";

  /** Distance from the knee at which calf and thigh meet, metres (assumption). */
  static final double USUAL_DISTANCE = 0.15;

  private ContactAngle() {}

  /**
   * The angle in whole degrees of flexion, 90 to 165.
   *
   * @param items the baseline, by code of the item
   * @return empty unless both girths have been measured: an average is nobody's goal
   */
  public static Optional<Amount> of(Map<String, Value> items) {
    Body body = Body.of(items);
    if (!body.calfGirth().measured() || !body.lowerThighGirth().measured()) {
      return Optional.empty();
    }
    double onset =
        Contact.onset(body.calfGirth().middle(), body.lowerThighGirth().middle(), USUAL_DISTANCE);
    return Optional.of(
        new Amount(BigDecimal.valueOf(onset).setScale(0, RoundingMode.HALF_UP), Unit.DEGREE));
  }
}
