package org.tidemark.recordsystem;

/**
 * The record system did not do what it was asked for. The message is a sentence for who looks after
 * the service, without anything that the record system has said.
 */
final class RecordSystemProblem extends Exception {
  private static final long serialVersionUID = 1L;

  private final boolean down;

  RecordSystemProblem(String message) {
    this(message, null);
  }

  RecordSystemProblem(String message, Throwable cause) {
    this(message, cause, false);
  }

  private RecordSystemProblem(String message, Throwable cause, boolean down) {
    super(message, cause);
    this.down = down;
  }

  /** One that lasts, whatever is asked for. */
  static RecordSystemProblem down(String message, Throwable cause) {
    return new RecordSystemProblem(message, cause, true);
  }

  /** Whether asking for something else fails likewise, for a while. */
  boolean isDown() {
    return down;
  }
}
