-- A quantity as it was sent, and as one that can be compared with others: lengths, angles, masses
-- and times in one unit each, others in their own.
create table search_quantity (
  clinic varchar(64) not null,
  resource_type varchar(40) not null,
  resource_id varchar(64) not null,
  parameter varchar(40) not null,
  unit varchar(801) not null,
  amount double precision not null,
  sent_unit varchar(400) not null,
  sent_amount double precision not null,
  primary key (clinic, resource_type, resource_id, parameter, unit, amount)
);
create index search_quantity_by_amount
  on search_quantity (clinic, resource_type, parameter, unit, amount, resource_id);
