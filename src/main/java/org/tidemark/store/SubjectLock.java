package org.tidemark.store;

import jakarta.persistence.Column;
import jakarta.persistence.Entity;
import jakarta.persistence.Id;
import jakarta.persistence.IdClass;
import jakarta.persistence.Table;
import java.io.Serializable;

/** The row that writers about one person take turns on. */
@Entity
@Table(name = "subject_lock")
@IdClass(SubjectLock.Key.class)
class SubjectLock {
  @Id
  @Column(name = "clinic")
  String clinic;

  @Id
  @Column(name = "subject")
  String subject;

  /** For Hibernate. */
  SubjectLock() {}

  SubjectLock(String clinic, String subject) {
    this.clinic = clinic;
    this.subject = subject;
  }

  /** The row's key. */
  record Key(String clinic, String subject) implements Serializable {}
}
