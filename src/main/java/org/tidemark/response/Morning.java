package org.tidemark.response;

import java.time.OffsetDateTime;
import java.util.Optional;
import org.tidemark.quantity.PainScore;

/**
 * The morning after, as the person reports it. What was not answered is empty, never 0.
 *
 * @param at when it was asked, in the person's own offset
 * @param pain pain now
 * @param stiffnessMinutes how long the limb was stiff after getting up, min
 * @param moreSwollen whether it is more swollen than usual
 * @param wouldRepeat whether the person would gladly repeat yesterday's session today
 * @param effusion grade of effusion, 0 to 4 as in {@link Session}
 */
public record Morning(
    OffsetDateTime at,
    Optional<PainScore> pain,
    Optional<Integer> stiffnessMinutes,
    Optional<Boolean> moreSwollen,
    Optional<Boolean> wouldRepeat,
    Optional<Integer> effusion) {}
