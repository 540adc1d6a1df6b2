"""Settings from the file `.env` in the working directory of a command.

The environment takes precedence: a setting that the environment gives, by value or by file, is
taken only from there. The file is read literally; `$` has no meaning in it.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from io import StringIO
from pathlib import Path

from dotenv.parser import Binding, parse_stream

from service.settings import ENV_FILE, BadSettings, known_names, names_beside

DEFAULT = ".env"


def environment(environ: Mapping[str, str] | None = None) -> dict[str, str]:
    """Return the environment (by default this process's), completed by the settings of the file.

    The variable `FRAMING_QUOTES_ENV_FILE` names another file; an empty one means none. The default
    file need not exist, a named one must.

    Raises:
        BadSettings: the file cannot be read, or a line of it is not a setting.
    """
    above = dict(os.environ if environ is None else environ)
    path = Path(named) if (named := above.get(ENV_FILE, DEFAULT)) else None
    if path is None or (ENV_FILE not in above and not path.exists()):
        return above
    taken = {name for given in above for name in names_beside(given)}
    return {name: text for name, text in _read(path).items() if name not in taken} | above


def _read(path: Path) -> dict[str, str]:
    try:
        text = path.read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise BadSettings([f"{path.absolute()} cannot be read: {error}"]) from error
    found: dict[str, str] = {}
    faults: list[str] = []
    for line in parse_stream(StringIO(text)):
        faults += (f"{path}, line {line.original.line}: {fault}" for fault in _faults(line, found))
        if line.key is not None and line.value is not None:
            found[line.key] = line.value
    if faults:
        raise BadSettings(faults)
    return found


def _faults(line: Binding, before: Mapping[str, str]) -> Iterator[str]:
    """Yield the faults of a line; its text is not shown, since it may hold a secret."""
    if line.error or (line.key is not None and line.value is None):
        yield "must be written NAME=value"
    elif line.key is not None and line.key not in known_names():
        yield f"{line.key} is not a setting; .env.example lists all of them"
    elif line.key in before:
        yield f"{line.key} is given twice; keep one"
