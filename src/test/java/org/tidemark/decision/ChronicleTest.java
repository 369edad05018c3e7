package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.ArrayList;
import java.util.Collections;
import java.util.List;
import java.util.Random;
import org.junit.jupiter.api.Test;
import org.tidemark.programme.Prescription;
import org.tidemark.response.Response;

/** How a plan has gone is told in full, whatever order its facts are read in. */
class ChronicleTest {
  private static Chronicle told(Story story) {
    List<Fact> facts = new ArrayList<>(story.facts);
    Collections.shuffle(facts, new Random(7));
    return Chronicle.of(story.programme, facts);
  }

  private static List<Verdict> verdicts(Chronicle chronicle) {
    return chronicle.changes().stream().map(Decision::verdict).toList();
  }

  @Test
  void aStepAFlareAndAWarningAreChangesAndNothingElseIs() {
    Story story =
        Story.bendingKnee().begins().quietUntil("split-squat-rock", "step-height", "26 cm");
    int before = told(story).changes().size();
    story.day("0 0 3").warning(Warning.LOCKING).passes(2).resumed();
    Chronicle chronicle = told(story);
    List<Verdict> all = verdicts(chronicle);
    assertEquals(Verdict.PLACE, all.get(0));
    assertEquals(
        List.of(Verdict.PROGRESS, Verdict.REGRESS, Verdict.WITHHOLD, Verdict.MAINTAIN),
        all.subList(before - 1, all.size()));
    assertEquals(story.state, chronicle.now());
  }

  /** More sessions than the diary keeps, each with what came of it in the end. */
  @Test
  void everySessionIsToldWithItsLastResponse() {
    Story story = Story.bendingKnee().begins().quiet(120).day("0 0 3").quiet(20);
    List<Response> went = told(story).sessions().stream().map(Chronicle.Outcome::response).toList();
    assertEquals(141, went.size());
    assertEquals(Response.FLARED, went.get(120));
    assertEquals(140, Collections.frequency(went, Response.SETTLED));
    story.session("0 0");
    List<Response> open = told(story).sessions().stream().map(Chronicle.Outcome::response).toList();
    assertEquals(Response.PENDING, open.get(141));
  }

  /** Reports that came together led several steps up: none of them was ever asked for. */
  @Test
  void whatReportsThatCameTogetherLedToIsNotTold() {
    Story story = Story.heel().begins();
    List<Prescription> kept = story.state.inForce();
    story.quiet(21);
    List<Prescription> reached = story.state.inForce();
    assertTrue(told(story).changes().size() > 2);
    story.tell(
        new Fact.CaughtUp(
            story.decision().asOf(), new FactSource("CarePlan", "it", 1), kept, reached));
    Chronicle chronicle = told(story);
    assertEquals(List.of(Verdict.PLACE), verdicts(chronicle));
    story.accepted();
    assertEquals(List.of(Verdict.PLACE, Verdict.PROGRESS), verdicts(told(story)));
    assertEquals(reached, told(story).changes().get(1).inForce());
  }
}
