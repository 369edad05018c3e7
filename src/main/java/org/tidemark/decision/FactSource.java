package org.tidemark.decision;

import java.util.Comparator;

/**
 * The record that a fact was read from.
 *
 * @param type its resource type
 * @param id its id
 * @param version its version, 1 or more
 */
public record FactSource(String type, String id, long version) implements Comparable<FactSource> {
  private static final Comparator<FactSource> ORDER =
      Comparator.comparing(FactSource::type)
          .thenComparing(FactSource::id)
          .thenComparingLong(FactSource::version);

  /** Type, id and version in one, such as {@code Observation/12/_history/3}. */
  public String reference() {
    return type + "/" + id + "/_history/" + version;
  }

  @Override
  public int compareTo(FactSource other) {
    return ORDER.compare(this, other);
  }
}
