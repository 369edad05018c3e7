package org.tidemark.trend;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;

import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.EnumSource;

/**
 * Errors of measuring by method. Hancock 2018 (J Exp Orthop, doi:10.1186/s40634-018-0161-5) gives
 * the difference between two readings that is significant: inclinometer 6, phone 12, by eye 14
 * degrees.
 */
class MeasuringMethodTest {

  @ParameterizedTest(name = "{0}: {1}° between two readings")
  @CsvSource({
    "inclinometer, 6",
    "phone, 12",
    "visual, 14",
    "goniometer, 9.70",
    "self-measured, 12.47"
  })
  void differenceThatIsMoreThanError(String code, double degrees) {
    double error = MeasuringMethod.of(code).standardErrorDegrees();
    assertEquals(degrees, MinimalDetectableChange.at95(error, error), 0.005);
  }

  @ParameterizedTest(name = "SEM {0}° and {1}°: {2}°")
  @CsvSource({"3, 4, 9.8", "4, 3, 9.8", "0, 5, 9.8", "3.5, 3.5, 9.7015"})
  void twoMethods(double first, double second, double degrees) {
    assertEquals(degrees, MinimalDetectableChange.at95(first, second), 5e-5);
  }

  @ParameterizedTest(name = "{0}")
  @CsvSource({"unknown", "ruler", "Goniometer", "''"})
  void aMethodNotKnownHasTheWidestError(String code) {
    MeasuringMethod method = MeasuringMethod.of(code);
    assertEquals(MeasuringMethod.UNKNOWN, method);
    assertEquals(MeasuringMethod.widest().standardErrorDegrees(), method.standardErrorDegrees());
  }

  @ParameterizedTest
  @EnumSource
  void eachIsFoundByItsCodeAndCitesASource(MeasuringMethod method) {
    assertEquals(method, MeasuringMethod.of(method.code()));
    assertFalse(method.source().isBlank());
  }

  @Test
  void codesAreLowerCase() {
    assertEquals("self-measured", MeasuringMethod.SELF_MEASURED.code());
  }
}
