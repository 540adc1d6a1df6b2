#!/bin/sh
# Makes the test environment and runs the tests, those on PostgreSQL included.
#
#   sh deploy/test.sh [what pytest takes]      every test
#   sh deploy/test.sh --quick [FILE ...]       for 45 seconds those closest to what was changed
#
# The tests run on up to four cores, each with databases of its own; `-n 0` runs them one by one.
# PostgreSQL comes from TEST_POSTGRES_URL, or else from a package with a server of its own.
# TEST_LONG=1 has the random proofs try all that they ask for, and not 300 examples at most.
# What is closest to a change is told in tests/quick.py; FILE stands for what git says was changed.
set -eu
cd "$(dirname "$0")/.."
. deploy/environment.sh
environment .venv-test "[test]"
if [ "${1:-}" = --quick ]; then
    shift
    closest=$(.venv-test/bin/python -m tests.quick "$@")
    if [ -z "$closest" ]; then
        echo "no test is near what was changed" >&2
        exit 0
    fi
    export TEST_SECONDS="${TEST_SECONDS:-45}"
    # shellcheck disable=SC2086 # one word a path
    set -- --maxschedchunk 1 $closest
else
    # Neighbours stay on one core, so that what a module shares is made once.
    set -- --dist worksteal "$@"
fi
exec .venv-test/bin/python -m pytest -n auto --maxprocesses 4 --durations 10 "$@"
