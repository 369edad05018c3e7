package org.tidemark.report;

import java.util.regex.Matcher;
import java.util.regex.Pattern;

/**
 * A picture on a page, so wide as the page gives room.
 *
 * @param svg the picture, as an element to be put into a page as it is
 */
public record Figure(String svg) {
  private static final Pattern BEGINNING =
      Pattern.compile("<svg ([^>]*?viewBox=\"0 0 ([0-9.]+) ([0-9.]+)\")");
  private static final Pattern TITLE =
      Pattern.compile("<title>(.*?)</title>\\s*<desc>(.*?)</desc>", Pattern.DOTALL);

  /**
   * A picture of this size. The words for who cannot see it become those of the tagged PDF too,
   * which looks for them in {@code alt}; its letters are those of the page.
   *
   * @param svg one of our pictures
   * @param width how wide it may be, mm
   * @param height how high it may be, mm
   */
  static Figure of(String svg, double width, double height) {
    Matcher beginning = BEGINNING.matcher(svg);
    Matcher title = TITLE.matcher(svg);
    if (!beginning.find() || !title.find()) {
      throw new IllegalArgumentException("a picture has a view box, a title and a description");
    }
    double wide = Double.parseDouble(beginning.group(2));
    double tall = Double.parseDouble(beginning.group(3));
    double scale = Math.min(width / wide, height / tall);
    String sized =
        "<svg width=\"%smm\" height=\"%smm\" alt=\"%s. %s\" %s"
            .formatted(
                Svg.number(scale * wide),
                Svg.number(scale * tall),
                title.group(1),
                title.group(2),
                beginning.group(1));
    return new Figure(
        sized
            + svg.substring(beginning.end())
                .replaceFirst(
                    "font-family=\"sans-serif\"", "font-family=\"" + Pdf.FONT + ", sans-serif\""));
  }
}
