package org.tidemark.programme;

/**
 * What is asked of a person for one exercise until the next decision.
 *
 * @param stage the code of the stage
 * @param variation the code of the variation
 * @param setting what it is set to
 * @param dose how much of it
 */
public record Prescription(String stage, String variation, Setting setting, Dose dose) {}
