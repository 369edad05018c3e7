-- Exports that were asked for. No file is kept: each is read from the versions that stood at at_ms.
-- Who divides an export into files holds a lease; type_index and reached_id say how far that is.
create table export_job (
  clinic varchar(64) not null,
  job_id varchar(64) not null,
  request text not null,
  people boolean not null,
  types text not null,
  filters text not null,
  since_ms bigint not null,
  at_ms bigint not null,
  ends_ms bigint not null,
  type_index int not null,
  reached_id varchar(64) not null,
  files int not null,
  lease_ms bigint not null,
  primary key (clinic, job_id)
);

-- The files of an export: the records of a type whose ids lie after one and up to another.
create table export_file (
  clinic varchar(64) not null,
  job_id varchar(64) not null,
  file_number int not null,
  resource_type varchar(40) not null,
  deleted boolean not null,
  after_id varchar(64) not null,
  last_id varchar(64) not null,
  records bigint not null,
  primary key (clinic, job_id, file_number)
);
