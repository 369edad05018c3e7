package org.tidemark.http;

import java.text.MessageFormat;
import java.time.LocalDate;
import java.time.format.DateTimeFormatter;
import java.time.format.FormatStyle;
import java.util.Locale;
import java.util.ResourceBundle;

/** The texts of the clinician's pages in one language; English where there is none for it. */
final class PageText {
  private static final String BUNDLE = "org.tidemark.http.page";

  private final Locale locale;
  private final ResourceBundle texts;

  PageText(Locale wanted) {
    texts =
        ResourceBundle.getBundle(
            BUNDLE,
            wanted,
            ResourceBundle.Control.getNoFallbackControl(ResourceBundle.Control.FORMAT_PROPERTIES));
    locale = texts.getLocale().equals(Locale.ROOT) ? Locale.ENGLISH : wanted;
  }

  /** The language as in an HTML {@code lang}. */
  public String language() {
    return locale.getLanguage();
  }

  /** The text of a key with what is filled into it. */
  public String of(String key, Object... filled) {
    return new MessageFormat(texts.getString(key), locale).format(filled);
  }

  /** The name of a unit by its UCUM code; the code where there is none. */
  public String unit(String ucum) {
    String key = "unit." + ucum;
    return texts.containsKey(key) ? of(key) : ucum;
  }

  /** A day, such as {@code March 2, 2026}. */
  public String day(LocalDate day) {
    return DateTimeFormatter.ofLocalizedDate(FormatStyle.LONG).withLocale(locale).format(day);
  }
}
