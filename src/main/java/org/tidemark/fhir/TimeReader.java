package org.tidemark.fhir;

import ca.uhn.fhir.model.api.TemporalPrecisionEnum;
import java.time.Duration;
import java.time.LocalDate;
import java.time.LocalTime;
import java.time.OffsetDateTime;
import java.time.Year;
import java.time.YearMonth;
import java.time.ZoneId;
import java.time.format.DateTimeParseException;
import java.util.Optional;
import java.util.function.Function;
import org.hl7.fhir.r4.model.BaseDateTimeType;
import org.hl7.fhir.r4.model.Period;
import org.hl7.fhir.r4.model.Type;

/**
 * Times as FHIR writes them. A time of day keeps the offset it was sent with. A date alone is a day
 * of the clinic: the reader is told at what time of that day a thing is taken to have been. A month
 * or a year alone is no day.
 *
 * @param zone the clinic's time zone
 */
record TimeReader(ZoneId zone) {

  /**
   * When something was.
   *
   * @param start when it began
   * @param end when it ended, not before the start; equal to it when one time is known
   * @param timeKnown whether the time of day was sent
   */
  record When(OffsetDateTime start, OffsetDateTime end, boolean timeKnown) {
    Duration length() {
      return Duration.between(start, end);
    }
  }

  /**
   * The time of an Observation, whatever the type of it; a Period with one end is that moment.
   *
   * @param effective a dateTime, instant or Period; empty for others
   * @param timeOfDay what a date without a time is taken for
   * @param path FHIRPath of the element, for complaints
   * @return empty when it is missing, of another type, or less precise than a day
   * @throws Problem when it is no time, or a Period ends before it starts
   */
  Optional<When> when(Type effective, LocalTime timeOfDay, String path) {
    if (effective instanceof BaseDateTimeType time) {
      return moment(time, timeOfDay, path).map(at -> new When(at, at, hasTime(time)));
    }
    if (effective instanceof Period period) {
      Optional<OffsetDateTime> start = moment(period.getStartElement(), timeOfDay, path + ".start");
      Optional<OffsetDateTime> end = moment(period.getEndElement(), timeOfDay, path + ".end");
      if (start.isEmpty() && end.isEmpty()) {
        return Optional.empty();
      }
      OffsetDateTime first = start.or(() -> end).orElseThrow();
      OffsetDateTime last = end.orElse(first);
      if (last.toInstant().isBefore(first.toInstant())) {
        throw Problem.of(Problem.Kind.BUSINESS_RULE, "A period ends after it starts.", path);
      }
      BaseDateTimeType said = start.isPresent() ? period.getStartElement() : period.getEndElement();
      return Optional.of(new When(first, last, hasTime(said)));
    }
    return Optional.empty();
  }

  /**
   * One time.
   *
   * @return empty when it is missing or less precise than a day
   * @throws Problem when it has a time of day without an offset, or is no time
   */
  Optional<OffsetDateTime> moment(BaseDateTimeType time, LocalTime timeOfDay, String path) {
    if (!time.hasValue() || lessThanADay(time)) {
      return Optional.empty();
    }
    String text = time.getValueAsString();
    try {
      return Optional.of(
          hasTime(time)
              ? OffsetDateTime.parse(text)
              : LocalDate.parse(text).atTime(timeOfDay).atZone(zone).toOffsetDateTime());
    } catch (DateTimeParseException unreadable) {
      throw Problem.of(
          Problem.Kind.OUT_OF_RANGE,
          "'" + text + "' is not a time with an offset, such as 2026-03-03T18:00:00+01:00.",
          path);
    }
  }

  /**
   * The first day of a date as it is written, or the clinic's day of a time. A month or a year
   * begins with its first day.
   */
  Optional<LocalDate> firstDay(BaseDateTimeType time, String path) {
    return day(time, month -> month.atDay(1), year -> year.atDay(1), path);
  }

  /** The last day of a date as it is written, or the clinic's day of a time. */
  Optional<LocalDate> lastDay(BaseDateTimeType time, String path) {
    return day(time, YearMonth::atEndOfMonth, year -> year.atMonth(12).atEndOfMonth(), path);
  }

  private Optional<LocalDate> day(
      BaseDateTimeType time,
      Function<YearMonth, LocalDate> ofMonth,
      Function<Year, LocalDate> ofYear,
      String path) {
    if (!time.hasValue()) {
      return Optional.empty();
    }
    String text = time.getValueAsString();
    return switch (time.getPrecision()) {
      case YEAR -> Optional.of(ofYear.apply(Year.parse(text)));
      case MONTH -> Optional.of(ofMonth.apply(YearMonth.parse(text)));
      default -> moment(time, LocalTime.NOON, path).map(this::day);
    };
  }

  /** The start of a day in the clinic. */
  OffsetDateTime startOf(LocalDate day) {
    return day.atStartOfDay(zone).toOffsetDateTime();
  }

  /** The day of a moment in the clinic's calendar. */
  LocalDate day(OffsetDateTime moment) {
    return moment.atZoneSameInstant(zone).toLocalDate();
  }

  private static boolean lessThanADay(BaseDateTimeType time) {
    return time.getPrecision() == TemporalPrecisionEnum.YEAR
        || time.getPrecision() == TemporalPrecisionEnum.MONTH;
  }

  private static boolean hasTime(BaseDateTimeType time) {
    return time.getPrecision() != TemporalPrecisionEnum.DAY && !lessThanADay(time);
  }
}
