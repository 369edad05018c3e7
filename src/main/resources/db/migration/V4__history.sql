-- History runs over all versions, newest first.
create index resource_version_by_time
  on resource_version (clinic, last_updated desc, resource_type, resource_id, version desc);

-- Who refers to a record is asked before it is deleted, whatever the parameter.
drop index search_uri_by_target;
create index search_uri_by_target
  on search_uri (clinic, target, parameter, resource_type, resource_id);
