package org.tidemark.store;

import java.util.List;
import java.util.OptionalLong;

/**
 * A search in the audit trail. All criteria must hold.
 *
 * @param criteria the criteria
 * @param upwards whether the oldest come first
 * @param after the number of the last entry of the page before
 * @param limit the most entries
 */
public record AuditQuery(List<Criterion> criteria, boolean upwards, OptionalLong after, int limit) {

  /** What an entry is found by. */
  public enum By {
    /** Its number. */
    SEQ("seq"),
    /** Its action. */
    ACTION("action"),
    /** Its outcome. */
    OUTCOME("outcome"),
    /** The client of the token. */
    CLIENT("client"),
    /** The user of the token. */
    USER("user_ref"),
    /** The person. */
    PATIENT("patient"),
    /** The record, in any version. */
    ENTITY("entity");

    private final String column;

    By(String column) {
      this.column = column;
    }

    String column() {
      return column;
    }
  }

  /** One condition on an entry. */
  public sealed interface Criterion {}

  /** One of these conditions holds. */
  public record Either(List<Criterion> any) implements Criterion {
    /** Copies the conditions. */
    public Either {
      any = List.copyOf(any);
    }
  }

  /** All of these conditions hold. */
  public record Both(List<Criterion> all) implements Criterion {
    /** Copies the conditions. */
    public Both {
      all = List.copyOf(all);
    }
  }

  /**
   * A value is this.
   *
   * @param by which value
   * @param value a text; a number for {@link By#SEQ}
   */
  public record Is(By by, Object value) implements Criterion {}

  /** The record is meant in this version. */
  public record Version(long number) implements Criterion {}

  /**
   * The time lies in a span, or outside of it.
   *
   * @param fromMs its first millisecond since 1970 UTC
   * @param toMs the first millisecond after it
   * @param inside whether inside
   */
  public record Recorded(long fromMs, long toMs, boolean inside) implements Criterion {}
}
