package org.tidemark.response;

import java.math.BigDecimal;
import org.tidemark.quantity.PainScore;

/**
 * How symptoms are read. A sign that is already bad enough is not waited out: a missing morning
 * makes a session pending only while nothing known is above its limit.
 */
public enum ResponsePolicy {
  /**
   * No pain above rest during, after or the next morning. Common practice; a flare is a next
   * morning at least 2 points above rest, which is the clinically important change of the pain
   * scale (Farrar 2001, Pain 94:149-58).
   */
  SYMPTOM_FREE {
    @Override
    public Response judge(Symptoms symptoms) {
      boolean flared =
          symptoms.duringOrAfterAbove(TOO_MUCH)
              || symptoms
                  .morning()
                  .filter(m -> m.above(symptoms.rest()).compareTo(IMPORTANT_CHANGE) >= 0)
                  .isPresent()
              || symptoms.moreSwollen()
              || symptoms.stillWorse();
      if (flared) {
        return Response.FLARED;
      }
      if (symptoms.anyAboveRest() || symptoms.unwilling()) {
        return Response.STIRRED;
      }
      return symptoms.complete() ? Response.SETTLED : Response.PENDING;
    }
  },

  /**
   * Pain up to 2 is safe, above 2 up to 5 acceptable, above 5 too much; the next morning must be
   * back at rest and pain must not rise from week to week (Thomeé 1997, Phys Ther 77:1690-703;
   * Silbernagel 2007, Am J Sports Med 35:897-906).
   */
  PAIN_MONITORED {
    @Override
    public Response judge(Symptoms symptoms) {
      boolean flared =
          symptoms.duringOrAfterAbove(TOO_MUCH)
              || symptoms.morningAboveRest()
              || symptoms.moreSwollen()
              || symptoms.stillWorse();
      if (flared) {
        return Response.FLARED;
      }
      if (symptoms.duringOrAfterAbove(SAFE) || symptoms.risingWeekly() || symptoms.unwilling()) {
        return Response.STIRRED;
      }
      return symptoms.complete() ? Response.SETTLED : Response.PENDING;
    }
  };

  /** Top of the safe zone, included (Thomeé 1997). */
  private static final PainScore SAFE = PainScore.of(2);

  /** Top of the acceptable zone, included (Thomeé 1997). */
  private static final PainScore TOO_MUCH = PainScore.of(5);

  /** Rise that matters clinically, included (Farrar 2001). */
  private static final BigDecimal IMPORTANT_CHANGE = BigDecimal.valueOf(2);

  /** How the session went. */
  public abstract Response judge(Symptoms symptoms);

  /** {@code symptom-free} or {@code pain-monitored}. */
  public String code() {
    return name().toLowerCase(java.util.Locale.ROOT).replace('_', '-');
  }
}
