"""Files with costs, keys or customers: private to their owner."""

from __future__ import annotations

import os
from pathlib import Path
from typing import BinaryIO, cast

FILE_MODE, FOLDER_MODE = 0o600, 0o700


def private_file(path: Path) -> BinaryIO:
    """Return a file, truncated and opened for writing, that only its owner may read."""
    file = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC | os.O_CLOEXEC, FILE_MODE)
    os.fchmod(file, FILE_MODE)  # an existing file would keep its mode
    return cast(BinaryIO, os.fdopen(file, "wb"))


def private_folder(path: Path) -> None:
    """Create a folder that only its owner may enter; an existing one is left unchanged."""
    path.parent.mkdir(parents=True, exist_ok=True)
    path.mkdir(mode=FOLDER_MODE, exist_ok=True)
