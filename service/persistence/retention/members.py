"""Batches of lines on disk: each a gzip member, closed by a count and a digest.

A member is a head line, the records, and a closing line with the number of records and the SHA-256
of all lines before it. So a batch is known to be whole or not, and a damaged one spoils no other:
the next one is found by its first ten bytes, which are always the same.

The header and trailer of a member are written here (RFC 1952) and the compressed part by zlib,
since other writers put different bytes into the header. Any gzip program reads the result: `zcat`.
"""

from __future__ import annotations

import hashlib
import os
import zlib
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Any, BinaryIO, Generic, Protocol, TypeVar

import orjson

T = TypeVar("T")
HEADER = bytes.fromhex("1f8b08000000000000ff")
"""The header of every member: gzip, deflate, no flags, no time, system unknown."""
FORMAT = 1
LEVEL = 6
_CHUNK = 1 << 16
_GZIP = 31
_RAW = -15


class Sink(Protocol):
    """Takes bytes: all of them or none."""

    def write(self, data: bytes, /) -> int:
        """Write the bytes and return their number."""
        ...


class BadMember(Exception):
    """Bytes that are not a whole member."""


class LaterFormat(Exception):
    """A whole member written by a later release in a format of its own."""


@dataclass(frozen=True, slots=True)
class FilePart(Generic[T]):
    """A part of a file: one whole member, or bytes that cannot be trusted.

    `head` is the content of the head line, `records` the number of records, and `taken` what the
    reader made of them; all are empty if the member is not whole.
    """

    start: int
    end: int
    whole: bool
    head: dict[str, Any]
    records: int
    taken: tuple[T, ...]


def write_member(out: Sink, head: dict[str, Any], records: Iterable[bytes]) -> int:
    """Write one member and return its number of records. Records are lines without line ends.

    Raises:
        OSError: it cannot be written; part of it may have been.
    """
    packing = _Packing(out)
    packing.line(orjson.dumps({"format": FORMAT, **head}))
    count = 0
    for record in records:
        packing.line(record)
        count += 1
    packing.line(orjson.dumps({"records": count, "sha256": packing.digest()}))
    packing.close()
    return count


def file_parts(file: BinaryIO, take: Callable[[bytes], T | None]) -> Iterator[FilePart[T]]:
    """Yield every part of a file in order, with the result of `take` for each whole member.

    `take` is given the head line and each record, also of members that turn out not to be whole.
    """
    start, size = 0, os.fstat(file.fileno()).st_size
    while start < size:
        try:
            part = _member(file, start, take)
        except (BadMember, zlib.error, ValueError, LookupError, TypeError):
            end = _next_header(file, start + 1, size)
            part = FilePart(start, end, False, {}, 0, ())
        yield part
        start = part.end


def records_of(file: BinaryIO, start: int) -> Iterator[bytes]:
    """Yield the records of the member that begins there, which is known to be whole."""
    lines = _Unpacking(file, start).lines()
    next(lines)
    last = next(lines)
    for line in lines:
        yield last
        last = line


def _member(file: BinaryIO, start: int, take: Callable[[bytes], T | None]) -> FilePart[T]:
    unpacking = _Unpacking(file, start)
    lines = unpacking.lines()
    last = next(lines, b"")
    head = orjson.loads(last)
    digest, taken, count = hashlib.sha256(), [], -1
    for line in lines:
        digest.update(last + b"\n")
        found = take(last) if head["format"] == FORMAT else None
        if found is not None:
            taken.append(found)
        count, last = count + 1, line
    if orjson.loads(last) != {"records": count, "sha256": digest.hexdigest()}:
        raise BadMember
    if head["format"] != FORMAT:
        raise LaterFormat
    return FilePart(start, unpacking.end, True, head, count, tuple(taken))


def _next_header(file: BinaryIO, start: int, size: int) -> int:
    """Return where the next member begins, or the end of the file."""
    file.seek(start)
    place, held = start, b""
    while chunk := file.read(_CHUNK):
        held += chunk
        at = held.find(HEADER)
        if at >= 0:
            return place + at
        rest = held[1 - len(HEADER) :]
        place, held = place + len(held) - len(rest), rest
    return size


class _Packing:
    """Writes one member."""

    def __init__(self, out: Sink) -> None:
        self._out = out
        self._deflate = zlib.compressobj(LEVEL, zlib.DEFLATED, _RAW)
        self._sha256 = hashlib.sha256()
        self._crc = self._size = 0
        out.write(HEADER)

    def line(self, line: bytes) -> None:
        text = line + b"\n"
        self._sha256.update(text)
        self._crc = zlib.crc32(text, self._crc)
        self._size += len(text)
        self._out.write(self._deflate.compress(text))

    def digest(self) -> str:
        return self._sha256.hexdigest()

    def close(self) -> None:
        trailer = self._crc.to_bytes(4, "little") + (self._size & 0xFFFFFFFF).to_bytes(4, "little")
        self._out.write(self._deflate.flush() + trailer)


class _Unpacking:
    """Reads one member; `end` is where it ended, once all lines are read."""

    def __init__(self, file: BinaryIO, start: int) -> None:
        self._file = file
        self._start = start
        self.end = start

    def lines(self) -> Iterator[bytes]:
        """Yield the lines without their line ends.

        Raises:
            BadMember: it does not begin or end as a member does.
            zlib.error: it cannot be decompressed, or its checksum differs.
        """
        inflate, rest = zlib.decompressobj(_GZIP), b""
        place = self._start
        while not inflate.eof:
            self._file.seek(place)
            chunk = self._file.read(_CHUNK)
            begins = place == self._start
            if not chunk or (begins and not chunk.startswith(HEADER)):
                raise BadMember
            place += len(chunk)
            *lines, rest = (rest + inflate.decompress(chunk)).split(b"\n")
            yield from lines
        self.end = place - len(inflate.unused_data)
        if rest:
            raise BadMember
