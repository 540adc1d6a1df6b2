#!/bin/sh
# Runs Python with the calculation compiled to machine code; the sources beside it stay as they are.
#
#   sh deploy/compiled.sh -m tests.bench.requests_per_second
#   sh deploy/compiled.sh -m pytest -o pythonpath= tests/domain
#   sh deploy/compiled.sh -m service serve
#
# Needs a C compiler, and two or three minutes whenever a source has changed.
set -eu
cd "$(dirname "$0")/.."
. deploy/environment.sh
environment .venv-test "[test,bench]"
built=.compiled
if [ ! -f "$built/.built" ] || [ -n "$(
    find pyproject.toml service schemas migrations -type f ! -name '*.pyc' -newer "$built/.built" -print
)" ]; then
    echo "Compiling (two or three minutes) ..." >&2
    # From a copy: what a build leaves beside its sources would be imported in their stead.
    copy=$(mktemp -d)
    trap 'rm -rf "$copy"' EXIT
    cp -R pyproject.toml README.md service schemas migrations "$copy"
    rm -rf "$built"
    HATCH_BUILD_HOOKS_ENABLE=1 .venv-test/bin/python -m pip install --quiet \
        --disable-pip-version-check --no-deps --target "$built" "$copy"
    rm -rf "$copy"
    trap - EXIT
    ln -s ../tests "$built/tests"
    touch "$built/.built"
fi
# What lies in the folder comes before the sources, which Python is told not to look for here.
export PYTHONSAFEPATH=1 PYTHONPATH="$PWD/$built${PYTHONPATH:+:$PYTHONPATH}"
exec .venv-test/bin/python "$@"
