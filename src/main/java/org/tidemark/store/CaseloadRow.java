package org.tidemark.store;

import jakarta.persistence.Column;
import jakarta.persistence.Entity;
import jakarta.persistence.Id;
import jakarta.persistence.IdClass;
import jakarta.persistence.Table;
import java.io.Serializable;

/** What a plan that runs needs of a clinician. */
@Entity
@Table(name = "caseload")
@IdClass(CaseloadRow.Key.class)
class CaseloadRow {
  @Id
  @Column(name = "clinic")
  String clinic;

  @Id
  @Column(name = "plan_id")
  String planId;

  @Column(name = "subject")
  String subject;

  @Column(name = "person")
  String person;

  @Column(name = "need")
  int need;

  @Column(name = "task")
  String task;

  @Column(name = "overdue")
  boolean overdue;

  @Column(name = "since_ms")
  long sinceMs;

  /** For Hibernate. */
  CaseloadRow() {}

  CaseloadRow(String clinic, StoredCase of) {
    this.clinic = clinic;
    this.planId = of.planId();
    this.subject = of.subject();
    this.person = of.person();
    this.need = of.need();
    this.task = of.task();
    this.overdue = of.overdue();
    this.sinceMs = of.sinceMs();
  }

  StoredCase stored() {
    return new StoredCase(planId, subject, person, need, task, overdue, sinceMs);
  }

  /** The row's key. */
  record Key(String clinic, String planId) implements Serializable {}
}
