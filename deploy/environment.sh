# Sourced by the scripts beside it: makes a virtual environment and installs the service into it.
# usage: environment FOLDER EXTRAS
# shellcheck shell=sh

environment() {
    folder=$1
    extras=$2
    python=${PYTHON:-python3}
    if ! "$python" -c 'import sys; sys.exit(sys.version_info < (3, 11))' 2>/dev/null; then
        echo "This needs Python 3.11 or newer; set PYTHON to one." >&2
        exit 1
    fi
    if [ ! -x "$folder/bin/python" ]; then
        "$python" -m venv "$folder" || {
            echo "Python's venv module is missing; on Debian: apt-get install python3-venv" >&2
            exit 1
        }
    fi
    # Installed anew only when what is to be installed has changed.
    stamp="$folder/.installed$extras"
    if [ ! -f "$stamp" ] || [ pyproject.toml -nt "$stamp" ]; then
        echo "Installing into $folder (the first time takes a minute) ..." >&2
        "$folder/bin/python" -m pip install --quiet --disable-pip-version-check --editable ".$extras"
        touch "$stamp"
    fi
}
