package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertEquals;

import java.time.Instant;
import java.util.Optional;
import org.hl7.fhir.r4.model.Period;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.ValueSource;

/** The time that a date covers, by its precision. */
class TimeSpanTest {

  @ParameterizedTest
  @CsvSource({
    "2026, 2026-01-01T00:00:00Z, 2027-01-01T00:00:00Z",
    "2026-02, 2026-02-01T00:00:00Z, 2026-03-01T00:00:00Z",
    "2026-02-28, 2026-02-28T00:00:00Z, 2026-03-01T00:00:00Z",
    "2026-01-02T23:30-08:00, 2026-01-03T07:30:00Z, 2026-01-03T07:31:00Z",
    "2026-01-02T23:30:00-08:00, 2026-01-03T07:30:00Z, 2026-01-03T07:30:01Z",
    "2026-01-02T10:00:00.250Z, 2026-01-02T10:00:00.250Z, 2026-01-02T10:00:00.251Z",
    "2026-01-02T10:00:00, 2026-01-02T10:00:00Z, 2026-01-02T10:00:01Z"
  })
  void reachesFromItsFirstMomentToTheFirstAfterIt(String text, Instant low, Instant high) {
    assertEquals(
        Optional.of(new TimeSpan(low.toEpochMilli(), high.toEpochMilli())), TimeSpan.parse(text));
  }

  @ParameterizedTest
  @ValueSource(strings = {"", "26", "2026-13", "2026-02-30", "2026-01-01T25:00", "yesterday"})
  void isRefusedWhenThereIsNoSuchTime(String text) {
    assertEquals(Optional.empty(), TimeSpan.parse(text));
  }

  @Test
  void aPeriodMayBeOpen() {
    Period period = new Period();
    assertEquals(Optional.empty(), TimeSpan.of(period));
    period.getStartElement().setValueAsString("2026-01-01");
    assertEquals(
        Optional.of(
            new TimeSpan(
                Instant.parse("2026-01-01T00:00:00Z").toEpochMilli(), TimeSpan.FOR_EVER_MS)),
        TimeSpan.of(period));
    assertEquals(TimeSpan.ALWAYS_MS, Instant.parse("0001-01-01T00:00:00Z").toEpochMilli());
    assertEquals(TimeSpan.FOR_EVER_MS, Instant.parse("9999-12-31T00:00:00Z").toEpochMilli());
  }
}
