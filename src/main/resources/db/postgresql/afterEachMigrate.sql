-- Ends what beforeEachMigrate.sql has begun.
do $$
declare
  t text;
begin
  for t in
    select oid::regclass::text from pg_class
    where relnamespace = current_schema()::regnamespace
      and relrowsecurity and not relforcerowsecurity
  loop
    execute format('alter table %s force row level security', t);
  end loop;
end
$$;
