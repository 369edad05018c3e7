package org.tidemark.store;

import jakarta.persistence.Column;
import jakarta.persistence.Entity;
import jakarta.persistence.Id;
import jakarta.persistence.IdClass;
import jakarta.persistence.Table;
import java.io.Serializable;

/** Which version of a record holds a definition that comes with the service. */
@Entity
@Table(name = "shipped_definition")
@IdClass(ShippedRow.Key.class)
class ShippedRow {
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

  @Column(name = "digest")
  String digest;

  /** For Hibernate. */
  ShippedRow() {}

  ShippedRow(String clinic, String type, String id, long version, String digest) {
    this.clinic = clinic;
    this.type = type;
    this.id = id;
    this.version = version;
    this.digest = digest;
  }

  /** The row's key. */
  record Key(String clinic, String type, String id) implements Serializable {}
}
