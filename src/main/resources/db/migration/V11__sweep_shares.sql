-- The daily sweep is shared by the instances of the service: the first of a day lists the plans that
-- run, and each takes some, so that no plan is looked at by two.
create table sweep_day (
  clinic varchar(64) not null,
  sweep_day varchar(10) not null,
  primary key (clinic, sweep_day)
);
create table sweep_due (
  clinic varchar(64) not null,
  plan_id varchar(64) not null,
  due_ms bigint not null,
  primary key (clinic, plan_id)
);
create index sweep_due_by_time on sweep_due (clinic, due_ms);
