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
  static String step(Texts texts, Ratio demand) {
    String step =
        demand.extrapolated()
            ? texts.of("demand.uncertain" + sure(demand))
            : texts.of(
                "demand.amount",
                direction(texts, demand.mid()),
                percent(texts, demand.low()),
                percent(texts, demand.high()));
    return step + estimated(texts, demand.estimated());
  }

  private static String sure(Ratio demand) {
    if (demand.low() <= 1 && demand.high() >= 1) {
      return "";
    }
    return demand.low() > 1 ? ".more" : ".less";
  }

  private static String direction(Texts texts, double ratio) {
    return said(texts, ratio, "demand.same-as", "demand.more-than", "demand.less-than");
  }

  private static String percent(Texts texts, double ratio) {
    return said(texts, ratio, "demand.same", "demand.more", "demand.less");
  }

  private static String said(Texts texts, double ratio, String same, String more, String less) {
    BigDecimal share =
        BigDecimal.valueOf(ratio - 1).movePointRight(2).setScale(0, RoundingMode.HALF_EVEN);
    if (share.signum() == 0) {
      return texts.of(same);
    }
    return texts.of(share.signum() > 0 ? more : less, texts.number(share.abs()));
  }

  /** What was estimated and would narrow the band if it were measured. */
  private static String estimated(Texts texts, List<String> items) {
    return items.isEmpty()
        ? ""
        : " "
            + texts.of(
                "demand.estimated",
                items.stream().map(texts::item).collect(Collectors.joining(", ")));
  }
}
