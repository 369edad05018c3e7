package org.tidemark.http;

import java.time.LocalDate;
import java.util.Locale;
import java.util.Optional;
import org.tidemark.fhir.Texts;

/** The texts of the clinician's pages in one language, as templates call them. */
public final class PageText {
  private static final String BUNDLE = "org.tidemark.http.page";

  private final Texts texts;

  /** The texts in a language. */
  public PageText(Locale wanted) {
    texts = Texts.of(BUNDLE, wanted);
  }

  /** The language as in an HTML {@code lang}. */
  public String language() {
    return texts.language();
  }

  /** The text of a key with what is filled into it. */
  public String of(String key, Object... filled) {
    return texts.of(key, filled);
  }

  /** The name of a unit by its UCUM code; the code where there is none. */
  public String unit(String ucum) {
    Optional<String> known = texts.find("unit." + ucum);
    return known.orElse(ucum);
  }

  /** A day, such as {@code 2 March 2026}. */
  public String day(LocalDate day) {
    return texts.day(day);
  }
}
