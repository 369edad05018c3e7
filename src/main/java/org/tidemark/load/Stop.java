package org.tidemark.load;

/** Why nothing more can be sent; what was sent is kept, and the same command goes on later. */
final class Stop extends RuntimeException {
  private static final long serialVersionUID = 1;

  Stop(String message) {
    super(message);
  }

  Stop(String message, Throwable cause) {
    super(message + ": " + cause, cause);
  }
}
