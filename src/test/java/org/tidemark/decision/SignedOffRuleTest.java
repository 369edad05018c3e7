package org.tidemark.decision;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertThrows;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.List;
import org.junit.jupiter.api.Test;
import org.tidemark.programme.Precaution;
import org.tidemark.programme.Prescription;

/** A clinician accepts a proposal: it stands from then on. */
class SignedOffRuleTest {
  @Test
  void theStageBegins() {
    Story story = Story.knee().begins().quietUntil(s -> s.state.control().awaiting().isPresent());
    List<Prescription> proposal = story.decision().proposal();
    story.accepted();
    assertEquals(Verdict.PROGRESS, story.verdict());
    assertTrue(story.says(Reason.SIGNED_OFF));
    assertEquals(proposal, story.state.inForce());
    assertEquals(List.of(), story.decision().proposal());
  }

  @Test
  void theHeelRaiseGetsItsDumbbells() {
    Story story = Story.heel().begins().quietUntil(s -> s.state.control().awaiting().isPresent());
    story.accepted();
    story.expectAsked("standing-heel-raise", "dumbbell-load", "2 kg");
    story.expectAsked("standing-heel-raise", "legs-used", "one-leg");
    assertEquals("2 × 10", story.dose("standing-heel-raise"));
  }

  @Test
  void aFlareAfterItUndoesIt() {
    Story story = Story.heel().begins().quietUntil(s -> s.state.control().awaiting().isPresent());
    story.accepted().day("0 0 2");
    story.expectAsked("standing-heel-raise", "dumbbell-load", "0 kg");
    assertEquals("body-weight", story.state.inForce().get(0).stage());
  }

  @Test
  void whatALimitForbidsDoesNotStand() {
    Story story = Story.heel().begins().quietUntil(s -> s.state.control().awaiting().isPresent());
    List<Prescription> proposal = story.decision().proposal();
    story.limited(Precaution.Scope.ALL, "dumbbell-load", "", "1 kg");
    story.tell(new Fact.SignedOff(story.noon(), story.source(), true, proposal));
    assertEquals(Verdict.REGRESS, story.verdict());
    story.expectAsked("standing-heel-raise", "dumbbell-load", "0 kg");
  }

  @Test
  void anAcceptedProposalNamesSomething() {
    Story story = Story.heel().begins();
    assertThrows(
        IllegalArgumentException.class,
        () -> new Fact.SignedOff(story.noon(), story.source(), true, List.of()));
  }
}
