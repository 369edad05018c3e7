-- The plans whose papers are to be written anew: since when, and when next to try.
create table paper_due (
  clinic varchar(64) not null,
  plan_id varchar(64) not null,
  marked_ms bigint not null,
  due_ms bigint not null,
  primary key (clinic, plan_id)
);
create index paper_due_by_time on paper_due (clinic, due_ms);
