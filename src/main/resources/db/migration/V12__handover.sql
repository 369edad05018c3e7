-- Plans that were received from other clinics: which plan there is which here, and from which
-- document. The facts are those that came with it, as a digest.
create table handover (
  clinic varchar(64) not null,
  issuer varchar(400) not null,
  issuer_plan varchar(64) not null,
  plan_id varchar(64) not null,
  document varchar(200) not null,
  facts varchar(64) not null,
  primary key (clinic, issuer, issuer_plan)
);

-- Records that came with them: which record there, in which version, is which here.
create table handover_record (
  clinic varchar(64) not null,
  issuer varchar(400) not null,
  resource_type varchar(40) not null,
  issuer_id varchar(64) not null,
  resource_id varchar(64) not null,
  version bigint not null,
  primary key (clinic, issuer, resource_type, issuer_id)
);

create index plan_order_by_plan on plan_order (clinic, plan_id, order_id);
