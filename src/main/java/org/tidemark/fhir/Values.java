package org.tidemark.fhir;

import java.math.BigDecimal;
import java.util.regex.Pattern;

/** What the texts of primitive values may be, beyond what HAPI checks. */
final class Values {
  /** The digits that a decimal may have; R4 asks a server to keep at least 18. */
  static final int DIGITS = 18;

  private static final Pattern DATE = Pattern.compile("\\d{4}(-\\d{2}(-\\d{2})?)?");
  private static final Pattern ZONED =
      Pattern.compile("\\d{4}-\\d{2}-\\d{2}T\\d{2}:\\d{2}:\\d{2}(\\.\\d+)?(Z|[+-]\\d{2}:\\d{2})");

  private Values() {}

  /** Whether this number, written out without an exponent, has more digits than are kept. */
  static boolean isBeyondDecimal(String number) {
    try {
      BigDecimal value = new BigDecimal(number);
      long whole = (long) value.precision() - value.scale();
      return Math.max(whole, 0) + Math.max(value.scale(), 0) > DIGITS;
    } catch (NumberFormatException e) {
      return false;
    }
  }

  /** Whether this is a date, or a time with seconds and zone. */
  static boolean isZonedOrDate(String text) {
    return DATE.matcher(text).matches() || ZONED.matcher(text).matches();
  }

  /** Whether the text has a control character (besides tab and line ends) or half a pair. */
  static boolean hasForbiddenCharacter(String text) {
    for (int i = 0; i < text.length(); i++) {
      char c = text.charAt(i);
      if (c < ' ' && c != '\t' && c != '\n' && c != '\r') {
        return true;
      }
      if (Character.isHighSurrogate(c)) {
        if (i + 1 == text.length() || !Character.isLowSurrogate(text.charAt(++i))) {
          return true;
        }
      } else if (Character.isLowSurrogate(c) || c == '\uFFFE' || c == '\uFFFF') {
        return true;
      }
    }
    return false;
  }
}
