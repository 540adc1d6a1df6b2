#!/bin/sh
# Backs the database up while the service works on: one consistent state, whole or not at all.
#
#   DATABASE_URL=... sh deploy/backup.sh FOLDER [KEEP]
#
# Writes FOLDER/framing-quotes-TIME.sqlite3 or .dump with its SHA-256 beside it, prints the name,
# and with KEEP leaves only that many backups. DATABASE_URL_FILE names the database by file. Needs
# Python, and for PostgreSQL its client programs, no older than the server.
#
# A backup holds customers' names: it is readable by its owner alone. Keep copies on another machine.
set -eu
umask 077
here=$(dirname "$0")
. "$here/database.sh"

case "${2:-1}" in
    *[!0-9]* | "" | 0) set -- ;;
esac
if [ $# -lt 1 ] || [ $# -gt 2 ]; then
    echo "usage: DATABASE_URL=... sh deploy/backup.sh FOLDER [KEEP]" >&2
    exit 2
fi
folder=$1
keep=${2:-}
name_database
mkdir -p "$folder"
part=$(mktemp -d "$folder/.part.XXXXXX")
trap 'rm -rf "$part"' EXIT
trap 'exit 1' INT TERM HUP

if [ "$kind" = sqlite ]; then
    ending=sqlite3
    "$python" "$here/sqlite_copy.py" "$file" "$part/copy"
else
    ending=dump
    pg_dump --format=custom --no-owner --no-privileges --file="$part/copy"
    pg_restore --list "$part/copy" >"$part/list"
    grep -q alembic_version "$part/list" || {
        echo "there is no database of this service" >&2
        exit 1
    }
fi

name=framing-quotes-$(date -u +%Y%m%dT%H%M%SZ)
while [ -e "$folder/$name.$ending" ]; do # two within one second
    sleep 1
    name=framing-quotes-$(date -u +%Y%m%dT%H%M%SZ)
done
mv "$part/copy" "$part/$name.$ending"
(cd "$part" && sha256sum "$name.$ending" >sum)
sync
mv "$part/$name.$ending" "$folder/$name.$ending"
mv "$part/sum" "$folder/$name.$ending.sha256"
echo "$folder/$name.$ending"

[ -n "$keep" ] || exit 0
# Only what has our kind of name, the newest first; names sort by time.
find "$folder" -maxdepth 1 -name "framing-quotes-*Z.$ending" | sort -r | tail -n "+$((keep + 1))" |
    while read -r old; do
        rm -f "$old" "$old.sha256"
    done
