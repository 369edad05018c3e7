-- Plans that are written back to the clinic's record system. What waits has a mark that is younger
-- than the last time all of it was written; an instance that writes a plan holds the lease.
create table write_back (
  clinic varchar(64) not null,
  source varchar(400) not null,
  plan_id varchar(64) not null,
  marked_ms bigint not null,
  waiting_ms bigint not null,
  due_ms bigint not null,
  lease_ms bigint not null,
  failures int not null,
  problem varchar(400) not null,
  primary key (clinic, source, plan_id)
);
create index write_back_by_time on write_back (clinic, source, due_ms);

-- What has been written there of a plan: in which version of ours, and as which version there. A
-- closed record is not written any more. A clash is a version there that could not be taken here.
create table write_back_record (
  clinic varchar(64) not null,
  source varchar(400) not null,
  plan_id varchar(64) not null,
  record_type varchar(40) not null,
  record_id varchar(64) not null,
  record_version bigint not null,
  there_id varchar(64) not null,
  there_version varchar(64) not null,
  closed boolean not null,
  clash_version varchar(64) not null,
  clash text not null,
  primary key (clinic, source, record_type, record_id)
);
create index write_back_record_by_plan on write_back_record (clinic, source, plan_id);
