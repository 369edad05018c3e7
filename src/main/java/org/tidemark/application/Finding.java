package org.tidemark.application;

/**
 * Something in the database that is not as it must be.
 *
 * @param kind what is wrong
 * @param where the record, plan or table, such as {@code Observation/x}; never what is said there
 */
public record Finding(Kind kind, String where) {

  /** What can be wrong. */
  public enum Kind {
    UNREADABLE("unreadable", "A version's text cannot be read, or is that of another."),
    VERSIONS("versions", "The versions of a record are not 1, 2, 3 and so on up to the last."),
    CURRENT_ROW("current-row", "Whom a record is about, or its times, are not what its text says."),
    SEARCH_ROWS("search-rows", "A record is not found by what its text says."),
    IDENTIFIER("identifier", "A record has taken an identifier that its text does not say."),
    PLAN_UNREADABLE("plan-unreadable", "A plan, or a fact it rests on, cannot be read."),
    PLAN_STATE("plan-state", "A plan does not stand where a replay of its facts leads."),
    IN_FORCE("in-force", "What is in force for a plan is not the one set that was issued for it."),
    CASELOAD("caseload", "The list of plans has one that has ended, or lacks one that runs."),
    FACT_SOURCE("fact-source", "A plan rests on a version of a record that is not there."),
    ORPHANS("orphans", "Rows belong to something that is not there."),
    AUDIT("audit", "The audit trail is not as it was written.");

    private final String code;
    private final String sentence;

    Kind(String code, String sentence) {
      this.code = code;
      this.sentence = sentence;
    }

    /** A code for figures and logs. */
    public String code() {
      return code;
    }

    /** What is wrong, in a sentence. */
    public String sentence() {
      return sentence;
    }
  }
}
