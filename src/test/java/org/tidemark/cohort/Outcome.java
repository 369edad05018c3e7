package org.tidemark.cohort;

import java.util.List;
import java.util.Map;
import java.util.OptionalInt;

/**
 * What became of one person under one policy.
 *
 * @param person the number of the person
 * @param daysInSight days until the end or until the person dropped out
 * @param sessions sessions done
 * @param flares sessions that flared, by what was truly felt
 * @param episodes flares with no other in the seven days before
 * @param soreMornings mornings with pain above rest
 * @param goalDay day of the first settled session at the end of the stage before the last
 * @param lastGoalDay the same at the end of the programme
 * @param withheldDays days on which nothing was asked
 * @param easedDays days on which less was asked than before
 * @param pieces pieces of equipment that were asked for and got
 * @param furthestStage index of the furthest stage that was asked
 * @param steps upward changes that were taken before the goal
 * @param heldUp days before the goal: by what they were spent on, for each stage
 */
record Outcome(
    int person,
    int daysInSight,
    int sessions,
    int flares,
    int episodes,
    int soreMornings,
    OptionalInt goalDay,
    OptionalInt lastGoalDay,
    int withheldDays,
    int easedDays,
    int pieces,
    int furthestStage,
    int steps,
    Map<HeldUp, List<Integer>> heldUp) {}
