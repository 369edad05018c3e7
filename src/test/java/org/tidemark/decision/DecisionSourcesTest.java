package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.List;
import org.junit.jupiter.api.Test;

/** A decision names every record that it rests on, and none that no longer counts. */
class DecisionSourcesTest {
  private static List<String> restsOn(Story story) {
    return story.decision().restsOn().stream().map(FactSource::id).toList();
  }

  /** The newest fact, each session with its morning, then the baseline and the equipment. */
  @Test
  void eachSessionWithItsMorning() {
    Story story = Story.bendingKnee().begins();
    assertEquals(List.of("n3", "n1", "n2"), restsOn(story));
    story.quiet(2);
    assertEquals(List.of("n7", "n4", "n5", "n6", "n1", "n2"), restsOn(story));
  }

  /** Sessions from before the newest change speak about something else. */
  @Test
  void onlySessionsOfWhatStands() {
    Story story = Story.bendingKnee().begins();
    story.quietUntil(s -> s.dose("split-squat-rock").equals("2 × 10"));
    String before = story.facts.get(story.facts.size() - 2).source().id();
    assertTrue(restsOn(story).contains(before), "the change rests on it");
    story.session("0 0");
    assertEquals(3, restsOn(story).size(), "the new session, the baseline and the equipment");
    assertFalse(restsOn(story).contains(before));
  }

  @Test
  void theNewestTwentySessionsAtTheMost() {
    Story story = Story.bendingKnee().begins();
    for (int i = 4; i <= 9; i++) {
      story.measured("comfortable-flexion", "121 deg");
    }
    for (int i = 10; i <= 34; i++) {
      story.session("- -");
    }
    List<String> sources = restsOn(story);
    assertEquals(22, sources.size(), "twenty sessions, the baseline and the equipment");
    assertFalse(sources.contains("n14"));
    assertTrue(sources.contains("n15"));
  }

  @Test
  void openWarningsAndLimits() {
    Story story = Story.bendingKnee().begins().warning(Warning.FEVER);
    assertEquals(List.of("n4", "n1", "n2"), restsOn(story));
    story.measured("comfortable-flexion", "121 deg");
    assertEquals(List.of("n5", "n4", "n1", "n2"), restsOn(story));
    story.resumed();
    assertEquals(List.of("n6", "n1", "n2"), restsOn(story));
  }
}
