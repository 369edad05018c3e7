-- An export of a Group is about those who were its members when it was asked for.
alter table export_job add column group_id varchar(64) default '' not null;

create table export_member (
  clinic varchar(64) not null,
  job_id varchar(64) not null,
  subject varchar(400) not null,
  primary key (clinic, job_id, subject)
);
