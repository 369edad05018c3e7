package org.tidemark.report;

import java.util.Arrays;
import java.util.List;
import java.util.Locale;
import java.util.regex.MatchResult;
import java.util.regex.Pattern;
import java.util.stream.Stream;

/** The school year that a text asks for, by published formulas. Syllables are counted by ear. */
final class Readability {
  private static final Pattern WORD = Pattern.compile("[\\p{L}]+");
  private static final Pattern SOUND =
      Pattern.compile("[aeiouyäöü]+", Pattern.CASE_INSENSITIVE | Pattern.UNICODE_CASE);
  private static final Pattern GERMAN_SOUND =
      Pattern.compile(
          "(?:au|äu|ei|eu|ie|ai|aa|ee|oo|[aeiouyäöü])",
          Pattern.CASE_INSENSITIVE | Pattern.UNICODE_CASE);

  private Readability() {}

  /**
   * Flesch-Kincaid grade: Kincaid, Fishburne, Rogers and Chissom 1975, Derivation of new
   * readability formulas, Research Branch Report 8-75 (coefficients from memory).
   */
  static double fleschKincaid(List<String> sentences) {
    List<String> words = words(sentences);
    double syllables = words.stream().mapToInt(Readability::english).sum();
    return 0.39 * words.size() / count(sentences) + 11.8 * syllables / words.size() - 15.59;
  }

  /**
   * First Wiener Sachtextformel: Bamberger and Vanecek 1984, Lesen - Verstehen - Lernen - Schreiben
   * (coefficients from memory).
   */
  static double wienerSachtext(List<String> sentences) {
    List<String> words = words(sentences);
    double each = 100.0 / words.size();
    double many = each * words.stream().filter(word -> german(word) >= 3).count();
    double one = each * words.stream().filter(word -> german(word) == 1).count();
    double longs = each * words.stream().filter(word -> word.length() > 6).count();
    double length = (double) words.size() / count(sentences);
    return 0.1935 * many + 0.1672 * length + 0.1297 * longs - 0.0327 * one - 0.875;
  }

  private static List<String> words(List<String> sentences) {
    return sentences.stream()
        .flatMap(sentence -> WORD.matcher(sentence).results().map(MatchResult::group))
        .toList();
  }

  /** A line without an end is a sentence too. */
  private static long count(List<String> lines) {
    return lines.stream()
        .flatMap(line -> Arrays.stream(line.split("[.!?:]")))
        .filter(part -> WORD.matcher(part).find())
        .count();
  }

  private static int english(String word) {
    String small = word.toLowerCase(Locale.ROOT);
    long sounds = SOUND.matcher(small).results().count();
    boolean silent = small.endsWith("e") && !small.endsWith("le") && sounds > 1;
    boolean past = small.endsWith("ed") && !small.matches(".*[td]ed") && sounds > 1;
    return (int) Math.max(1, sounds - (silent || past ? 1 : 0));
  }

  private static int german(String word) {
    return (int) Math.max(1, GERMAN_SOUND.matcher(word).results().count());
  }

  /** The lines of a page that is well-formed: what stands in paragraphs, lists and tables. */
  static List<String> lines(String page) {
    String body = page.substring(page.indexOf("<body>")).replaceAll("(?s)<svg.*?</svg>", "");
    return Stream.of(body.split("</(?:p|li|h1|h2|h3|th|td)>"))
        .map(line -> line.replaceAll("<[^>]*>", " ").replaceAll("\\s+", " ").strip())
        .filter(line -> WORD.matcher(line).find())
        .toList();
  }
}
