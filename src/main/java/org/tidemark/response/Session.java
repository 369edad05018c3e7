package org.tidemark.response;

import java.time.OffsetDateTime;
import java.util.Optional;
import org.tidemark.programme.Prescription;
import org.tidemark.programme.Setting;
import org.tidemark.quantity.PainScore;

/**
 * One session as the person reports it. What was not reported is empty, never 0.
 *
 * @param start when it began, in the person's own offset
 * @param end when it ended; equals the start when only one time is known
 * @param done the prescription that was done, if the report says; otherwise the one in force then
 * @param settings single settings that the report names where it names no prescription: they change
 *     those of the one in force then
 * @param sets sets done
 * @param repetitions repetitions done in a set
 * @param timeSeconds time done in a set, s
 * @param contact whether contact was reached at the deepest point
 * @param during worst pain during it
 * @param after worst pain after it
 * @param effort effort, 0 to 10
 * @param effusion grade of effusion: 0 none, 1 trace, 2 to 4 for 1+ to 3+ (stroke test, Sturgill
 *     2009, JOSPT 39:845-9)
 */
public record Session(
    OffsetDateTime start,
    OffsetDateTime end,
    Optional<Prescription> done,
    Optional<Setting> settings,
    Optional<Integer> sets,
    Optional<Integer> repetitions,
    Optional<Integer> timeSeconds,
    Optional<Boolean> contact,
    Optional<PainScore> during,
    Optional<PainScore> after,
    Optional<PainScore> effort,
    Optional<Integer> effusion) {}
