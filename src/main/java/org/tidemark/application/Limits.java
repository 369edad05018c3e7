package org.tidemark.application;

import io.quarkus.runtime.configuration.ConfigurationException;
import jakarta.inject.Singleton;
import org.eclipse.microprofile.config.inject.ConfigProperty;
import org.tidemark.fhir.Problem;

/** How much a request may bring, and an answer, as it is set. */
@Singleton
public class Limits {
  /** Deeper bodies have not been tried with the parsers. */
  static final int DEEPEST = 200;

  /** Resources that people write are somewhat less deep. */
  static final int LEAST_DEPTH = 40;

  private final long bodyBytes;
  private final int depth;
  private final int entries;
  private final int pageSize;
  private final int pageLimit;

  Limits(
      @ConfigProperty(name = "tidemark.body-limit") long bodyBytes,
      @ConfigProperty(name = "tidemark.nesting-limit") int depth,
      @ConfigProperty(name = "tidemark.entry-limit") int entries,
      @ConfigProperty(name = "tidemark.page-size") int pageSize,
      @ConfigProperty(name = "tidemark.page-limit") int pageLimit) {
    require(bodyBytes >= 1, "tidemark.body-limit is 1 or more");
    require(
        depth >= LEAST_DEPTH && depth <= DEEPEST,
        "tidemark.nesting-limit is from " + LEAST_DEPTH + " to " + DEEPEST);
    require(entries >= 1, "tidemark.entry-limit is 1 or more");
    require(pageSize >= 1, "tidemark.page-size is 1 or more");
    require(pageLimit >= pageSize, "tidemark.page-limit is tidemark.page-size or more");
    this.bodyBytes = bodyBytes;
    this.depth = depth;
    this.entries = entries;
    this.pageSize = pageSize;
    this.pageLimit = pageLimit;
  }

  private static void require(boolean good, String rule) {
    if (!good) {
      throw new ConfigurationException(rule + ".");
    }
  }

  /** The largest body, in bytes; a document that is handed over has a limit of its own. */
  public long bodyBytes() {
    return bodyBytes;
  }

  /** How deep a body may nest. */
  public int depth() {
    return depth;
  }

  /** The most entries of a transaction or batch. */
  public int entries() {
    return entries;
  }

  /** How many records a page has unless it is asked for others. */
  public int pageSize() {
    return pageSize;
  }

  /** The most records of a page. */
  public int pageLimit() {
    return pageLimit;
  }

  /**
   * Reads {@code _count}; whoever asks for more than the most gets the most.
   *
   * @throws Problem when it is no number
   */
  int count(String value) {
    try {
      int count = Integer.parseInt(value);
      if (count >= 0) {
        return Math.min(count, pageLimit);
      }
    } catch (NumberFormatException notANumber) {
      // Refused below, like a negative one.
    }
    throw Problem.of(
        Problem.Kind.BAD_REQUEST, "_count must be a whole number, 0 or more.", "_count");
  }

  /** All of them in words. */
  public String told() {
    return "A body has at most %d bytes and nests at most %d deep; a transaction or batch has at most"
            .formatted(bodyBytes, depth)
        + " %d entries; a page has %d records unless _count asks for others, and at most %d."
            .formatted(entries, pageSize, pageLimit);
  }
}
