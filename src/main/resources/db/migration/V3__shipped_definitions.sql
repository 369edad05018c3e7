-- Which version of its record each definition that comes with the service was written as, so that a
-- start need not read and compare what has not changed.
create table shipped_definition (
  clinic varchar(64) not null,
  resource_type varchar(40) not null,
  resource_id varchar(64) not null,
  version bigint not null,
  digest varchar(64) not null,
  primary key (clinic, resource_type, resource_id)
);
