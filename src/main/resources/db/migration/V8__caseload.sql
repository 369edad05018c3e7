-- One row a plan that runs: what it needs of a clinician, and since when.
create table caseload (
  clinic varchar(64) not null,
  plan_id varchar(64) not null,
  subject varchar(400) not null,
  person varchar(400) not null,
  need int not null,
  task varchar(64) not null,
  overdue boolean not null,
  since_ms bigint not null,
  primary key (clinic, plan_id)
);
create index caseload_in_order on caseload (clinic, need, since_ms, plan_id);
create index caseload_by_subject on caseload (clinic, subject);

-- What the daily sweep has raised about a plan and still holds, each with its Task.
create table plan_matter (
  clinic varchar(64) not null,
  plan_id varchar(64) not null,
  matter varchar(120) not null,
  task varchar(64) not null,
  since_ms bigint not null,
  answered boolean not null,
  primary key (clinic, plan_id, matter)
);
create index plan_matter_by_task on plan_matter (clinic, task);
