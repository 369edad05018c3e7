-- How each session of a plan went, as far as is known.
create table session_outcome (
  clinic varchar(64) not null,
  plan_id varchar(64) not null,
  source_type varchar(40) not null,
  source_id varchar(64) not null,
  session_day date not null,
  response varchar(16) not null,
  of_lead boolean not null,
  primary key (clinic, plan_id, source_type, source_id)
);
create index session_outcome_by_day on session_outcome (clinic, session_day);

-- How many sessions a week a plan has asked for, from a day until the next.
create table plan_asked (
  clinic varchar(64) not null,
  plan_id varchar(64) not null,
  asked_day date not null,
  per_week int not null,
  primary key (clinic, plan_id, asked_day)
);
