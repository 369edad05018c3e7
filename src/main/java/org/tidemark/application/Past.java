package org.tidemark.application;

import java.time.Instant;
import java.util.List;
import java.util.Optional;
import org.hl7.fhir.r4.model.Resource;

/**
 * A page of a history, the newest version first.
 *
 * @param versions the versions
 * @param next where the next page begins, when there is one
 */
public record Past(List<Version> versions, Optional<String> next) {

  /**
   * One version.
   *
   * @param type its type
   * @param id its id
   * @param number its number, 1 or more
   * @param written when it was written
   * @param resource the record as it was; empty where it was deleted
   */
  public record Version(
      String type, String id, long number, Instant written, Optional<Resource> resource) {}
}
