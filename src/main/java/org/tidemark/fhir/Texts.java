package org.tidemark.fhir;

import java.math.BigDecimal;
import java.text.MessageFormat;
import java.text.NumberFormat;
import java.time.LocalDate;
import java.time.OffsetDateTime;
import java.time.format.DateTimeFormatter;
import java.util.List;
import java.util.Locale;
import java.util.Map;
import java.util.Optional;
import java.util.ResourceBundle;
import java.util.concurrent.ConcurrentHashMap;
import java.util.stream.Collectors;
import org.tidemark.decision.Reason;
import org.tidemark.decision.Warning;
import org.tidemark.quantity.Amount;
import org.tidemark.quantity.Grade;
import org.tidemark.quantity.Unit;
import org.tidemark.quantity.Value;
import org.tidemark.quantity.YesNo;
import org.tidemark.trend.Forecast;

/**
 * The texts for people in one language. They lie in resource bundles, so that a further language is
 * a further file; English is the root of each.
 */
public final class Texts {
  private static final String NARRATIVE = "org.tidemark.fhir.narrative";
  private static final int MOST_DECIMALS = 6;
  private static final Map<String, Texts> KNOWN = new ConcurrentHashMap<>();

  private final Locale locale;
  private final ResourceBundle bundle;
  private final Map<String, MessageFormat> patterns = new ConcurrentHashMap<>();

  private Texts(String name, Locale wanted) {
    bundle = bundle(name, wanted);
    locale = isRoot(bundle) ? Locale.ENGLISH : wanted;
  }

  /**
   * The texts of narratives.
   *
   * @param wanted the language; what there is no file for comes in English
   */
  public static Texts of(Locale wanted) {
    return of(NARRATIVE, wanted);
  }

  /**
   * The texts of a bundle.
   *
   * @param name its name, such as {@code org.tidemark.fhir.narrative}
   * @param wanted the language; what there is no file for comes in English
   */
  public static Texts of(String name, Locale wanted) {
    return KNOWN.computeIfAbsent(
        name + "/" + wanted.toLanguageTag(), unknown -> new Texts(name, wanted));
  }

  /** The first of some languages that there are narratives in. */
  public static Optional<Locale> firstSpoken(List<Locale> wanted) {
    return wanted.stream().filter(Texts::isSpoken).findFirst();
  }

  private static boolean isSpoken(Locale wanted) {
    return wanted.getLanguage().equals(Locale.ENGLISH.getLanguage())
        || !isRoot(bundle(NARRATIVE, wanted));
  }

  private static boolean isRoot(ResourceBundle bundle) {
    return bundle.getLocale().equals(Locale.ROOT);
  }

  private static ResourceBundle bundle(String name, Locale wanted) {
    return ResourceBundle.getBundle(
        name,
        wanted,
        ResourceBundle.Control.getNoFallbackControl(ResourceBundle.Control.FORMAT_PROPERTIES));
  }

  /** The locale that texts, numbers and dates are in. */
  public Locale locale() {
    return locale;
  }

  /** The language as in an HTML {@code lang}, such as {@code de}. */
  public String language() {
    return locale.getLanguage();
  }

  /**
   * A text with what is filled into it.
   *
   * @throws java.util.MissingResourceException when there is no such text
   */
  public String of(String key, Object... filled) {
    MessageFormat pattern =
        patterns.computeIfAbsent(key, unread -> new MessageFormat(bundle.getString(key), locale));
    return ((MessageFormat) pattern.clone()).format(filled);
  }

  /** The text of a key that not every language needs to have. */
  public Optional<String> find(String key, Object... filled) {
    return bundle.containsKey(key) ? Optional.of(of(key, filled)) : Optional.empty();
  }

  /** All texts whose keys begin so, by the rest of their keys. */
  public Map<String, String> all(String beginning) {
    return bundle.keySet().stream()
        .filter(key -> key.startsWith(beginning))
        .collect(
            Collectors.toUnmodifiableMap(key -> key.substring(beginning.length()), key -> of(key)));
  }

  /** A reason in its sentence. */
  public String reason(Reason reason) {
    return find("reason." + reason.code()).orElseGet(reason::sentence);
  }

  /** A warning sign in its sentence. */
  public String warning(Warning sign) {
    return find("warning." + sign.code()).orElseGet(sign::sentence);
  }

  /** What the person is told to do about a sign. */
  public String urgency(Warning.Urgency urgency) {
    return find("urgency." + urgency.name().toLowerCase(Locale.ROOT)).orElseGet(urgency::sentence);
  }

  /** Why there is no forecast, in a sentence. */
  String noForecast(Forecast.Reason reason) {
    return find("no-forecast." + reason.name().toLowerCase(Locale.ROOT).replace('_', '-'))
        .orElseGet(reason::sentence);
  }

  /** What a clinician is to do about a matter, in a few words. */
  public String title(Matter matter) {
    return find("matter." + matter.code()).orElseGet(matter::title);
  }

  /** A matter in its sentence. */
  public String sentence(Matter matter) {
    return find("matter." + matter.code() + ".sentence").orElseGet(matter::sentence);
  }

  /** What a code of an item, a piece of equipment or a measure means; its words in English. */
  public String item(String code) {
    return find("item." + code).orElseGet(() -> words(code));
  }

  /** An amount with its unit, a grade in words, yes or no. */
  public String value(Value value) {
    if (value instanceof Amount amount) {
      return amount(amount);
    }
    return value instanceof Grade grade
        ? grade(grade.code())
        : of(((YesNo) value).yes() ? "value.yes" : "value.no");
  }

  /** A grade in words. */
  String grade(String code) {
    return find("grade." + code).orElseGet(() -> words(code));
  }

  private String amount(Amount amount) {
    String number = number(amount.value());
    return amount.unit() == Unit.SCORE || amount.unit() == Unit.COUNT
        ? number
        : of("unit." + amount.unit().ucum(), number);
  }

  /** A number with all its decimals, and none that are not there. */
  public String number(BigDecimal number) {
    NumberFormat format = NumberFormat.getInstance(locale);
    format.setGroupingUsed(false);
    format.setMaximumFractionDigits(MOST_DECIMALS);
    return format.format(number);
  }

  /** A number with as many decimals as it is given with, such as {@code 3.0}. */
  String rounded(BigDecimal number) {
    NumberFormat format = NumberFormat.getInstance(locale);
    format.setGroupingUsed(false);
    format.setMinimumFractionDigits(number.scale());
    format.setMaximumFractionDigits(number.scale());
    return format.format(number);
  }

  /** A day, such as {@code 2 March 2026}. */
  public String day(LocalDate day) {
    return DateTimeFormatter.ofPattern(bundle.getString("date.day"), locale).format(day);
  }

  /** A time in the offset that it came with, such as {@code 2 March 2026, 09:10}. */
  public String time(OffsetDateTime at) {
    return DateTimeFormatter.ofPattern(bundle.getString("date.time"), locale).format(at);
  }

  /**
   * A title within a sentence: where the language writes it so, its first letter small, unless the
   * second is a capital too.
   */
  public String within(String title) {
    boolean word = title.length() > 1 && !Character.isUpperCase(title.charAt(1));
    return word && !Boolean.parseBoolean(of("capital.within"))
        ? Character.toLowerCase(title.charAt(0)) + title.substring(1)
        : title;
  }

  /** A text with its first letter capital. */
  static String capital(String text) {
    return text.isEmpty() ? text : Character.toUpperCase(text.charAt(0)) + text.substring(1);
  }

  /** A code as English words: {@code one-hand} is one hand. */
  private static String words(String code) {
    return code.replace('-', ' ');
  }
}
