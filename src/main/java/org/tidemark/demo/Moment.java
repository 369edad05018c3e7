package org.tidemark.demo;

import java.util.List;

/**
 * One decision, as it was read over HTTP.
 *
 * @param date its day, such as {@code 2026-03-02}
 * @param cameIn what it followed, in words
 * @param verdict the code of the decision, such as {@code progress}; {@code incomplete} where
 *     something is missing
 * @param reasons the codes of its reasons
 * @param sentences the same reasons in words
 * @param prescribed what was newly prescribed, each on one line
 * @param proposed what was newly proposed, each on one line
 * @param wouldHelp the pieces of equipment that would open the way to a change that was not taken
 */
public record Moment(
    String date,
    String cameIn,
    String verdict,
    List<String> reasons,
    List<String> sentences,
    List<String> prescribed,
    List<String> proposed,
    List<String> wouldHelp) {

  /**
   * The same, after another decision. A decision as of an earlier day comes from a record that was
   * corrected: what was decided then stands again.
   *
   * @param newest the day of the decision before
   * @param limits what came in beside it, in words
   */
  Moment after(String newest, List<String> limits) {
    boolean back = date.compareTo(newest) < 0;
    String came = back ? "a correction; as decided on " + date + " again" : cameIn;
    String all = limits.isEmpty() ? came : came + "; " + String.join("; ", limits);
    return new Moment(
        back ? newest : date, all, verdict, reasons, sentences, prescribed, proposed, wouldHelp);
  }

  /** The same with only these pieces of equipment. */
  Moment helpedBy(List<String> pieces) {
    return new Moment(date, cameIn, verdict, reasons, sentences, prescribed, proposed, pieces);
  }

  /** On one line: date, decision, reasons, and what was prescribed or proposed. */
  public String line() {
    StringBuilder line = new StringBuilder();
    line.append(date)
        .append(" | ")
        .append(verdict)
        .append(" | ")
        .append(String.join(", ", reasons));
    prescribed.forEach(words -> line.append(" | ").append(words));
    proposed.forEach(words -> line.append(" | proposed: ").append(words));
    return line.toString();
  }
}
