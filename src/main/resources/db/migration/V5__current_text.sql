-- A record's current version lies whole in its one row, and resource_version holds what came
-- before: most records are written once, and a read or a search finds the text in one place.

alter table resource_version add column updated_ms bigint;
update resource_version set updated_ms = cast(extract(epoch from last_updated) * 1000 as bigint);
alter table resource_version alter column updated_ms set not null;
drop index resource_version_by_time;
alter table resource_version drop column last_updated;
create index resource_version_by_time
  on resource_version (clinic, updated_ms desc, resource_type, resource_id, version desc);

alter table resource_current add column json text;
update resource_current c set json = (
  select v.json from resource_version v
  where v.clinic = c.clinic and v.resource_type = c.resource_type
    and v.resource_id = c.resource_id and v.version = c.version);
alter table resource_current alter column json set not null;
delete from resource_version v where exists (
  select 1 from resource_current c
  where c.clinic = v.clinic and c.resource_type = v.resource_type
    and c.resource_id = v.resource_id and c.version = v.version);
create index resource_current_by_time
  on resource_current (clinic, updated_ms desc, resource_type, resource_id);
