-- Instances that begin at once do this one after the other.

-- Texts are compared by their characters' numbers, as the embedded database does, whatever language
-- the database was made for: pages go on after an id, and indexes serve what begins with a text.
-- A person's name keeps the database's own rules, so that its capitals are known. What others have
-- in the schema, such as the view of an extension, is left alone.
do $$
declare
  c record;
begin
  perform pg_advisory_xact_lock(hashtext('tidemark after migrations'));
  for c in
    select t.relname as table_name, a.attname as column_name,
        format_type(a.atttypid, a.atttypmod) as kind
    from pg_class t
    join pg_attribute a on a.attrelid = t.oid and a.attnum > 0 and not a.attisdropped
    where t.relnamespace = current_schema()::regnamespace
      and t.relkind in ('r', 'p')
      and pg_has_role(t.relowner, 'usage')
      and a.atttypid in ('text'::regtype, 'varchar'::regtype)
      and a.attcollation = '"default"'::regcollation
      and t.relname <> 'flyway_schema_history'
      and (t.relname, a.attname) <> ('caseload', 'person')
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
      and pg_has_role(c.relowner, 'usage')
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

-- The server looks at a table anew when a fiftieth of it has changed, unless somebody has set that:
-- by what it knows of the tables it would take a clinic that has just come for an empty one, and
-- read all of it for each record that is looked for. (org.tidemark.store.TableStatistics does so
-- for tables that are new themselves.)
do $$
declare
  t text;
begin
  perform pg_advisory_xact_lock(hashtext('tidemark after migrations'));
  for t in
    select c.oid::regclass::text from pg_class c
    where c.relnamespace = current_schema()::regnamespace and c.relkind = 'r'
      and pg_has_role(c.relowner, 'usage')
      and not coalesce(c.reloptions::text like '%autovacuum_analyze_scale_factor%', false)
      and exists (select 1 from pg_attribute a
        where a.attrelid = c.oid and a.attname = 'clinic' and not a.attisdropped)
  loop
    execute format('alter table %s set (autovacuum_analyze_scale_factor = 0.02)', t);
  end loop;
end
$$;
