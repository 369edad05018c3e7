package org.tidemark.fhir;

import java.time.OffsetDateTime;
import java.time.format.DateTimeFormatter;
import java.util.Locale;
import org.hl7.fhir.r4.model.DateTimeType;
import org.hl7.fhir.r4.model.DateType;

/** Times as FHIR writes them, in the offset that they came with. */
final class DateTimes {
  private static final DateTimeFormatter SECONDS =
      DateTimeFormatter.ofPattern("uuuu-MM-dd'T'HH:mm:ssXXX", Locale.ROOT);
  private static final DateTimeFormatter MILLISECONDS =
      DateTimeFormatter.ofPattern("uuuu-MM-dd'T'HH:mm:ss.SSSXXX", Locale.ROOT);

  private DateTimes() {}

  /** To the second, or to the millisecond where there is a fraction. */
  static DateTimeType dateTime(OffsetDateTime at) {
    return new DateTimeType((at.getNano() == 0 ? SECONDS : MILLISECONDS).format(at));
  }

  /** The day in the offset of whoever said it. */
  static DateType date(OffsetDateTime at) {
    return new DateType(at.toLocalDate().toString());
  }
}
