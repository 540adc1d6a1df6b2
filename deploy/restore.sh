#!/bin/sh
# Brings a backup into an empty place, and into nothing but an empty place.
#
#   DATABASE_URL=... sh deploy/restore.sh BACKUP
#
# For SQLite the file that DATABASE_URL names must not be there yet; for PostgreSQL the database
# must be there and have no tables. Whatever goes wrong leaves the place as empty as it was.
# Afterwards bring it to the level of the release: framing-quotes migrate.
#
# Cursors of /v1/events that were kept elsewhere stay good, also those that had read what came after
# the backup and is lost. In SQLite the copy is prepared for that here; in PostgreSQL the service
# notices at its first connection that the database is another one.
set -eu
umask 077
here=$(dirname "$0")
. "$here/database.sh"

if [ $# -ne 1 ]; then
    echo "usage: DATABASE_URL=... sh deploy/restore.sh BACKUP" >&2
    exit 2
fi
backup=$1
refuse() {
    echo "$1" >&2
    exit 1
}

name_database
[ -f "$backup" ] || refuse "there is no backup $backup"
case "$kind:$backup" in
    sqlite:*.sqlite3 | postgresql:*.dump) ;;
    *) refuse "$backup is of the other kind of database than DATABASE_URL" ;;
esac
if [ -f "$backup.sha256" ]; then
    (cd "$(dirname "$backup")" && sha256sum --status --check "$(basename "$backup").sha256") ||
        refuse "$backup is not what was written: its SHA-256 differs"
else
    echo "no $backup.sha256: going on without that check" >&2
fi

if [ "$kind" = sqlite ]; then
    for each in "$file" "$file-wal" "$file-shm" "$file-journal"; do
        [ ! -e "$each" ] || refuse "$each is there already; nothing is written over"
    done
    mkdir -p "$(dirname "$file")"
    part=$(mktemp -d "$(dirname "$file")/.restore.XXXXXX")
    trap 'rm -rf "$part"' EXIT
    trap 'exit 1' INT TERM HUP
    "$python" "$here/sqlite_copy.py" "$backup" "$part/copy" restored
    ln "$part/copy" "$file" 2>/dev/null || refuse "$file is there already; nothing is written over"
    sync
    echo "restored into $file"
else
    tables="SELECT count(*) FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace
            WHERE n.nspname NOT LIKE 'pg\\_%' AND n.nspname <> 'information_schema'"
    found=$(psql --no-psqlrc --quiet --tuples-only --no-align --command "$tables")
    [ "$found" = 0 ] || refuse "the database is not empty; nothing is written over"
    pg_restore --list "$backup" | grep -q alembic_version ||
        refuse "$backup is no backup of this service"
    pg_restore --no-owner --no-privileges --exit-on-error --single-transaction \
        --dbname="$PGDATABASE" "$backup"
    psql --no-psqlrc --quiet --command "ANALYZE"
    echo "restored into the database $PGDATABASE"
fi
