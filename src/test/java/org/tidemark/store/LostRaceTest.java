package org.tidemark.store;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.sql.SQLException;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;

/** States as ISO 9075 and the manuals of PostgreSQL (appendix A) and H2 (error codes) have them. */
class LostRaceTest {
  @ParameterizedTest
  @CsvSource({
    "23505, true",
    "40001, true",
    "40P01, true",
    "55P03, true",
    "90131, true",
    "23502, false",
    "42601, false"
  })
  void aRaceIsKnownByItsState(String state, boolean race) {
    Throwable error = new IllegalStateException(new SQLException("", state));
    assertEquals(race, LostRace.isLostRace(error));
  }

  @Test
  void anErrorWithoutAStateIsNone() {
    assertFalse(LostRace.isLostRace(new IllegalStateException(new SQLException("late"))));
    assertTrue(LostRace.isLostRace(new IllegalStateException(new LostRace("a key"))));
  }
}
