-- Plans that the service runs: the plan folded up to its newest fact, and what has been issued for it.
create table plan (
  clinic varchar(64) not null,
  plan_id varchar(64) not null,
  subject varchar(400) not null,
  side varchar(8) not null,
  programme varchar(400) not null,
  status varchar(24) not null,
  state text not null,
  issued text not null,
  primary key (clinic, plan_id)
);
create index plan_by_subject on plan (clinic, subject);

-- The facts that a plan rests on, one row for each thing a record says.
create table plan_fact (
  clinic varchar(64) not null,
  plan_id varchar(64) not null,
  source_type varchar(40) not null,
  source_id varchar(64) not null,
  ordinal int not null,
  source_version bigint not null,
  happened_ms bigint not null,
  arrived_ms bigint not null,
  content text not null,
  primary key (clinic, plan_id, source_type, source_id, ordinal)
);
create index plan_fact_by_time on plan_fact (clinic, plan_id, happened_ms);

-- Which plan each prescription was issued for.
create table plan_order (
  clinic varchar(64) not null,
  order_id varchar(64) not null,
  plan_id varchar(64) not null,
  primary key (clinic, order_id)
);
