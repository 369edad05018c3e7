package org.tidemark.access;

import static org.junit.jupiter.api.Assertions.assertEquals;
import static org.junit.jupiter.api.Assertions.assertFalse;
import static org.junit.jupiter.api.Assertions.assertTrue;

import java.util.List;
import java.util.Optional;
import org.junit.jupiter.api.Test;

/** What the scopes of a token grant together. */
class GrantsTest {
  private static final String A = "Patient/a";
  private static final String B = "Patient/b";
  private static final List<String> TYPES = List.of("Goal", "Observation", "Practitioner");

  private static Grants of(String scopes) {
    return Grants.of(scopes, Optional.of("a"), Optional.empty());
  }

  /** Each context, type or any, and action, against each type and action: 3 × 4 × 5 × 3 × 5. */
  @Test
  void aScopeGrantsItsActionsOnItsTypesAndNothingElse() {
    int checked = 0;
    for (Scope.Context context : Scope.Context.values()) {
      for (String named : List.of("*", "Goal", "Observation", "Practitioner")) {
        for (Action granted : Action.values()) {
          String scope =
              "%s/%s.%c"
                  .formatted(
                      context.name().toLowerCase(java.util.Locale.ROOT), named, granted.letter());
          for (String type : TYPES) {
            for (Action action : Action.values()) {
              Reach reach = of(scope).reach(action, type);
              boolean one = context == Scope.Context.PATIENT;
              boolean shared = type.equals("Practitioner");
              boolean looking = action == Action.READ || action == Action.SEARCH;
              boolean some =
                  action == granted
                      && (named.equals("*") || named.equals(type))
                      && (looking || !shared || !one);
              boolean all = some && !one;
              String said = scope + " " + action + " " + type;
              assertEquals(some, !reach.isNothing(), said);
              assertEquals(all, reach.isEverything(), said);
              assertEquals(some, reach.coversAllAbout(A), said);
              assertEquals(all, reach.coversAllAbout(B), said);
              assertEquals(all || some && shared, reach.coversAllAbout(null), said);
              checked++;
            }
          }
        }
      }
    }
    assertEquals(900, checked);
  }

  @Test
  void scopesForAPersonGrantNothingWhereTheTokenNamesNone() {
    Grants grants = Grants.of("patient/*.cruds", Optional.empty(), Optional.empty());
    assertTrue(grants.reach(Action.READ, "Observation").isNothing());
    assertTrue(grants.reach(Action.READ, "Practitioner").isNothing());
  }

  /** "Observation.rs is interchangeable with Observation.r Observation.s". */
  @Test
  void scopesAddUp() {
    for (Action action : Action.values()) {
      assertEquals(
          of("user/Goal.rs").reach(action, "Goal"),
          of("user/Goal.r user/Goal.s").reach(action, "Goal"));
    }
  }

  @Test
  void aConditionIsNoRightToAll() {
    Reach reach = of("user/Goal.r?category=x patient/Goal.r").reach(Action.READ, "Goal");
    assertFalse(reach.isEverything());
    assertTrue(reach.coversAllAbout(A));
    assertFalse(reach.coversAllAbout(B));
    assertTrue(reach.rights().stream().anyMatch(right -> right.covers(B)));
  }

  @Test
  void onlyWhoSeesMoreThanOnePersonKnowsOthers() {
    assertTrue(of("patient/*.rs").knows(A));
    assertFalse(of("patient/*.rs").knows(B));
    assertTrue(of("patient/*.rs system/Observation.c").knows(B));
    assertFalse(Grants.NONE.knows(B));
  }
}
