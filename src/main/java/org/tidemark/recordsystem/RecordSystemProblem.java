package org.tidemark.recordsystem;

/**
 * The record system did not do what it was asked for. The message is a sentence for who looks after
 * the service, without anything that the record system has said.
 */
final class RecordSystemProblem extends Exception {
  private static final long serialVersionUID = 1L;

  RecordSystemProblem(String message) {
    super(message);
  }

  RecordSystemProblem(String message, Throwable cause) {
    super(message, cause);
  }
}
