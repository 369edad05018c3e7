package org.tidemark.exchange;

import java.util.Optional;

/**
 * A call that is refused: with which HTTP status, why, and which member of the body is at fault.
 */
final class HookProblem extends RuntimeException {
  private static final long serialVersionUID = 1L;

  private final int status;
  private final transient Optional<String> member;

  private HookProblem(int status, String message, Optional<String> member) {
    super(message);
    this.status = status;
    this.member = member;
  }

  /** A body that is not as the specification has it (400). */
  static HookProblem malformed(String member, String message) {
    return new HookProblem(400, message, Optional.of(member));
  }

  /** A body that cannot be read at all (400). */
  static HookProblem unreadable(String message) {
    return new HookProblem(400, message, Optional.empty());
  }

  /** Data that are needed and neither stored here nor sent along (412). */
  static HookProblem unmet(String member, String message) {
    return new HookProblem(412, message, Optional.of(member));
  }

  /** Any other refusal. */
  static HookProblem of(int status, String message) {
    return new HookProblem(status, message, Optional.empty());
  }

  int status() {
    return status;
  }

  /** Where in the body, such as {@code context.patientId}. */
  Optional<String> member() {
    return member;
  }
}
