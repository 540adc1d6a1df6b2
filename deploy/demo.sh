#!/bin/sh
# Sets up the invented demo shop, quotes a picture over real HTTP and leaves the service running.
#
#   sh deploy/demo.sh [--once]       --once stops the service after the quote
#   PORT=8080 sh deploy/demo.sh      another port than 8000
#
# Needs Python 3.11 or newer. It makes .venv, var/demo.log and the database of the settings, which is
# framing-quotes.sqlite3 unless DATABASE_URL or .env names another one; so every command that is run
# in this folder means the same database. VENV names an environment to use as it is.
set -eu
cd "$(dirname "$0")/.."
. deploy/environment.sh

once=no
case "${1:-}" in
    "") ;;
    --once) once=yes ;;
    *) echo "usage: sh deploy/demo.sh [--once]" >&2; exit 2 ;;
esac

folder=${VENV:-.venv}
[ -n "${VENV:-}" ] || environment "$folder" ""
mkdir -p var
command=$folder/bin/framing-quotes

$command migrate
port=$("$folder/bin/python" -c 'from service.cli.start import settings; print(settings().port)')
taken='import socket, sys
sys.exit(socket.socket().connect_ex(("127.0.0.1", int(sys.argv[1]))) != 0)'
if "$folder/bin/python" -c "$taken" "$port"; then
    echo "Something answers on port $port already, perhaps another demo. Another port:" >&2
    echo "  PORT=$((port + 1)) sh deploy/demo.sh" >&2
    exit 1
fi

key() { # NAME SCOPE
    $command create-key --shop lanternquay --name "$1" --scope "$2" --days 30 2>/dev/null
}

$command load-demo >/dev/null
echo "The demo shop lanternquay is set up. All its data are invented."
DEMO_KEY=$(key demo counter)
FRAMING_QUOTES_FORM_KEY=$(key "quote form" price)
unset FRAMING_QUOTES_FORM_KEY_FILE
export DEMO_KEY FRAMING_QUOTES_FORM_KEY

$command serve 2>var/demo.log &
server=$!
trap 'kill $server 2>/dev/null || true; wait $server 2>/dev/null || true' EXIT
trap 'exit 0' INT TERM

"$folder/bin/python" deploy/demo_quote.py "http://127.0.0.1:$port" "$server" "$once" || {
    echo "The service's own words:" >&2
    tail -n 5 var/demo.log >&2
    exit 1
}
if [ "$once" = yes ]; then
    exit 0
fi

echo
echo "The service is running; Ctrl-C stops it. Its log is var/demo.log."
wait $server
