package org.tidemark.store;

import jakarta.persistence.Column;
import jakarta.persistence.Entity;
import jakarta.persistence.Id;
import jakarta.persistence.IdClass;
import jakarta.persistence.Table;
import java.io.Serializable;

/** Something that the daily sweep has raised about a plan. */
@Entity
@Table(name = "plan_matter")
@IdClass(MatterRow.Key.class)
class MatterRow {
  @Id
  @Column(name = "clinic")
  String clinic;

  @Id
  @Column(name = "plan_id")
  String planId;

  @Id
  @Column(name = "matter")
  String matter;

  @Column(name = "task")
  String task;

  @Column(name = "since_ms")
  long sinceMs;

  @Column(name = "answered")
  boolean answered;

  /** For Hibernate. */
  MatterRow() {}

  MatterRow(String clinic, StoredMatter of) {
    this.clinic = clinic;
    this.planId = of.planId();
    this.matter = of.matter();
    this.task = of.task();
    this.sinceMs = of.sinceMs();
    this.answered = of.answered();
  }

  StoredMatter stored() {
    return new StoredMatter(planId, matter, task, sinceMs, answered);
  }

  /** The row's key. */
  record Key(String clinic, String planId, String matter) implements Serializable {}
}
