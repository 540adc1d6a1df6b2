#!/bin/sh
# Sets up the invented demo shop, quotes a picture over real HTTP and leaves the service running.
#
#   sh deploy/demo.sh [--once]       --once stops the service after the quote
#   PORT=8080 sh deploy/demo.sh      another port than 8000
#
# Needs Python 3.11 or newer and nothing else. Everything it makes lies in .venv and var; VENV names
# an environment to use as it is, DATABASE_URL another database.
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
PORT=${PORT:-8000}
export PORT
DATABASE_URL=${DATABASE_URL:-sqlite:///var/demo.sqlite3}
export DATABASE_URL
command=$folder/bin/framing-quotes

key() { # NAME SCOPE
    $command create-key --shop lanternquay --name "$1" --scope "$2" 2>/dev/null
}

$command migrate
$command load-demo >/dev/null
echo "The demo shop lanternquay is set up. All its data are invented."
DEMO_KEY=$(key demo counter)
FRAMING_QUOTES_FORM_KEY=$(key "quote form" price)
export DEMO_KEY FRAMING_QUOTES_FORM_KEY

taken='import socket, sys
sys.exit(socket.socket().connect_ex(("127.0.0.1", int(sys.argv[1]))) != 0)'
if "$folder/bin/python" -c "$taken" "$PORT"; then
    echo "Something answers on port $PORT already, perhaps another demo. Another port:" >&2
    echo "  PORT=$((PORT + 1)) sh deploy/demo.sh" >&2
    exit 1
fi
$command serve 2>var/demo.log &
server=$!
trap 'kill $server 2>/dev/null || true; wait $server 2>/dev/null || true' EXIT
trap 'exit 0' INT TERM

"$folder/bin/python" deploy/demo_quote.py "http://127.0.0.1:$PORT" "$server" "$once" || {
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
