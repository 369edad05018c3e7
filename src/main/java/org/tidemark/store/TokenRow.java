package org.tidemark.store;

import jakarta.persistence.Column;
import jakarta.persistence.Entity;
import jakarta.persistence.Id;
import jakarta.persistence.IdClass;
import jakarta.persistence.Table;
import java.io.Serializable;

/** A coded value that a record can be found by. */
@Entity
@Table(name = "search_token")
@IdClass(TokenRow.Key.class)
class TokenRow {
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
  @Column(name = "code_system")
  String system;

  @Id
  @Column(name = "code")
  String code;

  /** For Hibernate. */
  TokenRow() {}

  TokenRow(String clinic, String type, String id, String parameter, String system, String code) {
    this.clinic = clinic;
    this.type = type;
    this.id = id;
    this.parameter = parameter;
    this.system = system;
    this.code = code;
  }

  /** The row's key. */
  record Key(String clinic, String type, String id, String parameter, String system, String code)
      implements Serializable {}
}
