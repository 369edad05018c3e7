package org.tidemark.access;

import java.util.List;

/**
 * One way in which records of a type are reached.
 *
 * @param whose whom the records may be about
 * @param person the normalised reference to the person, for {@link Whose#PERSON}; else empty
 * @param conditions what a record must match besides, all of them
 */
public record Right(Whose whose, String person, List<Scope.Condition> conditions) {

  /** Whom records are about. */
  public enum Whose {
    /** Whomever. */
    ANYONE,
    /** One person. */
    PERSON,
    /** Nobody: definitions, and those who treat. */
    NOBODY
  }

  /** Copies the conditions. */
  public Right {
    conditions = List.copyOf(conditions);
  }

  /**
   * Whether records about someone are reached, as far as that decides it.
   *
   * @param subject the normalised reference to whom a record is about; null for nobody
   */
  public boolean covers(String subject) {
    return switch (whose) {
      case ANYONE -> true;
      case PERSON -> person.equals(subject);
      case NOBODY -> subject == null;
    };
  }

  /** Whether more than the person decides. */
  public boolean isConditional() {
    return !conditions.isEmpty();
  }
}
