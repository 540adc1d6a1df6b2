"""The files of an archive: how they are named, created, found, locked and renamed.

There is one file for each shop and run of `tidy`, so that no run appends to what another left, torn
or not, and concurrent runs never collide. While a run writes, its file is locked and its name ends
in `.part`; at the end the run closes it and removes that suffix. An unlocked `.part` file belongs
to an interrupted run: all complete batches in it count.
"""

from __future__ import annotations

import fcntl
import os
import re
import secrets
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import BinaryIO
from urllib.parse import quote, unquote

from service.persistence.retention.members import LaterFormat
from service.persistence.retention.records import ArchiveUnavailable

ENDING = ".ndjson.gz"
PART = ".part"
NEW = ".new"
_NAME = re.compile(
    r"(?P<shop>.+)\.\d{8}T\d{6}Z\.[0-9a-f]{16}" + re.escape(ENDING) + f"({re.escape(PART)})?",
    re.ASCII,
)


@contextmanager
def plain_refusals(folder: Path, what: str) -> Iterator[None]:
    """Turn the system's errors into one sentence.

    Raises:
        ArchiveUnavailable: in place of each OSError.
    """
    try:
        yield
    except LaterFormat as error:
        raise ArchiveUnavailable(
            f"the archive in {folder} was written by a later release; use that one"
        ) from error
    except OSError as error:
        why = (error.strerror or str(error)).lower()
        raise ArchiveUnavailable(
            f"the archive in {folder} cannot be {what}: {why}; nothing was erased that does not "
            "stand in it"
        ) from error


def make_ready(folder: Path) -> None:
    """Make sure that files can be created in that folder, creating it if needed.

    Raises:
        ArchiveUnavailable: they cannot.
    """
    with plain_refusals(folder, "made"), suppress(FileExistsError):
        need_parent(folder)
        folder.mkdir(mode=0o700)
        sync_folder(folder.parent)
    need_folder(folder)
    if not os.access(folder, os.R_OK | os.W_OK | os.X_OK):
        raise ArchiveUnavailable(f"FRAMING_QUOTES_ARCHIVE: this user may not write to {folder}")


def need_folder(folder: Path) -> None:
    """Make sure that this is a folder.

    Raises:
        ArchiveUnavailable: it is a file or does not exist.
    """
    if folder.is_dir():
        return
    if os.path.lexists(folder):
        raise ArchiveUnavailable(f"FRAMING_QUOTES_ARCHIVE: {folder} is not a folder")
    need_parent(folder)
    raise ArchiveUnavailable(f"there is no archive in {folder} yet; tidy makes it")


def need_parent(folder: Path) -> None:
    """Make sure that an archive's parent folder exists.

    Raises:
        ArchiveUnavailable: it does not.
    """
    if not folder.parent.is_dir():
        raise ArchiveUnavailable(
            f"FRAMING_QUOTES_ARCHIVE: there is no folder {folder.parent} to make the archive in; "
            "make it first, or name another one"
        )


def new_part(folder: Path, shop: str, at: datetime) -> tuple[Path, int]:
    """Create a run's file, locked by the caller; return its path and descriptor.

    Raises:
        OSError: it cannot be created.
    """
    stamp = at.astimezone(UTC).strftime("%Y%m%dT%H%M%SZ")
    path = folder / f"{quote(shop, safe='')}.{stamp}.{secrets.token_hex(8)}{ENDING}{PART}"
    file = os.open(path, os.O_RDWR | os.O_CREAT | os.O_EXCL | os.O_CLOEXEC, 0o600)
    try:
        # Whoever locks it before this finds nothing to change in it, and leaves it alone.
        fcntl.flock(file, fcntl.LOCK_EX)
    except BaseException:
        os.close(file)
        raise
    return path, file


def is_part(path: Path) -> bool:
    """Return True if the name is that of an unfinished run."""
    return path.name.endswith(PART)


def finished(path: Path) -> Path:
    """Return the name of a run's file once the run has ended."""
    return path.with_name(path.name.removesuffix(PART))


def shop_of(path: Path) -> str:
    """Return the code of the shop whose records a file holds."""
    found = _NAME.fullmatch(path.name)
    return unquote(found["shop"]) if found else ""


def files(folder: Path, shop: str | None = None) -> list[Path]:
    """Return the files of one shop, or of all, ordered by name; one per run.

    The folder is read twice: a file renamed during the first read may be missed by it, but is found
    by the second.
    """
    names = {*os.listdir(folder), *os.listdir(folder)}  # noqa: PTH208 — only the names are needed
    found = {}
    for name in sorted(names, reverse=True):  # a run's final name after its `.part`
        path = folder / name
        if _NAME.fullmatch(name) and (shop is None or shop_of(path) == shop):
            found[finished(path)] = path
    return [found[key] for key in sorted(found)]


@contextmanager
def opened(path: Path, *, hold: bool = False) -> Iterator[tuple[Path, BinaryIO] | None]:
    """Open a file under its current name, or yield None if it was removed.

    Args:
        path: its name when it was found.
        hold: wait for its lock, and keep it until the end.
    """
    while (found := _open(path)) is not None:
        path, file = found
        with file:
            if hold:
                fcntl.flock(file, fcntl.LOCK_EX)
            if not hold or _is_still(path, file):
                yield path, file
                return
    yield None


def opened_files(folder: Path, shop: str | None = None) -> Iterator[tuple[Path, BinaryIO]]:
    """Yield the files of one shop, or of all, opened one after the other."""
    for each in files(folder, shop):
        with opened(each) as found:
            if found is not None:
                yield found


def sync_folder(folder: Path) -> None:
    """Sync a folder, so that the names in it survive a power loss."""
    file = os.open(folder, os.O_RDONLY | os.O_DIRECTORY | os.O_CLOEXEC)
    try:
        os.fsync(file)
    finally:
        os.close(file)


def _open(path: Path) -> tuple[Path, BinaryIO] | None:
    for name in (path, finished(path)):
        with suppress(FileNotFoundError):
            return name, name.open("rb")
    return None


def _is_still(path: Path, file: BinaryIO) -> bool:
    """Return True if the name still means this file, which may have been renamed or rewritten."""
    with suppress(FileNotFoundError):
        return os.path.samestat(path.stat(), os.fstat(file.fileno()))
    return False
