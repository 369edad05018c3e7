package org.tidemark.access;

import java.util.Locale;

/**
 * What is done to records, as the letters of a scope name it. Source: SMART App Launch 2.2, "Scopes
 * for requesting FHIR resources".
 */
public enum Action {
  /** Create a record. */
  CREATE,
  /** Read a record, a version of it, or its history. */
  READ,
  /** Update or patch a record, or create it by an update. */
  UPDATE,
  /** Delete a record. */
  DELETE,
  /** Search a type, or read the history of a type or of everything. */
  SEARCH;

  /** Its letter in a scope. */
  public char letter() {
    return word().charAt(0);
  }

  /** Its name in a sentence, such as {@code read}. */
  public String word() {
    return name().toLowerCase(Locale.ROOT);
  }
}
