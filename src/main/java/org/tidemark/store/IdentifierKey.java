package org.tidemark.store;

import jakarta.persistence.Column;
import jakarta.persistence.Entity;
import jakarta.persistence.Id;
import jakarta.persistence.IdClass;
import jakarta.persistence.Table;
import java.io.Serializable;

/** An identifier that a conditional create has taken: the key makes it unique. */
@Entity
@Table(name = "identifier_key")
@IdClass(IdentifierKey.Key.class)
class IdentifierKey {
  @Id
  @Column(name = "clinic")
  String clinic;

  @Id
  @Column(name = "resource_type")
  String type;

  @Id
  @Column(name = "identifier_system")
  String system;

  @Id
  @Column(name = "identifier_value")
  String identifier;

  @Column(name = "resource_id")
  String resource;

  /** For Hibernate. */
  IdentifierKey() {}

  IdentifierKey(String clinic, String type, String system, String identifier, String resource) {
    this.clinic = clinic;
    this.type = type;
    this.system = system;
    this.identifier = identifier;
    this.resource = resource;
  }

  /** The row's key. */
  record Key(String clinic, String type, String system, String identifier)
      implements Serializable {}
}
