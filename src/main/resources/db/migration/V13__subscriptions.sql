-- Subscriptions that are or may become active: what they wait for, and where their delivery is.
-- Who delivers holds a lease, so that the row need not be locked meanwhile.
create table subscription_state (
  clinic varchar(64) not null,
  subscription_id varchar(64) not null,
  awaits varchar(120) not null,
  status varchar(16) not null,
  endpoint varchar(400) not null,
  heartbeat_ms bigint not null,
  ends_ms bigint not null,
  numbered bigint not null,
  attempts int not null,
  due_ms bigint not null,
  lease_ms bigint not null,
  sent_ms bigint not null,
  primary key (clinic, subscription_id)
);
create index subscription_state_by_awaited on subscription_state (clinic, awaits, subscription_id);
create index subscription_state_by_due on subscription_state (clinic, due_ms, subscription_id);

-- What has happened, written in the transaction in which it happened. Numbers are given out later,
-- subscription by subscription, so that writers do not wait for each other; 0 is none yet.
create table subscription_event (
  clinic varchar(64) not null,
  subscription_id varchar(64) not null,
  event_id varchar(64) not null,
  event_number bigint not null,
  occurred_ms bigint not null,
  focus_type varchar(40) not null,
  focus_id varchar(64) not null,
  focus_version bigint not null,
  delivered boolean not null,
  primary key (clinic, subscription_id, event_id)
);
create index subscription_event_waiting
  on subscription_event (clinic, subscription_id, delivered, event_number, event_id);
create index subscription_event_by_time on subscription_event (clinic, occurred_ms);
