-- How far a clinic has fetched Observations from its record system: up to which moment by that
-- system's own clock, and who does it until lease_ms. An instance that fetches holds the lease.
create table pull_state (
  clinic varchar(64) not null,
  source varchar(400) not null,
  reached_ms bigint not null,
  lease_ms bigint not null,
  due_ms bigint not null,
  failures int not null,
  problem varchar(400) not null,
  primary key (clinic, source)
);

-- Observations of a record system that could not be taken, in the version that was refused.
create table pull_refused (
  clinic varchar(64) not null,
  source varchar(400) not null,
  source_id varchar(64) not null,
  source_version varchar(64) not null,
  refused_ms bigint not null,
  outcome text not null,
  primary key (clinic, source, source_id)
);
