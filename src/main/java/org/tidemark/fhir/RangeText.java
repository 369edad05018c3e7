package org.tidemark.fhir;

import java.math.BigDecimal;
import java.math.RoundingMode;
import java.util.ArrayList;
import java.util.List;
import org.tidemark.decision.RangeFigures;
import org.tidemark.trend.Interval;
import org.tidemark.trend.RangeChange;

/** How a range has gone, in words. What is less than the error of measuring is no change. */
final class RangeText {
  private RangeText() {}

  /** Where the range stands, where it is going, and what is shown. */
  static List<String> sentences(RangeFigures range) {
    List<String> sentences = new ArrayList<>();
    sentences.add(
        "Range as of "
            + DateTimes.day(range.at().toLocalDate())
            + ": about "
            + whole(range.level().estimate())
            + " degrees ("
            + whole(range.level().low())
            + " to "
            + whole(range.level().high())
            + "), changing by "
            + slope(range.slopePerWeek())
            + ".");
    sentences.add(change(range.change()));
    range
        .stillSince()
        .ifPresent(
            since ->
                sentences.add(
                    "It has stood still since " + DateTimes.day(since.toLocalDate()) + "."));
    if (range.outOfLine() > 0) {
      sentences.add(
          (range.outOfLine() == 1
                  ? "One reading contradicts the others and hardly counts"
                  : range.outOfLine() + " readings contradict the others and hardly count")
              + "; measure again.");
    }
    return sentences;
  }

  /** What the newest readings show against the first. */
  static String change(RangeChange change) {
    String least = tenth(change.shownFromDegrees());
    String measured = tenth(Math.abs(change.degrees()));
    return switch (change.verdict()) {
      case IMPROVED ->
          "Improved by "
              + measured
              + " degrees since the first reading: more than measuring alone makes (about "
              + least
              + ").";
      case WORSE ->
          "Worse by "
              + measured
              + " degrees since the first reading: more than measuring alone makes (about "
              + least
              + ").";
      case NOT_SHOWN ->
          "No change is shown since the first reading: measuring alone makes differences of about "
              + least
              + " degrees, this one is "
              + measured
              + ".";
    };
  }

  private static String slope(Interval slope) {
    return tenth(slope.estimate())
        + " degrees a week ("
        + tenth(slope.low())
        + " to "
        + tenth(slope.high())
        + ")";
  }

  private static String whole(double degrees) {
    return BigDecimal.valueOf(degrees).setScale(0, RoundingMode.HALF_EVEN).toPlainString();
  }

  private static String tenth(double degrees) {
    BigDecimal rounded = BigDecimal.valueOf(degrees).setScale(1, RoundingMode.HALF_EVEN);
    return (rounded.signum() == 0 ? rounded.abs() : rounded).toPlainString();
  }
}
