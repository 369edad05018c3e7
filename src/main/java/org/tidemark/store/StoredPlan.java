package org.tidemark.store;

/**
 * A plan that the service runs, as it is kept.
 *
 * @param planId id of the CarePlan
 * @param subject the person, as a normalised reference
 * @param side the side of the body it is for
 * @param programme the programme, address and version
 * @param status the status of the CarePlan
 * @param state the plan folded up to its newest fact, as JSON text
 * @param issued what has been issued for it, as JSON text
 */
public record StoredPlan(
    String planId,
    String subject,
    String side,
    String programme,
    String status,
    String state,
    String issued) {}
