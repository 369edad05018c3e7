package org.tidemark.report;

import java.util.ArrayList;
import java.util.List;
import java.util.Locale;
import java.util.StringJoiner;

/** Writes SVG in black, white and grey, so that it prints; lengths in units of the view box. */
final class Svg {
  static final double FONT = 24;

  /** The widest that a letter of a usual sans-serif is on average, as a share of its size. */
  static final double LETTER = 0.6;

  private final StringBuilder text = new StringBuilder();

  /** A place in the picture, units to the right and down. */
  record Spot(double x, double y) {}

  /**
   * Begins a picture.
   *
   * @param data what else the element says, as whole attributes; may be empty
   */
  Svg(double width, double height, String language, String title, String description, String data) {
    text.append("<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 ")
        .append(number(width))
        .append(' ')
        .append(number(height))
        .append("\" role=\"img\" xml:lang=\"")
        .append(escaped(language))
        .append("\" font-family=\"sans-serif\" font-size=\"")
        .append(number(FONT))
        .append("\" stroke-linejoin=\"round\" stroke-linecap=\"round\"")
        .append(data.isEmpty() ? "" : " " + data)
        .append(">\n<title>")
        .append(escaped(title))
        .append("</title>\n<desc>")
        .append(escaped(description))
        .append("</desc>\n");
    path(
        "ground",
        "fill=\"#fff\"",
        List.of(new Spot(0, 0), new Spot(width, 0), new Spot(width, height), new Spot(0, height)),
        true);
  }

  String end() {
    return text + "</svg>\n";
  }

  void path(String kind, String style, List<Spot> spots, boolean closed) {
    StringJoiner points = new StringJoiner(" ");
    spots.forEach(spot -> points.add(number(spot.x()) + "," + number(spot.y())));
    text.append(closed ? "<polygon" : "<polyline")
        .append(" class=\"")
        .append(kind)
        .append("\" ")
        .append(closed || style.contains("fill=") ? "" : "fill=\"none\" ")
        .append(style)
        .append(" points=\"")
        .append(points)
        .append("\"/>\n");
  }

  void line(String kind, String style, Spot from, Spot to) {
    path(kind, style, List.of(from, to), false);
  }

  void circle(String kind, String style, Spot middle, double radius) {
    text.append("<circle class=\"")
        .append(kind)
        .append("\" ")
        .append(style)
        .append(" cx=\"")
        .append(number(middle.x()))
        .append("\" cy=\"")
        .append(number(middle.y()))
        .append("\" r=\"")
        .append(number(radius))
        .append("\"/>\n");
  }

  /**
   * A line of text.
   *
   * @param anchor start, middle or end
   */
  void text(String kind, String anchor, String weight, Spot at, String words) {
    text.append("<text class=\"")
        .append(kind)
        .append("\" text-anchor=\"")
        .append(anchor)
        .append("\" font-weight=\"")
        .append(weight)
        .append("\" x=\"")
        .append(number(at.x()))
        .append("\" y=\"")
        .append(number(at.y()))
        .append("\">")
        .append(escaped(words))
        .append("</text>\n");
  }

  /** The same text on white, so that lines below it do not cross it. */
  void label(String kind, Spot middle, String words) {
    double width = width(words) + 8;
    double top = middle.y() - 0.85 * FONT;
    path(
        kind + "-back",
        "fill=\"#fff\"",
        List.of(
            new Spot(middle.x() - width / 2, top),
            new Spot(middle.x() + width / 2, top),
            new Spot(middle.x() + width / 2, top + 1.1 * FONT),
            new Spot(middle.x() - width / 2, top + 1.1 * FONT)),
        true);
    text(kind, "middle", "bold", middle, words);
  }

  /** Slanting lines across a convex outline, so far apart. */
  void hatch(String style, List<Spot> outline, double apart) {
    double least = outline.stream().mapToDouble(spot -> spot.x() + spot.y()).min().orElseThrow();
    double most = outline.stream().mapToDouble(spot -> spot.x() + spot.y()).max().orElseThrow();
    for (double sum = least + apart; sum < most; sum += apart) {
      List<Spot> crossed = crossings(outline, sum);
      if (crossed.size() == 2) {
        line("hatch", style, crossed.get(0), crossed.get(1));
      }
    }
  }

  /** Where the line of the places whose coordinates have this sum crosses an outline. */
  private static List<Spot> crossings(List<Spot> outline, double sum) {
    List<Spot> crossed = new ArrayList<>();
    for (int i = 0; i < outline.size(); i++) {
      Spot a = outline.get(i);
      Spot b = outline.get((i + 1) % outline.size());
      double before = a.x() + a.y() - sum;
      double after = b.x() + b.y() - sum;
      if (before < 0 != after < 0) {
        double share = before / (before - after);
        crossed.add(new Spot(a.x() + share * (b.x() - a.x()), a.y() + share * (b.y() - a.y())));
      }
    }
    return crossed;
  }

  /** The room that words take at most, in units. */
  static double width(String words) {
    return words.length() * LETTER * FONT;
  }

  /** Words broken into lines that are no wider than this; a word is never broken. */
  static List<String> wrapped(String words, double width) {
    List<String> lines = new ArrayList<>();
    StringBuilder line = new StringBuilder();
    for (String word : words.split(" ")) {
      if (!line.isEmpty() && width(line + " " + word) > width) {
        lines.add(line.toString());
        line.setLength(0);
      }
      line.append(line.isEmpty() ? "" : " ").append(word);
    }
    lines.add(line.toString());
    return lines;
  }

  static String number(double value) {
    return String.format(Locale.ROOT, "%.2f", value);
  }

  private static String escaped(String words) {
    return words
        .replace("&", "&amp;")
        .replace("<", "&lt;")
        .replace(">", "&gt;")
        .replace("\"", "&quot;");
  }
}
