package org.tidemark.sample;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertNotEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.ArrayList;
import java.util.List;

/** What each sample prints, in whichever language it is written. */
final class SampleOutput {
  private SampleOutput() {}

  /**
   * Holds that one thing was made harder as soon as the programme allows it, and that each report
   * counted once.
   */
  static void check(String printed) {
    List<String> lines = printed.lines().toList();
    List<String> starts = after("Would start with: ", lines);
    List<String> prescribed = after("Prescribed: ", lines);
    assertEquals(List.of("3 records"), after("Sent: ", lines), printed);
    assertEquals(2 * starts.size(), prescribed.size(), printed);
    List<String> first = prescribed.subList(0, starts.size());
    List<String> then = prescribed.subList(starts.size(), prescribed.size());
    assertNotEquals(first, then, printed);
    int changed = 0;
    for (int i = 0; i < starts.size(); i++) {
      assertTrue(first.get(i).startsWith(starts.get(i) + ", right knee: "), printed);
      assertTrue(then.get(i).startsWith(starts.get(i) + ", right knee: "), printed);
      changed += first.get(i).equals(then.get(i)) ? 0 : 1;
    }
    assertEquals(1, changed, printed);
    assertEquals(reports(), lines.stream().filter(line -> line.startsWith("The ")).toList());
    // The first stage of the knee's programme asks for three clear sessions in a row.
    assertEquals(List.of("3"), after("Sessions reported: ", lines), printed);
    assertEquals(
        List.of("Enough sessions in a row were settled; one thing is made harder."),
        after("Because: ", lines),
        printed);
  }

  private static List<String> reports() {
    List<String> reports = new ArrayList<>();
    for (int day = 1; day <= 3; day++) {
      reports.add("The session of day " + day + ": stored, then known already");
      reports.add("The morning of day " + (day + 1) + ": stored, then known already");
    }
    return reports;
  }

  private static List<String> after(String label, List<String> lines) {
    return lines.stream()
        .filter(line -> line.startsWith(label))
        .map(line -> line.substring(label.length()))
        .toList();
  }
}
