-- Records, their versions, and what they can be found by.
-- Every table leads with the clinic, so that it can be partitioned or distributed by it.

create table resource_version (
  clinic varchar(64) not null,
  resource_type varchar(40) not null,
  resource_id varchar(64) not null,
  version bigint not null,
  subject varchar(400),
  json text not null,
  last_updated timestamp(3) with time zone not null,
  deleted boolean not null,
  primary key (clinic, resource_type, resource_id, version)
);

-- One row a record: its current version, and the two times it is ordered by,
-- in milliseconds since 1970-01-01T00:00Z.
create table resource_current (
  clinic varchar(64) not null,
  resource_type varchar(40) not null,
  resource_id varchar(64) not null,
  version bigint not null,
  subject varchar(400),
  happened_ms bigint not null,
  updated_ms bigint not null,
  primary key (clinic, resource_type, resource_id)
);
create index resource_current_by_subject
  on resource_current (clinic, resource_type, subject, happened_ms desc, resource_id);
create index resource_current_by_happened
  on resource_current (clinic, resource_type, happened_ms desc, resource_id);
create index resource_current_by_updated
  on resource_current (clinic, resource_type, updated_ms desc, resource_id);

create table search_token (
  clinic varchar(64) not null,
  resource_type varchar(40) not null,
  resource_id varchar(64) not null,
  parameter varchar(40) not null,
  code_system varchar(400) not null,
  code varchar(400) not null,
  primary key (clinic, resource_type, resource_id, parameter, code_system, code)
);
create index search_token_by_code
  on search_token (clinic, resource_type, parameter, code, code_system, resource_id);

-- References and canonicals, normalised, and plain URIs.
create table search_uri (
  clinic varchar(64) not null,
  resource_type varchar(40) not null,
  resource_id varchar(64) not null,
  parameter varchar(40) not null,
  target varchar(400) not null,
  primary key (clinic, resource_type, resource_id, parameter, target)
);
create index search_uri_by_target
  on search_uri (clinic, resource_type, parameter, target, resource_id);

-- The time that a date value covers: from low_ms, up to but not including high_ms.
create table search_date (
  clinic varchar(64) not null,
  resource_type varchar(40) not null,
  resource_id varchar(64) not null,
  parameter varchar(40) not null,
  low_ms bigint not null,
  high_ms bigint not null,
  primary key (clinic, resource_type, resource_id, parameter, low_ms, high_ms)
);
create index search_date_by_time
  on search_date (clinic, resource_type, parameter, low_ms desc, high_ms, resource_id);

-- The identifiers that conditional creates have taken.
create table identifier_key (
  clinic varchar(64) not null,
  resource_type varchar(40) not null,
  identifier_system varchar(400) not null,
  identifier_value varchar(400) not null,
  resource_id varchar(64) not null,
  primary key (clinic, resource_type, identifier_system, identifier_value)
);
create index identifier_key_by_resource on identifier_key (clinic, resource_type, resource_id);

-- One row a person; a writer holds it until its transaction ends.
create table subject_lock (
  clinic varchar(64) not null,
  subject varchar(400) not null,
  primary key (clinic, subject)
);
