package org.tidemark.http;

import java.util.List;
import java.util.Locale;

/** The languages that a request asks for. */
public final class AskedLanguages {
  /** The header that names them (RFC 9110, 12.5.4). */
  public static final String HEADER = "Accept-Language";

  private AskedLanguages() {}

  /**
   * The languages in the order of their weight.
   *
   * @param header the header, or null when there is none
   * @return none where the header is not to be understood: it is a wish, and nobody is refused for
   *     it
   */
  public static List<Locale> of(String header) {
    if (header == null || header.isBlank()) {
      return List.of();
    }
    try {
      return Locale.LanguageRange.parse(header).stream()
          .filter(range -> range.getWeight() > 0 && !range.getRange().startsWith("*"))
          .map(range -> Locale.forLanguageTag(range.getRange()))
          .toList();
    } catch (IllegalArgumentException notUnderstood) {
      return List.of();
    }
  }
}
