-- Who has signed in on the pages. The browser holds a secret; the row is found by what follows from
-- it, and what the issuer has given is sealed by what else follows from it, so that the rows alone
-- let nobody in. One instance at a time renews a session, until renewing_until_ms; renewals counts
-- how often that was done.
create table page_session (
  clinic varchar(64) not null,
  session_id varchar(64) not null,
  sealed text not null,
  renewals integer not null,
  renewing_until_ms bigint not null,
  ends_ms bigint not null,
  primary key (clinic, session_id)
);

create index page_session_ends on page_session (clinic, ends_ms);
