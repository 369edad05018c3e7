package org.tidemark.fhir;

import java.math.BigDecimal;
import java.math.RoundingMode;
import java.util.ArrayList;
import java.util.List;
import org.tidemark.decision.RangeFigures;
import org.tidemark.trend.Interval;
import org.tidemark.trend.RangeChange;

/** How a range has gone, in words. What is less than the error of measuring is no change. */
public final class RangeText {
  private RangeText() {}

  /** Where the range stands, where it is going, and what is shown. */
  static List<String> sentences(Texts texts, RangeFigures range) {
    List<String> sentences = new ArrayList<>();
    Interval level = range.level();
    Interval slope = range.slopePerWeek();
    sentences.add(
        texts.of(
            "range.level",
            texts.day(range.at().toLocalDate()),
            whole(texts, level.estimate()),
            whole(texts, level.low()),
            whole(texts, level.high()),
            tenth(texts, slope.estimate()),
            tenth(texts, slope.low()),
            tenth(texts, slope.high())));
    sentences.add(change(texts, range.change()));
    range
        .stillSince()
        .ifPresent(since -> sentences.add(texts.of("range.still", texts.day(since.toLocalDate()))));
    if (range.outOfLine() == 1) {
      sentences.add(texts.of("range.out.one"));
    } else if (range.outOfLine() > 1) {
      sentences.add(texts.of("range.out.many", range.outOfLine()));
    }
    return sentences;
  }

  /** What the newest readings show against the first. */
  public static String change(Texts texts, RangeChange change) {
    String key =
        switch (change.verdict()) {
          case IMPROVED -> "range.improved";
          case WORSE -> "range.worse";
          case NOT_SHOWN -> "range.not-shown";
        };
    return texts.of(
        key, tenth(texts, Math.abs(change.degrees())), tenth(texts, change.shownFromDegrees()));
  }

  private static String whole(Texts texts, double degrees) {
    return texts.rounded(BigDecimal.valueOf(degrees).setScale(0, RoundingMode.HALF_EVEN));
  }

  private static String tenth(Texts texts, double degrees) {
    return texts.rounded(BigDecimal.valueOf(degrees).setScale(1, RoundingMode.HALF_EVEN));
  }
}
