-- Instances that begin at once do this one after the other.

-- Texts are compared by their characters' numbers, as the embedded database does, whatever language
-- the database was made for: pages go on after an id, and indexes serve what begins with a text.
-- A person's name keeps the database's own rules, so that its capitals are known.
do $$
declare
  c record;
begin
  perform pg_advisory_xact_lock(hashtext('tidemark after migrations'));
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

-- The second wall between clinics: a transaction sees and writes the rows of its own clinic alone
-- (org.tidemark.store.RowSecurity tells which that is), whatever a statement says. Forced, so that
-- it holds for the role that owns the tables too; a superuser and a role with BYPASSRLS pass it by.
-- Every table with a clinic has it, also one that a later migration adds. After the collations, as
-- the type of a column that a policy uses cannot be changed.
do $$
declare
  t text;
begin
  perform pg_advisory_xact_lock(hashtext('tidemark after migrations'));
  for t in
    select c.oid::regclass::text from pg_class c
    where c.relnamespace = current_schema()::regnamespace and c.relkind in ('r', 'p')
      and not c.relrowsecurity
      and exists (select 1 from pg_attribute a
        where a.attrelid = c.oid and a.attname = 'clinic' and not a.attisdropped)
  loop
    execute format('create policy own_clinic on %s'
        || ' using (clinic = current_setting(''tidemark.clinic'', true))', t);
    execute format('alter table %s enable row level security', t);
    execute format('alter table %s force row level security', t);
  end loop;
end
$$;
