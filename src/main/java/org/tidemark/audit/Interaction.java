package org.tidemark.audit;

import java.util.Arrays;

/** What kind of thing a request does: FHIR's interactions, and what is no FHIR. */
public enum Interaction {
  READ("read", "R"),
  VREAD("vread", "R"),
  SEARCH("search-type", "E"),
  HISTORY_INSTANCE("history-instance", "E"),
  HISTORY_TYPE("history-type", "E"),
  HISTORY_SYSTEM("history-system", "E"),
  CREATE("create", "C"),
  UPDATE("update", "U"),
  PATCH("patch", "U"),
  DELETE("delete", "D"),
  /** A transaction or batch as a whole; which of the two, the address does not tell. */
  BUNDLE("transaction", "E"),
  OPERATION("operation", "E"),
  /** A page, a card or another address besides FHIR's. */
  PAGE("page", "E"),
  /** The service itself removed entries whose time was over. */
  RETENTION("retention", "D");

  private final String code;
  private final String action;

  Interaction(String code, String action) {
    this.code = code;
    this.action = action;
  }

  /** The code: FHIR's, where it is one of FHIR's interactions. */
  public String code() {
    return code;
  }

  /** The action of an AuditEvent. */
  public String action() {
    return action;
  }

  /** Whether it is one of FHIR's interactions. */
  public boolean isRest() {
    return this != PAGE && this != RETENTION;
  }

  /** Whether it looks at records and leaves them as they are. */
  boolean looks() {
    return action.equals("R") || action.equals("E");
  }

  static Interaction of(String code) {
    return Arrays.stream(values()).filter(one -> one.code.equals(code)).findFirst().orElseThrow();
  }
}
