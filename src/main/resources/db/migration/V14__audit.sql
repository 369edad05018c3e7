-- Who did what: rows are added, never changed. Each is chained to the one before it by a hash that
-- covers it. What a request writes comes in with the request's own transaction, in any order, by
-- audit_inbox; one worker at a time, who holds the row of audit_chain, moves it here.
create table audit_event (
  clinic varchar(64) not null,
  seq bigint not null,
  recorded_ms bigint not null,
  interaction varchar(32) not null,
  action varchar(1) not null,
  outcome varchar(2) not null,
  status int not null,
  client varchar(200) not null,
  user_ref varchar(400) not null,
  address varchar(64) not null,
  request_id varchar(64) not null,
  entity varchar(200) not null,
  entity_version bigint not null,
  patient varchar(400) not null,
  asked varchar(8000) not null,
  hash varchar(64) not null,
  primary key (clinic, seq)
);
create index audit_event_recorded on audit_event (clinic, recorded_ms);
create index audit_event_patient on audit_event (clinic, patient, seq);
create index audit_event_entity on audit_event (clinic, entity, seq);

create table audit_inbox (
  clinic varchar(64) not null,
  id varchar(36) not null,
  recorded_ms bigint not null,
  interaction varchar(32) not null,
  action varchar(1) not null,
  outcome varchar(2) not null,
  status int not null,
  client varchar(200) not null,
  user_ref varchar(400) not null,
  address varchar(64) not null,
  request_id varchar(64) not null,
  entity varchar(200) not null,
  entity_version bigint not null,
  patient varchar(400) not null,
  asked varchar(8000) not null,
  primary key (clinic, id)
);

-- Where the chain ends, and what went before its first row: nothing, or what retention has removed.
create table audit_chain (
  clinic varchar(64) not null,
  seq bigint not null,
  hash varchar(64) not null,
  removed_seq bigint not null,
  removed_hash varchar(64) not null,
  primary key (clinic)
);
