package org.tidemark.fhir;

import java.time.LocalDate;
import java.time.OffsetDateTime;
import java.time.format.DateTimeFormatter;
import java.util.Locale;
import org.hl7.fhir.r4.model.DateTimeType;
import org.hl7.fhir.r4.model.DateType;

/** Times as FHIR and as people write them, in the offset that they came with. */
final class DateTimes {
  private static final DateTimeFormatter SECONDS =
      DateTimeFormatter.ofPattern("uuuu-MM-dd'T'HH:mm:ssXXX", Locale.ROOT);
  private static final DateTimeFormatter MILLISECONDS =
      DateTimeFormatter.ofPattern("uuuu-MM-dd'T'HH:mm:ss.SSSXXX", Locale.ROOT);
  private static final DateTimeFormatter WORDS =
      DateTimeFormatter.ofPattern("d MMMM uuuu, HH:mm", Locale.ENGLISH);
  private static final DateTimeFormatter DAY =
      DateTimeFormatter.ofPattern("d MMMM uuuu", Locale.ENGLISH);

  private DateTimes() {}

  /** To the second, or to the millisecond where there is a fraction. */
  static DateTimeType dateTime(OffsetDateTime at) {
    return new DateTimeType((at.getNano() == 0 ? SECONDS : MILLISECONDS).format(at));
  }

  /** The day in the offset of whoever said it. */
  static DateType date(OffsetDateTime at) {
    return new DateType(at.toLocalDate().toString());
  }

  /** Such as {@code 2 March 2026, 09:10}. */
  static String words(OffsetDateTime at) {
    return WORDS.format(at);
  }

  /** Such as {@code 2 March 2026}. */
  static String day(LocalDate at) {
    return DAY.format(at);
  }
}
