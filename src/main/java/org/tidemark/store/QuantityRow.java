package org.tidemark.store;

import jakarta.persistence.Column;
import jakarta.persistence.Entity;
import jakarta.persistence.Id;
import jakarta.persistence.IdClass;
import jakarta.persistence.Table;
import java.io.Serializable;

/** A quantity that a record can be found by. */
@Entity
@Table(name = "search_quantity")
@IdClass(QuantityRow.Key.class)
class QuantityRow {
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
  @Column(name = "unit")
  String unit;

  @Id
  @Column(name = "amount")
  double amount;

  @Column(name = "sent_unit")
  String sentUnit;

  @Column(name = "sent_amount")
  double sentAmount;

  /** For Hibernate. */
  QuantityRow() {}

  QuantityRow(String clinic, String type, String id, SearchValues.Measure value) {
    this.clinic = clinic;
    this.type = type;
    this.id = id;
    this.parameter = value.parameter();
    this.unit = value.unit();
    this.amount = value.amount();
    this.sentUnit = value.sentUnit();
    this.sentAmount = value.sentAmount();
  }

  /** The row's key. */
  record Key(String clinic, String type, String id, String parameter, String unit, double amount)
      implements Serializable {}
}
