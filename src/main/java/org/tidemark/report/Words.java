package org.tidemark.report;

import java.text.NumberFormat;
import java.util.Locale;
import java.util.Map;
import java.util.Optional;
import org.tidemark.fhir.Texts;
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

  private final Texts texts;

  /** The texts of the pictures. */
  Words(Locale wanted) {
    this(PICTURES, wanted);
  }

  /** The texts of handout and report. */
  static Words ofPapers(Locale wanted) {
    return new Words(PAPERS, wanted);
  }

  private Words(String bundle, Locale wanted) {
    texts = Texts.of(bundle, wanted);
  }

  /** The language that the texts are in, as in an HTML {@code lang}. */
  String language() {
    return texts.language();
  }

  /** The locale that numbers and dates are written in. */
  Locale locale() {
    return texts.locale();
  }

  /** The text of a key. */
  String of(String key, Object... values) {
    return texts.of(key, values);
  }

  /** All texts whose keys begin so, by the rest of their keys. */
  Map<String, String> all(String beginning) {
    return texts.all(beginning);
  }

  /** What a variable is set to, in words; empty when there are none for it. */
  Optional<String> set(String variable, Value value) {
    String key = "set." + variable;
    if (value instanceof Grade grade) {
      return texts.find(key + "." + grade.code());
    }
    if (value instanceof Amount amount) {
      Optional<String> nothing =
          amount.isZero() ? texts.find(key + "." + NOTHING) : Optional.empty();
      return nothing.isPresent() ? nothing : texts.find(key, amount(amount));
    }
    return Optional.empty();
  }

  /** A number with its unit, as a person writes it. */
  String amount(Amount amount) {
    NumberFormat numbers = NumberFormat.getInstance(texts.locale());
    numbers.setMaximumFractionDigits(2);
    String number = numbers.format(amount.value());
    return texts.find("unit." + amount.unit().ucum(), number).orElse(number);
  }

  /** An angle in whole degrees. */
  String degrees(double angle) {
    return amount(Amount.of(Math.round(angle), Unit.DEGREE));
  }

  /** The text of a key, where there is one. */
  Optional<String> find(String key) {
    return texts.find(key);
  }
}
