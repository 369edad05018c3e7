package org.tidemark.programme;

/**
 * What can be tried when range has stalled.
 *
 * @param code a name for the option, unique in the programme
 * @param title what it means, in plain words
 * @param variation the code of the variation that it adds or changes; blank when it changes nothing
 */
public record PlateauOption(String code, String title, String variation) {}
