package org.tidemark.store;

import jakarta.persistence.Column;
import jakarta.persistence.Entity;
import jakarta.persistence.Id;
import jakarta.persistence.IdClass;
import jakarta.persistence.Table;
import java.io.Serializable;
import org.hibernate.annotations.Immutable;

/** One thing that a record says about a plan. */
@Entity
@Immutable
@Table(name = "plan_fact")
@IdClass(PlanFactRow.Key.class)
class PlanFactRow {
  @Id
  @Column(name = "clinic")
  String clinic;

  @Id
  @Column(name = "plan_id")
  String planId;

  @Id
  @Column(name = "source_type")
  String sourceType;

  @Id
  @Column(name = "source_id")
  String sourceId;

  @Id
  @Column(name = "ordinal")
  int ordinal;

  @Column(name = "source_version")
  long sourceVersion;

  @Column(name = "happened_ms")
  long happenedMs;

  @Column(name = "arrived_ms")
  long arrivedMs;

  @Column(name = "content", columnDefinition = "text")
  String content;

  /** For Hibernate. */
  PlanFactRow() {}

  PlanFactRow(String clinic, String planId, StoredFact fact) {
    this.clinic = clinic;
    this.planId = planId;
    this.sourceType = fact.sourceType();
    this.sourceId = fact.sourceId();
    this.ordinal = fact.ordinal();
    this.sourceVersion = fact.sourceVersion();
    this.happenedMs = fact.happenedMs();
    this.arrivedMs = fact.arrivedMs();
    this.content = fact.content();
  }

  /** The row's key. */
  record Key(String clinic, String planId, String sourceType, String sourceId, int ordinal)
      implements Serializable {}
}
