package org.tidemark.store;

/**
 * A plan that runs, as the caseload lists it.
 *
 * @param planId id of the CarePlan
 * @param subject the person, as a normalised reference
 * @param person the person's name; the id where there is none
 * @param need the place of what it needs in the order of the list, lower first
 * @param task id of the Task that asks for it, empty when none does
 * @param overdue whether that Task has waited too long
 * @param sinceMs since when it is needed, in milliseconds since 1970 UTC
 */
public record StoredCase(
    String planId,
    String subject,
    String person,
    int need,
    String task,
    boolean overdue,
    long sinceMs) {}
