package org.tidemark.exchange;

import java.util.Collection;
import java.util.regex.Pattern;
import java.util.stream.Collectors;

/** Words of others made fit for a card. */
final class CardText {
  /** A summary has fewer characters than 140 (CDS Hooks 2.0, Card Attributes). */
  private static final int MOST_OF_A_SUMMARY = 139;

  private static final Pattern MARKUP = Pattern.compile("[\\\\`*_\\[\\]<>&#|~!@]");
  private static final Pattern ADDRESS = Pattern.compile("(?i)(www)(?=\\.)|(?<=[a-z])(?=://)");
  private static final Pattern ITEM = Pattern.compile("^(\\d*)([-+.)=])");

  private CardText() {}

  /** A text on one line. */
  static String line(String text) {
    return text.replaceAll("[\\p{Cntrl}\\p{Z}\\s]+", " ").strip();
  }

  /** A summary: on one line, cut off where it is too long. */
  static String summary(String text) {
    String line = line(text);
    if (line.length() <= MOST_OF_A_SUMMARY) {
      return line;
    }
    int end = MOST_OF_A_SUMMARY - 1;
    return line.substring(0, Character.isHighSurrogate(line.charAt(end - 1)) ? end - 1 : end) + "…";
  }

  /**
   * A text as it stands within a line of GitHub Flavored Markdown: nothing in it is markup, a link
   * or the start of a list.
   */
  static String plain(String text) {
    String escaped = MARKUP.matcher(line(text)).replaceAll("\\\\$0");
    String unlinked = ADDRESS.matcher(escaped).replaceAll("$1\\\\");
    return ITEM.matcher(unlinked).replaceFirst("$1\\\\$2");
  }

  /** Texts as a list in Markdown, each on its line. */
  static String list(Collection<String> texts) {
    return texts.stream().map(text -> "- " + plain(text)).collect(Collectors.joining("\n"));
  }
}
