package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertDoesNotThrow;
import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.Arrays;
import java.util.List;
import java.util.Locale;
import java.util.stream.Collectors;
import org.junit.jupiter.api.Test;
import org.junit.jupiter.params.ParameterizedTest;
import org.junit.jupiter.params.provider.EnumSource;

/** Reasons, their sentences and their tests are one list. */
class ReasonTest {

  @ParameterizedTest(name = "{0}")
  @EnumSource(Reason.class)
  void everyReasonHasATestOfItsOwn(Reason reason) {
    String name =
        Arrays.stream(reason.name().split("_"))
            .map(word -> word.charAt(0) + word.substring(1).toLowerCase(Locale.ROOT))
            .collect(Collectors.joining());
    assertDoesNotThrow(
        () -> Class.forName(Reason.class.getPackageName() + "." + name + "RuleTest"));
  }

  @ParameterizedTest(name = "{0}")
  @EnumSource(Reason.class)
  void everyReasonIsASentenceWithASource(Reason reason) {
    assertTrue(reason.sentence().endsWith("."), reason.sentence());
    assertFalse(reason.origin().isBlank());
    assertTrue(reason.code().matches("[a-z]+(-[a-z]+)*"), reason.code());
  }

  /** The order of the reasons is the order in which they are told: the most cautious first. */
  @Test
  void theMostCautiousComeFirst() {
    List<Verdict> holding =
        Arrays.stream(Reason.values())
            .map(Reason::verdict)
            .filter(verdict -> verdict.compareTo(Verdict.MAINTAIN) <= 0)
            .toList();
    assertEquals(holding.stream().sorted().toList(), holding);
  }
}
