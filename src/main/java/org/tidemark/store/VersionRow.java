package org.tidemark.store;

import jakarta.persistence.Column;
import jakarta.persistence.Entity;
import jakarta.persistence.Id;
import jakarta.persistence.IdClass;
import jakarta.persistence.Table;
import java.io.Serializable;

/**
 * A version of a record that has been replaced, or its deletion. It is not marked as immutable: a
 * stateless session cannot take such rows from the cache of references.
 */
@Entity
@Table(name = "resource_version")
@IdClass(VersionRow.Key.class)
class VersionRow {
  @Id
  @Column(name = "clinic")
  String clinic;

  @Id
  @Column(name = "resource_type")
  String type;

  @Id
  @Column(name = "resource_id")
  String id;

  @Id
  @Column(name = "version")
  long version;

  @Column(name = "subject")
  String subject;

  @Column(name = "json")
  String json;

  @Column(name = "updated_ms")
  long updatedMs;

  @Column(name = "deleted")
  boolean deleted;

  /** For Hibernate. */
  VersionRow() {}

  VersionRow(
      String clinic,
      String type,
      String id,
      long version,
      String subject,
      String json,
      long updatedMs,
      boolean deleted) {
    this.clinic = clinic;
    this.type = type;
    this.id = id;
    this.version = version;
    this.subject = subject;
    this.json = json;
    this.updatedMs = updatedMs;
    this.deleted = deleted;
  }

  /** The row's key. */
  record Key(String clinic, String type, String id, long version) implements Serializable {}
}
