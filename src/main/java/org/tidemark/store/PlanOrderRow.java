package org.tidemark.store;

import jakarta.persistence.Column;
import jakarta.persistence.Entity;
import jakarta.persistence.Id;
import jakarta.persistence.IdClass;
import jakarta.persistence.Table;
import java.io.Serializable;

/**
 * Which plan a prescription was issued for. It is not marked as immutable: a stateless session
 * cannot take such rows from the cache of references.
 */
@Entity
@Table(name = "plan_order")
@IdClass(PlanOrderRow.Key.class)
class PlanOrderRow {
  @Id
  @Column(name = "clinic")
  String clinic;

  @Id
  @Column(name = "order_id")
  String orderId;

  @Column(name = "plan_id")
  String planId;

  /** For Hibernate. */
  PlanOrderRow() {}

  PlanOrderRow(String clinic, String orderId, String planId) {
    this.clinic = clinic;
    this.orderId = orderId;
    this.planId = planId;
  }

  /** The row's key. */
  record Key(String clinic, String orderId) implements Serializable {}
}
