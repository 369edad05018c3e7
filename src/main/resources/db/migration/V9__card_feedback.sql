-- What clinicians did with the cards that were shown to them in their own record systems. Rows are
-- only ever added.
create table card_feedback (
  clinic varchar(64) not null,
  id varchar(64) not null,
  service varchar(64) not null,
  card varchar(36) not null,
  outcome varchar(16) not null,
  suggestions varchar(4000) not null,
  reason_system varchar(400),
  reason_code varchar(400),
  reason_display varchar(400),
  user_comment varchar(4000),
  happened_ms bigint not null,
  arrived_ms bigint not null,
  primary key (clinic, id)
);
