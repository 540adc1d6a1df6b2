"""One HTTP request, received piece by piece without blocking a thread.

It is parsed by gunicorn's own parsers: the head once it is whole, a chunked body as it arrives. A
body is buffered in memory, and beyond `IN_MEMORY` bytes on disk.

The time limit follows Apache's mod_reqtimeout (`RequestReadTimeout`): some seconds, plus one for
every so many bytes received. A slow but steady sender is served; one that sends a byte now and then
is not.
"""

from __future__ import annotations

import re
from tempfile import SpooledTemporaryFile
from typing import Any

from gunicorn.asgi.parser import PythonProtocol  # type: ignore[import-untyped]
from gunicorn.config import Config  # type: ignore[import-untyped]
from gunicorn.http.body import ChunkedReader  # type: ignore[import-untyped]
from gunicorn.http.errors import (  # type: ignore[import-untyped]
    InvalidHeader,
    LimitRequestHeaders,
    LimitRequestLine,
)
from gunicorn.http.message import Request  # type: ignore[import-untyped]
from gunicorn.http.unreader import IterUnreader  # type: ignore[import-untyped]

LONGEST_HEAD = 32_768
"""Maximum bytes of a request line and its headers."""
IN_MEMORY = 1_048_576
BYTES_A_SECOND = 8_192
"""The pace at which a sender is never too slow."""
_END = b"\r\n\r\n"
_BARE_LF = re.compile(rb"(?<!\r)\n")
_CHUNKED_HEAD = b"POST / HTTP/1.1\r\nHost: here\r\nTransfer-Encoding: chunked\r\n\r\n"


class TooLarge(Exception):
    """The body exceeds this request's limit."""


class Incoming:
    """One request of a connection.

    `request` is set once its head is whole; `complete` is True once `body` is whole too; `rest` is
    what came after it.
    """

    def __init__(self, cfg: Config, peer: Any, number: int, began: float) -> None:
        self._cfg, self._peer, self._number, self._began = cfg, peer, number, began
        self._head = bytearray()
        self._searched = 0
        self._missing = 0
        self._chunks: Any = None
        self._took = 0
        self.request: Any = None
        self.body: SpooledTemporaryFile[bytes] | None = None
        self.complete = False
        self.rest = b""
        self.most: int | None = None
        """The most bytes that the body may have; None until somebody has said so."""

    @property
    def begun(self) -> bool:
        """True if anything has arrived."""
        return bool(self._head) or self.request is not None

    def ends(self, seconds: float) -> float:
        """Return the deadline, for a request that may take this many seconds."""
        return self._began + seconds + self._took / BYTES_A_SECOND

    def feed(self, data: bytes) -> None:
        """Process received data.

        Raises:
            ParseException: it is not valid HTTP.
            TooLarge: the body exceeds its limit.
        """
        if self.request is None:
            self._feed_head(data)
        else:
            self._feed_body(data)

    def allow(self, most: int) -> None:
        """Set the body's limit.

        Raises:
            TooLarge: it is longer, or declared to be.
        """
        self.most = most
        if self._took + self._missing > most:
            raise TooLarge

    def withhold(self, body: Any) -> None:
        """Use a stand-in for a body that is not read any further; the connection ends with it."""
        self.close()
        self.request.body = body
        self.request.force_close()
        self.complete = True

    def close(self) -> None:
        """Release the body."""
        if self.body is not None:
            self.body.close()

    def _feed_head(self, data: bytes) -> None:
        head = self._head
        head += data
        if head[:2] == b"\r\n":  # an empty line is allowed before a request (RFC 9112, 2.2)
            del head[:2]
        end = head.find(_END, max(0, self._searched - 3))
        size = len(head) if end < 0 else end
        self._check_head(size)
        if end < 0:
            self._searched = size
            return
        whole, rest = bytes(head[: end + 4]), bytes(head[end + 4 :])
        head.clear()
        source = IterUnreader(())
        source.unread(whole)
        self.request = Request(self._cfg, source, self._peer, self._number)
        self._begin_body()
        self._feed_body(rest)

    def _check_head(self, size: int) -> None:
        """Refuse a head that is too long, without waiting for its end."""
        line = self._head.find(b"\r\n", 0, size)
        longest = self._cfg.limit_request_line
        if (size if line < 0 else line) > longest:
            raise LimitRequestLine(size, longest)
        if size > LONGEST_HEAD:
            raise LimitRequestHeaders("the head is too long")
        if _BARE_LF.search(self._head, self._searched, size):
            raise InvalidHeader("bare LF as line terminator")

    def _begin_body(self) -> None:
        reader = self.request.body.reader
        if not isinstance(reader, ChunkedReader):
            self._missing = reader.length
            if not self._missing:
                self.complete = True
                return
        self.body = self.request.body = SpooledTemporaryFile(IN_MEMORY)  # noqa: SIM115
        if isinstance(reader, ChunkedReader):
            self._chunks = PythonProtocol(on_body=self._keep)
            self._chunks.feed(_CHUNKED_HEAD)

    def _feed_body(self, data: bytes) -> None:
        if self._chunks is not None:
            self._chunks.feed(data)
            self.complete, self.rest = self._chunks.is_complete, self._chunks.remaining()
        elif self.complete:
            self.rest += data
        else:
            part = data[: self._missing]
            self._missing -= len(part)
            self._keep(part)
            self.complete, self.rest = not self._missing, data[len(part) :]
        if self.complete and self.body is not None:
            self.body.seek(0)

    def _keep(self, part: bytes) -> None:
        self._took += len(part)
        if self.most is not None and self._took > self.most:
            raise TooLarge
        if self.body is not None:
            self.body.write(part)
