package org.tidemark.store;

/**
 * Something that the daily sweep has raised about a plan and that still holds.
 *
 * @param planId id of the CarePlan
 * @param matter what it is; one plan has each once
 * @param task id of the Task that was written for it
 * @param sinceMs since when it is so, in milliseconds since 1970 UTC
 * @param answered whether a clinician has answered the Task
 */
public record StoredMatter(
    String planId, String matter, String task, long sinceMs, boolean answered) {}
