package org.tidemark.store;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.List;
import java.util.Map;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.CsvSource;
import org.junit.jupiter.params.provider.ValueSource;

/** The address alone decides, and just one database is ever started. */
class ChosenDatabaseTest {

  @ParameterizedTest
  @CsvSource({"'', h2", "jdbc:postgresql://db.example/tidemark, postgresql"})
  void theAddressDecides(String url, String chosen) {
    Map<String, String> settings = ChosenDatabase.settings(url);
    for (String name : List.of("h2", "postgresql")) {
      for (String part : List.of("datasource", "hibernate-orm")) {
        assertEquals(
            Boolean.toString(name.equals(chosen)),
            settings.get("quarkus." + part + "." + name + ".active"));
      }
    }
    assertEquals(4, settings.size());
  }

  @ParameterizedTest
  @ValueSource(
      strings = {"jdbc:mysql://db.example/tidemark", "postgresql://db.example/x", "db.example"})
  void anotherAddressIsRefusedByName(String url) {
    IllegalArgumentException refusal =
        assertThrows(IllegalArgumentException.class, () -> ChosenDatabase.settings(url));
    assertTrue(refusal.getMessage().startsWith("tidemark.database.url must begin with"));
  }

  /** An address may carry a password. */
  @Test
  void theRefusalDoesNotRepeatTheAddress() {
    String message =
        assertThrows(
                IllegalArgumentException.class,
                () -> ChosenDatabase.settings("jdbc:x://db?password=sesame"))
            .getMessage();
    assertTrue(!message.contains("sesame"), message);
  }
}
