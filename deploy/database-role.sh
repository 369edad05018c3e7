#!/bin/sh
# Makes the plain role of the service, which row-level security holds, at the first start of PostgreSQL.
set -eu
psql -v ON_ERROR_STOP=1 -v password="$TIDEMARK_DATABASE_PASSWORD" -U postgres -d tidemark <<'SQL'
create role tidemark login password :'password';
alter database tidemark owner to tidemark;
alter schema public owner to tidemark;
SQL
