package org.tidemark.application;

import java.util.List;
import java.util.Optional;
import java.util.OptionalLong;
import java.util.function.Supplier;
import org.hl7.fhir.r4.model.Resource;
import org.tidemark.fhir.Problem;

/**
 * One page of a search.
 *
 * @param entries the records found, in the order asked for, then those that come along
 * @param total how many there are on all pages, when it is told
 * @param next where the next page begins, to be given as {@code _cursor}; empty on the last page
 * @param ignored the parameters that were not obeyed
 */
public record Page(
    List<Entry> entries, OptionalLong total, Optional<String> next, List<Ignored> ignored) {

  /**
   * A record on the page.
   *
   * @param type its type
   * @param id its id
   * @param match whether it was found; else it comes along with one that was
   * @param json its text, as it is stored
   * @param parsed the text as a resource
   */
  public record Entry(
      String type, String id, boolean match, String json, Supplier<Resource> parsed) {

    /** The record as a resource. */
    public Resource resource() {
      return parsed.get();
    }
  }

  /**
   * A parameter that was not obeyed.
   *
   * @param parameter its name, as the client wrote it
   * @param value its value
   * @param why what would have been answered to a client that insists
   */
  public record Ignored(String parameter, String value, Problem why) {}
}
