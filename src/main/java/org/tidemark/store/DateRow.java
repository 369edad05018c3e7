package org.tidemark.store;

import jakarta.persistence.Column;
import jakarta.persistence.Entity;
import jakarta.persistence.Id;
import jakarta.persistence.IdClass;
import jakarta.persistence.Table;
import java.io.Serializable;

/** A span of time that a record can be found by. */
@Entity
@Table(name = "search_date")
@IdClass(DateRow.Key.class)
class DateRow {
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
  @Column(name = "parameter")
  String parameter;

  @Id
  @Column(name = "low_ms")
  long lowMs;

  @Id
  @Column(name = "high_ms")
  long highMs;

  /** For Hibernate. */
  DateRow() {}

  DateRow(String clinic, String type, String id, String parameter, long lowMs, long highMs) {
    this.clinic = clinic;
    this.type = type;
    this.id = id;
    this.parameter = parameter;
    this.lowMs = lowMs;
    this.highMs = highMs;
  }

  /** The row's key. */
  record Key(String clinic, String type, String id, String parameter, long lowMs, long highMs)
      implements Serializable {}
}
