package org.tidemark.fhir;

import java.time.DateTimeException;
import java.time.LocalDate;
import java.time.LocalDateTime;
import java.time.OffsetDateTime;
import java.time.Year;
import java.time.YearMonth;
import java.time.ZoneOffset;
import java.time.temporal.ChronoUnit;
import java.util.Optional;
import java.util.regex.Matcher;
import java.util.regex.Pattern;
import org.hl7.fhir.r4.model.BaseDateTimeType;
import org.hl7.fhir.r4.model.Period;

/**
 * The time that a FHIR date, time or period covers. A date without a time is that calendar day in
 * UTC, whatever zone the server runs in.
 *
 * @param lowMs its first millisecond since 1970 UTC
 * @param highMs the first millisecond after it
 */
public record TimeSpan(long lowMs, long highMs) {

  /** A period that does not say when it began begins here: 0001-01-01. */
  public static final long ALWAYS_MS = -62_135_596_800_000L;

  /** A period that does not say when it ends ends here: 9999-12-31. */
  public static final long FOR_EVER_MS = 253_402_214_400_000L;

  private static final Pattern FORM =
      Pattern.compile(
          "(\\d{4})(?:-(\\d{2})(?:-(\\d{2})(?:T(\\d{2}:\\d{2})(:\\d{2})?(\\.\\d{1,9})?(Z|[+-]\\d{2}:\\d{2})?)?)?)?");

  /**
   * The time that a FHIR date or time covers, by its precision.
   *
   * @param value a date, dateTime or instant with a value
   * @return its span, empty when it has no value
   */
  public static Optional<TimeSpan> of(BaseDateTimeType value) {
    return value.hasValue() ? parse(value.getValueAsString()) : Optional.empty();
  }

  /**
   * The time that a period covers; an open side reaches to the end of time.
   *
   * @param period a period
   * @return its span, empty when it has neither start nor end
   */
  public static Optional<TimeSpan> of(Period period) {
    Optional<TimeSpan> start = of(period.getStartElement());
    Optional<TimeSpan> end = of(period.getEndElement());
    if (start.isEmpty() && end.isEmpty()) {
      return Optional.empty();
    }
    return Optional.of(
        new TimeSpan(
            start.map(TimeSpan::lowMs).orElse(ALWAYS_MS),
            end.map(TimeSpan::highMs).orElse(FOR_EVER_MS)));
  }

  /**
   * Reads a date or time as FHIR writes it, from a year to a fraction of a second. A time without a
   * zone is taken as UTC.
   *
   * @param text such as {@code 2026-03}, {@code 2026-03-02} or {@code 2026-03-02T18:00+01:00}
   * @return its span, or empty when it is no such text
   */
  public static Optional<TimeSpan> parse(String text) {
    Matcher form = FORM.matcher(text);
    if (!form.matches()) {
      return Optional.empty();
    }
    try {
      return Optional.of(read(form));
    } catch (DateTimeException noSuchDay) {
      return Optional.empty();
    }
  }

  private static TimeSpan read(Matcher form) {
    int year = Integer.parseInt(form.group(1));
    if (form.group(2) == null) {
      return days(Year.of(year).atDay(1), Year.of(year).plusYears(1).atDay(1));
    }
    YearMonth month = YearMonth.of(year, Integer.parseInt(form.group(2)));
    if (form.group(3) == null) {
      return days(month.atDay(1), month.plusMonths(1).atDay(1));
    }
    LocalDate day = month.atDay(1).withDayOfMonth(Integer.parseInt(form.group(3)));
    if (form.group(4) == null) {
      return days(day, day.plusDays(1));
    }
    String seconds = form.group(5) == null ? "" : form.group(5);
    String fraction = form.group(6) == null ? "" : form.group(6);
    LocalDateTime local = LocalDateTime.parse(day + "T" + form.group(4) + seconds + fraction);
    ZoneOffset zone = form.group(7) == null ? ZoneOffset.UTC : ZoneOffset.of(form.group(7));
    long low = OffsetDateTime.of(local, zone).toInstant().toEpochMilli();
    ChronoUnit precision =
        seconds.isEmpty()
            ? ChronoUnit.MINUTES
            : fraction.isEmpty() ? ChronoUnit.SECONDS : ChronoUnit.MILLIS;
    return new TimeSpan(low, low + precision.getDuration().toMillis());
  }

  private static TimeSpan days(LocalDate first, LocalDate after) {
    return new TimeSpan(
        first.atStartOfDay().toInstant(ZoneOffset.UTC).toEpochMilli(),
        after.atStartOfDay().toInstant(ZoneOffset.UTC).toEpochMilli());
  }
}
