-- Texts are compared by their characters' numbers, as the embedded database does, whatever language
-- the database was made for: pages go on after an id, and indexes serve what begins with a text.
-- A person's name keeps the database's own rules, so that its capitals are known.
do $$
declare
  c record;
begin
  for c in
    select table_name, column_name,
        case data_type when 'text' then 'text'
          else format('varchar(%s)', character_maximum_length) end as kind
    from information_schema.columns
    where table_schema = current_schema()
      and data_type in ('text', 'character varying')
      and collation_name is null
      and table_name <> 'flyway_schema_history'
      and (table_name, column_name) <> ('caseload', 'person')
  loop
    execute format('alter table %I alter column %I type %s collate "C"',
        c.table_name, c.column_name, c.kind);
  end loop;
end
$$;
