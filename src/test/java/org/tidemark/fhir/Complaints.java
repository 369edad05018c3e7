package org.tidemark.fhir;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;

import java.util.ArrayList;
import java.util.List;
import org.junit.jupiter.api.function.Executable;

/** What a reading is refused for: kinds of problem with the elements they name. */
final class Complaints {
  private Complaints() {}

  /** Asserts that the reading is refused for exactly these, each written as "KIND path". */
  static void assertRefused(Executable reading, String... expected) {
    Problem problem = assertThrows(Problem.class, reading);
    List<String> found = new ArrayList<>();
    for (Problem.Issue part : problem.issues()) {
      for (String expression : part.expressions()) {
        found.add(part.kind() + " " + expression);
      }
    }
    assertEquals(List.of(expected), found, problem.getMessage());
  }
}
