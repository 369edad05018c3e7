package org.tidemark.fhir;

import java.math.BigDecimal;
import java.math.RoundingMode;
import java.util.List;
import java.util.stream.Collectors;
import org.tidemark.demand.Ratio;

/**
 * What one setting asks beside another, in words: a share more or less with its band, never a force
 * and never a promise.
 */
final class DemandText {
  private DemandText() {}

  /**
   * How much more or less a change asks than what stood before. Where the model is not founded, in
   * a bend beyond 90 degrees, only whether it is more or less; the figures stand beside the words.
   */
  static String step(Ratio demand) {
    return "By calculation "
        + (demand.extrapolated() ? uncertain(demand) : amount(demand))
        + " Symptoms decide, not the calculation."
        + estimated(demand.estimated());
  }

  private static String amount(Ratio demand) {
    return "this asks "
        + direction(demand.mid())
        + " what stood before (between "
        + percent(demand.low())
        + " and "
        + percent(demand.high())
        + ").";
  }

  private static String uncertain(Ratio demand) {
    if (demand.low() <= 1 && demand.high() >= 1) {
      return "it is uncertain whether this asks more or less than what stood before: the bend is"
          + " too deep to tell.";
    }
    return "this asks "
        + (demand.low() > 1 ? "more" : "less")
        + " than what stood before; how much is uncertain in a bend this deep.";
  }

  private static String direction(double ratio) {
    BigDecimal share = share(ratio);
    if (share.signum() == 0) {
      return "about as much as";
    }
    return "about "
        + share.abs().toPlainString()
        + " % "
        + (share.signum() > 0 ? "more than" : "less than");
  }

  private static String percent(double ratio) {
    BigDecimal share = share(ratio);
    if (share.signum() == 0) {
      return "as much";
    }
    return share.abs().toPlainString() + " % " + (share.signum() > 0 ? "more" : "less");
  }

  private static BigDecimal share(double ratio) {
    return BigDecimal.valueOf(ratio - 1).movePointRight(2).setScale(0, RoundingMode.HALF_EVEN);
  }

  /** What was estimated and would narrow the band if it were measured. */
  private static String estimated(List<String> items) {
    return items.isEmpty()
        ? ""
        : " Estimated for want of a measurement: "
            + items.stream().map(PrescriptionText::words).collect(Collectors.joining(", "))
            + ".";
  }
}
