package org.tidemark.programme;

/**
 * What can be tried when range has stalled.
 *
 * @param code a name for the option, unique in the programme
 * @param title what it means, in plain words
 * @param variation the code of the variation that it adds, or whose variable it makes harder; blank
 *     when it changes nothing
 * @param variable the code of the variable that it makes harder, though the stage does not; blank
 *     when it adds the variation
 */
public record PlateauOption(String code, String title, String variation, String variable) {}
