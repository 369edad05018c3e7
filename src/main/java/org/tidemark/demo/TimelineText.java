package org.tidemark.demo;

import java.util.ArrayList;
import java.util.List;

/** A timeline for a terminal. */
final class TimelineText {
  static final int WIDTH = 116;
  private static final String LINE = System.lineSeparator();

  private TimelineText() {}

  /** A decision: what came in, what was decided and why, what is prescribed now. */
  static String of(Moment moment) {
    StringBuilder text = new StringBuilder();
    String what = String.format("%s %-9s", moment.date(), moment.verdict());
    String cameIn = moment.cameIn().endsWith(".") ? moment.cameIn() : moment.cameIn() + ".";
    add(text, what, cameIn + " " + String.join(" ", moment.sentences()));
    moment.prescribed().forEach(words -> add(text, "           now:", words));
    moment.proposed().forEach(words -> add(text, "           proposed:", words));
    moment.wouldHelp().forEach(words -> add(text, "           would help:", words));
    return text.toString();
  }

  private static void add(StringBuilder text, String label, String words) {
    String margin = " ".repeat(label.length());
    List<String> lines = wrapped(words, WIDTH - label.length() - 1);
    for (int i = 0; i < lines.size(); i++) {
      text.append(i == 0 ? label : margin).append(' ').append(lines.get(i)).append(LINE);
    }
  }

  private static List<String> wrapped(String words, int width) {
    List<String> lines = new ArrayList<>();
    StringBuilder line = new StringBuilder();
    for (String word : words.split(" ")) {
      if (line.length() > 0 && line.length() + 1 + word.length() > width) {
        lines.add(line.toString());
        line.setLength(0);
      }
      line.append(line.length() == 0 ? "" : " ").append(word);
    }
    lines.add(line.toString());
    return lines;
  }
}
