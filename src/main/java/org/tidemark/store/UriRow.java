package org.tidemark.store;

import jakarta.persistence.Column;
import jakarta.persistence.Entity;
import jakarta.persistence.Id;
import jakarta.persistence.IdClass;
import jakarta.persistence.Table;
import java.io.Serializable;

/** A reference or URI that a record can be found by. */
@Entity
@Table(name = "search_uri")
@IdClass(UriRow.Key.class)
class UriRow {
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
  @Column(name = "target")
  String target;

  /** For Hibernate. */
  UriRow() {}

  UriRow(String clinic, String type, String id, String parameter, String target) {
    this.clinic = clinic;
    this.type = type;
    this.id = id;
    this.parameter = parameter;
    this.target = target;
  }

  /** The row's key. */
  record Key(String clinic, String type, String id, String parameter, String target)
      implements Serializable {}
}
