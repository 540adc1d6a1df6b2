"""Files that hold costs, keys or customers: made for their owner alone."""

from __future__ import annotations

import os
from pathlib import Path
from typing import BinaryIO, cast

FILE_MODE, FOLDER_MODE = 0o600, 0o700


def private_file(path: Path) -> BinaryIO:
    """Return a file, opened to be written anew, that its owner alone may read."""
    file = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC | os.O_CLOEXEC, FILE_MODE)
    os.fchmod(file, FILE_MODE)  # one that was there keeps its rights otherwise
    return cast(BinaryIO, os.fdopen(file, "wb"))


def private_folder(path: Path) -> None:
    """Make a folder that its owner alone may enter; one that is there stays as it is."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.mkdir(mode=FOLDER_MODE, exist_ok=True)
