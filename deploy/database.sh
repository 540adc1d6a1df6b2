# Sourced by the scripts beside it: which database the service's settings name.
#
# `name_database` reads DATABASE_URL, or the file named by DATABASE_URL_FILE, and sets `kind` to
# sqlite or postgresql. For SQLite `file` is its path; for PostgreSQL the variables are set that
# its own programs read (PGHOST, PGPASSWORD and so on), so that no password stands in a command
# line, where every user of the machine could read it.
# shellcheck shell=sh disable=SC2034 # they are read by the scripts that source this

python=${PYTHON:-python3}

name_database() {
    kind='' file=''
    named=$("$python" - <<'END'
import os, sys
from pathlib import Path
from shlex import quote
from urllib.parse import parse_qsl, unquote, urlsplit

by_file = os.environ.get("DATABASE_URL_FILE", "")
try:
    text = Path(by_file).read_text() if by_file else os.environ.get("DATABASE_URL", "")
except OSError as error:
    sys.exit(f"DATABASE_URL_FILE cannot be read: {error}")
text = text.strip()
parts = urlsplit(text)
kind = parts.scheme.split("+")[0]
path = text.partition(":///")[2].partition("?")[0]
if kind == "sqlite" and path:
    print(f"kind=sqlite file={quote(path)}")
elif kind in ("postgres", "postgresql"):
    told = {
        "PGHOST": unquote(parts.hostname or ""),
        "PGPORT": str(parts.port or ""),
        "PGUSER": unquote(parts.username or ""),
        "PGPASSWORD": unquote(parts.password or ""),
        "PGDATABASE": parts.path[1:],
    }
    told |= {f"PG{name.upper()}": value for name, value in parse_qsl(parts.query)}
    print("kind=postgresql")
    for name, value in told.items():
        if value and name.isidentifier():
            print(f"export {name}={quote(value)}")
else:
    sys.exit(
        "say in DATABASE_URL, or in a file named by DATABASE_URL_FILE, which database "
        "(.env is not read here)"
    )
END
    ) || exit 2
    eval "$named"
}
