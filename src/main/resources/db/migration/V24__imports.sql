-- Imports that were asked for. Who works on one holds a lease; after a failure that is the pause
-- before the next try.
create table import_job (
  clinic varchar(64) not null,
  job_id varchar(64) not null,
  source varchar(400) not null,
  at_ms bigint not null,
  ends_ms bigint not null,
  done boolean not null,
  lease_ms bigint not null,
  failures int not null,
  problem varchar(400) not null,
  primary key (clinic, job_id)
);

-- The files of an import, in the order in which they are taken, and how many lines of each have
-- been: noted in the transaction that stores them.
create table import_file (
  clinic varchar(64) not null,
  job_id varchar(64) not null,
  file_number int not null,
  resource_type varchar(40) not null,
  url text not null,
  line bigint not null,
  written bigint not null,
  known bigint not null,
  refused bigint not null,
  done boolean not null,
  primary key (clinic, job_id, file_number)
);

-- Lines that could not be taken, each with its OperationOutcome.
create table import_refusal (
  clinic varchar(64) not null,
  job_id varchar(64) not null,
  file_number int not null,
  line bigint not null,
  outcome text not null,
  primary key (clinic, job_id, file_number, line)
);
