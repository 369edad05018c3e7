package org.tidemark.application;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;

import io.quarkus.runtime.configuration.ConfigurationException;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;

/** Limits that make no sense end the start. */
class LimitsTest {
  @Test
  void theLeast() {
    assertEquals(1, new Limits(1, 40, 1, 1, 1).entries());
  }

  @ParameterizedTest
  @CsvSource({
    "0, 200, 1, 1, 1, tidemark.body-limit is 1 or more.",
    "1, 39, 1, 1, 1, tidemark.nesting-limit is from 40 to 200.",
    "1, 201, 1, 1, 1, tidemark.nesting-limit is from 40 to 200.",
    "1, 200, 0, 1, 1, tidemark.entry-limit is 1 or more.",
    "1, 200, 1, 0, 1, tidemark.page-size is 1 or more.",
    "1, 200, 1, 2, 1, tidemark.page-limit is tidemark.page-size or more."
  })
  void isRefused(long body, int depth, int entries, int size, int most, String why) {
    ConfigurationException refused =
        assertThrows(
            ConfigurationException.class, () -> new Limits(body, depth, entries, size, most));
    assertEquals(why, refused.getMessage());
  }
}
