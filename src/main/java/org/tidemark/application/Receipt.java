package org.tidemark.application;

/**
 * What became of a document that was received.
 *
 * @param plan the absolute address of the CarePlan here
 * @param person the person, as the CarePlan refers to them
 * @param document the identifier of the document
 * @param changed whether anything was stored; false when it had been received before
 */
public record Receipt(String plan, String person, String document, boolean changed) {}
