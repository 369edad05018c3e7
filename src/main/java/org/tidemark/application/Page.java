package org.tidemark.application;

import java.util.List;
import java.util.Optional;
import java.util.OptionalLong;
import org.hl7.fhir.r4.model.Resource;

/**
 * One page of a search.
 *
 * @param resources the records, in the order asked for
 * @param total how many there are on all pages, when it is known
 * @param next where the next page begins, to be given as {@code _cursor}; empty on the last page
 */
public record Page(List<Resource> resources, OptionalLong total, Optional<String> next) {}
