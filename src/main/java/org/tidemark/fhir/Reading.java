package org.tidemark.fhir;

import java.util.Optional;
import org.tidemark.programme.Side;

/**
 * A code of an open terminology that a programme takes for one of its own items.
 *
 * @param item the code of the item
 * @param system the code system of the open code
 * @param code the open code
 * @param side the side that the open code itself names, if it names one
 */
public record Reading(String item, String system, String code, Optional<Side> side) {}
