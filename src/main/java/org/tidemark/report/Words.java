package org.tidemark.report;

import java.text.MessageFormat;
import java.text.NumberFormat;
import java.util.Locale;
import java.util.Map;
import java.util.Optional;
import java.util.ResourceBundle;
import java.util.stream.Collectors;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Grade;
import org.tidemark.quantity.Unit;
import org.tidemark.quantity.Value;

/** The texts of pictures or papers in one language; English where there is none for it. */
final class Words {
  private static final String PICTURES = "org.tidemark.report.drawing";
  private static final String PAPERS = "org.tidemark.report.paper";

  /** What an amount is set to when it is nothing. */
  private static final String NOTHING = "0";

  private final Locale locale;
  private final ResourceBundle texts;

  /** The texts of the pictures. */
  Words(Locale wanted) {
    this(PICTURES, wanted);
  }

  /** The texts of handout and report. */
  static Words ofPapers(Locale wanted) {
    return new Words(PAPERS, wanted);
  }

  private Words(String bundle, Locale wanted) {
    texts =
        ResourceBundle.getBundle(
            bundle,
            wanted,
            ResourceBundle.Control.getNoFallbackControl(ResourceBundle.Control.FORMAT_PROPERTIES));
    locale = texts.getLocale().equals(Locale.ROOT) ? Locale.ENGLISH : wanted;
  }

  /** The language that the texts are in, as in an HTML {@code lang}. */
  String language() {
    return locale.getLanguage();
  }

  /** The locale that numbers and dates are written in. */
  Locale locale() {
    return locale;
  }

  /** The text of a key. */
  String of(String key, Object... values) {
    return new MessageFormat(texts.getString(key), locale).format(values);
  }

  /** All texts whose keys begin so, by the rest of their keys. */
  Map<String, String> all(String beginning) {
    return texts.keySet().stream()
        .filter(key -> key.startsWith(beginning))
        .collect(Collectors.toUnmodifiableMap(key -> key.substring(beginning.length()), this::of));
  }

  /** What a variable is set to, in words; empty when there are none for it. */
  Optional<String> set(String variable, Value value) {
    String key = "set." + variable;
    if (value instanceof Grade grade) {
      return find(key + "." + grade.code());
    }
    if (value instanceof Amount amount) {
      Optional<String> nothing = amount.isZero() ? find(key + "." + NOTHING) : Optional.empty();
      return nothing.isPresent() || !texts.containsKey(key)
          ? nothing
          : Optional.of(of(key, amount(amount)));
    }
    return Optional.empty();
  }

  /** A number with its unit, as a person writes it. */
  String amount(Amount amount) {
    NumberFormat numbers = NumberFormat.getInstance(locale);
    numbers.setMaximumFractionDigits(2);
    String number = numbers.format(amount.value());
    String key = "unit." + amount.unit().ucum();
    return texts.containsKey(key) ? of(key, number) : number;
  }

  /** An angle in whole degrees. */
  String degrees(double angle) {
    return amount(Amount.of(Math.round(angle), Unit.DEGREE));
  }

  /** The text of a key, where there is one. */
  Optional<String> find(String key) {
    return texts.containsKey(key) ? Optional.of(of(key)) : Optional.empty();
  }
}
