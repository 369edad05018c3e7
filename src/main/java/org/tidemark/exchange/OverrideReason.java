package org.tidemark.exchange;

import java.util.Locale;
import org.tidemark.fhir.Codes;

/** Why a clinician may pass over a card about an order. */
enum OverrideReason {
  /** Whoever set the limit, or must look at the signs, has agreed. */
  AGREED,
  /** The limit or the stop is out of date. */
  OUT_OF_DATE,
  /** The order is for another part of the body. */
  OTHER_REGION;

  static final String SYSTEM = Codes.BASE + "/CodeSystem/card-override-reason";

  String code() {
    return name().toLowerCase(Locale.ROOT).replace('_', '-');
  }
}
