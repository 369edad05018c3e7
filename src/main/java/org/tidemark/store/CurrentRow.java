package org.tidemark.store;

import jakarta.persistence.Column;
import jakarta.persistence.Entity;
import jakarta.persistence.Id;
import jakarta.persistence.IdClass;
import jakarta.persistence.Table;
import java.io.Serializable;

/** The current version of a record. Moved on only by a guarded update. */
@Entity
@Table(name = "resource_current")
@IdClass(CurrentRow.Key.class)
class CurrentRow {
  @Id
  @Column(name = "clinic")
  String clinic;

  @Id
  @Column(name = "resource_type")
  String type;

  @Id
  @Column(name = "resource_id")
  String id;

  @Column(name = "version")
  long version;

  @Column(name = "subject")
  String subject;

  @Column(name = "happened_ms")
  long happenedMs;

  @Column(name = "updated_ms")
  long updatedMs;

  @Column(name = "json")
  String json;

  /** For Hibernate. */
  CurrentRow() {}

  CurrentRow(
      String clinic,
      String type,
      String id,
      long version,
      String subject,
      long happenedMs,
      long updatedMs,
      String json) {
    this.clinic = clinic;
    this.type = type;
    this.id = id;
    this.version = version;
    this.subject = subject;
    this.happenedMs = happenedMs;
    this.updatedMs = updatedMs;
    this.json = json;
  }

  /** The row's key. */
  record Key(String clinic, String type, String id) implements Serializable {}
}
