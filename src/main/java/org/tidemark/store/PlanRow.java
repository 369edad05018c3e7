package org.tidemark.store;

import jakarta.persistence.Column;
import jakarta.persistence.Entity;
import jakarta.persistence.Id;
import jakarta.persistence.IdClass;
import jakarta.persistence.Table;
import java.io.Serializable;

/** A plan that the service runs. */
@Entity
@Table(name = "plan")
@IdClass(PlanRow.Key.class)
class PlanRow {
  @Id
  @Column(name = "clinic")
  String clinic;

  @Id
  @Column(name = "plan_id")
  String planId;

  @Column(name = "subject")
  String subject;

  @Column(name = "side")
  String side;

  @Column(name = "programme")
  String programme;

  @Column(name = "status")
  String status;

  @Column(name = "state", columnDefinition = "text")
  String state;

  @Column(name = "issued", columnDefinition = "text")
  String issued;

  /** For Hibernate. */
  PlanRow() {}

  PlanRow(String clinic, StoredPlan plan) {
    this.clinic = clinic;
    this.planId = plan.planId();
    this.subject = plan.subject();
    this.side = plan.side();
    this.programme = plan.programme();
    this.status = plan.status();
    this.state = plan.state();
    this.issued = plan.issued();
  }

  StoredPlan stored() {
    return new StoredPlan(planId, subject, side, programme, status, state, issued);
  }

  /** The row's key. */
  record Key(String clinic, String planId) implements Serializable {}
}
