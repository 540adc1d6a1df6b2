"""The gunicorn worker that answers requests: its threads only get complete requests.

gunicorn's own threaded worker lets a thread wait for a body that does not arrive, so that as many
slow senders as there are threads block it. Here the one loop that waits for connections receives
requests (`service.cli.serve.incoming`), and a thread gets a request when all of it has arrived.

Before a body is awaited, a thread checks the head: a request without a key in force, or with too
large a body, is refused without it (`service.api.monitoring.gate`). A body that arrived in one
piece with its head is complete already and goes straight on.

There are two groups of threads. Requests that store may wait for each other's locks; those that
only read or calculate have their own threads, and never wait for them.
"""

from __future__ import annotations

import errno
import resource
import selectors
import socket
import time
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from functools import partial
from typing import TYPE_CHECKING, Any

from gunicorn.asgi.parser import ParseError  # type: ignore[import-untyped]
from gunicorn.http.errors import NoMoreData, ParseException  # type: ignore[import-untyped]
from gunicorn.workers.gthread import (  # type: ignore[import-untyped]
    STOP_KEEPALIVE_LINGER,
    TConn,
    ThreadWorker,
)

from service.cli.serve.incoming import Incoming, TooLarge

if TYPE_CHECKING:
    from service.api.monitoring.gate import Gate

AT_ONCE = 65_536
LINGER_SECONDS = 2.0
"""The time a caller may take to read an answer before the connection closes (RFC 9112, 9.6)."""
TURN_SECONDS = 3.0
"""The time a request that stores may wait for a thread; those before it then wait for locks."""
LOOK_SECONDS = 1.0
"""Seconds between two checks for connections that take too long."""
_NOT_NOW = (errno.EAGAIN, errno.EWOULDBLOCK, errno.ECONNABORTED)
_NO_FILES = (errno.EMFILE, errno.ENFILE)
_GONE = (errno.EPIPE, errno.ECONNRESET, errno.ENOTCONN)
_NOT_HTTP = (ParseException, ParseError, NoMoreData, StopIteration)


class Worker(ThreadWorker):  # type: ignore[misc]
    """Receives requests without a thread, and answers them in threads."""

    gate: Gate
    refusal: Callable[[BaseException], bytes]

    def __init__(self, *args: Any, **named: Any) -> None:
        super().__init__(*args, **named)
        self._coming: dict[TConn, Incoming] = {}
        self._ending: dict[TConn, float] = {}
        self._next_look = 0.0
        self._storing: ThreadPoolExecutor

    def init_process(self) -> None:
        """Start, with enough file descriptors for the permitted connections."""
        soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
        wanted = 4 * self.worker_connections
        if soft != resource.RLIM_INFINITY and soft < wanted:
            most = wanted if hard == resource.RLIM_INFINITY else min(hard, wanted)
            resource.setrlimit(resource.RLIMIT_NOFILE, (most, hard))
        self._storing = ThreadPoolExecutor(self.cfg.threads, "storing")
        super().init_process()

    def load_wsgi(self) -> None:
        """Create the application, and the gate that checks requests before their body."""
        from service.api.http.context import EXTENSION  # noqa: PLC0415
        from service.api.monitoring.gate import Gate  # noqa: PLC0415 — not before the fork
        from service.api.monitoring.unread import refusal  # noqa: PLC0415

        super().load_wsgi()
        self.gate, self.refusal = Gate(self.wsgi.extensions[EXTENSION]), refusal

    def accept(self, listener: socket.socket) -> None:
        """Accept a new connection."""
        try:
            sock, address = listener.accept()
        except OSError as error:
            if error.errno in _NO_FILES:
                self._make_room()
            elif error.errno not in _NOT_NOW:
                raise
            return
        self.nr_conns += 1
        if self.nr_conns >= self.worker_connections:
            self._make_room()
        self._begin(TConn(self.cfg, sock, address, listener.getsockname()))

    def on_client_socket_readable(self, conn: TConn, client: socket.socket) -> None:
        """Begin the next request of a kept-alive connection."""
        self.poller.unregister(client)
        self.keepalived_conns.remove(conn)
        self._begin(conn)

    def handle(self, conn: TConn, stores: bool, since: float) -> bool:
        """Answer a complete request, in a thread; return True if the connection is kept alive.

        One that stores, and has waited for a thread for too long, is refused.
        """
        incoming: Incoming = conn.incoming
        request = incoming.request
        if stores and time.monotonic() - since > TURN_SECONDS:
            incoming.withhold(self.gate.busy())
        try:
            conn.sock.settimeout(self.cfg.timeout)
            return bool(self.handle_request(request, conn))
        except StopIteration:
            self.log.debug("The answer could not be finished.")
        except OSError as error:
            if error.errno not in _GONE and not isinstance(error, TimeoutError):
                self.log.exception("Socket error processing request.")
        except Exception as error:
            self.handle_error(request, conn.sock, conn.client, error)
        return False

    def finish_request(self, conn: TConn, done: Future[bool]) -> None:
        """Keep the connection for its next request, or end it."""
        incoming: Incoming = conn.incoming
        incoming.close()
        keeps = not done.cancelled() and done.exception() is None and done.result()
        if not keeps:
            self._end(conn)
            return
        conn.sock.setblocking(False)
        if incoming.rest:
            self._begin(conn, incoming.rest)
            return
        conn.set_timeout()
        if not self.alive:
            conn.timeout = min(conn.timeout, time.monotonic() + STOP_KEEPALIVE_LINGER)
        self.keepalived_conns.append(conn)
        self._watch(conn, self.on_client_socket_readable)

    def handle_error(self, _req: Any, client: socket.socket, _addr: Any, error: Exception) -> None:
        """Answer an error outside the application with a problem document."""
        if not isinstance(error, _NOT_HTTP):
            self.log.error("a request failed outside the application", exc_info=error)
        try:
            client.sendall(self.refusal(error))
        except OSError:
            self.log.debug("Failed to send error message.")

    def murder_pending(self) -> None:
        """End connections that take too long."""
        now = time.monotonic()
        if now < self._next_look:
            return
        self._next_look = now + LOOK_SECONDS
        for conn, incoming in [*self._coming.items()]:
            if not incoming.begun and not self.alive:
                self._forget(conn)
                self._drop(conn)
            elif incoming.ends(self.gate.read_seconds) < now:
                self._too_slow(conn)
        for conn, ends in [*self._ending.items()]:
            if ends < now:
                self._discarded(conn)

    def _begin(self, conn: TConn, data: bytes = b"") -> None:
        conn.incoming = Incoming(self.cfg, conn.client, self.nr, time.monotonic())
        self._take(conn, data)

    def _take(self, conn: TConn, data: bytes = b"") -> None:
        """Process received data; pass the request on when it is complete, or else wait for more."""
        try:
            data = data or conn.sock.recv(AT_ONCE)
        except BlockingIOError:
            self._wait(conn)
            return
        except OSError:
            data = b""
        if not data:
            self._drop(conn)
            return
        incoming: Incoming = conn.incoming
        try:
            incoming.feed(data)
        except TooLarge:
            incoming.withhold(self.gate.too_large(incoming.most))
        except _NOT_HTTP as error:
            self._refuse(conn, error)
            return
        if incoming.complete:
            self._hand_on(conn)
        elif incoming.request is not None and incoming.most is None:
            self._submit(self.tpool, self._let_in, conn, self.gate.most, incoming.request)
        else:
            self._wait(conn)

    def _let_in(self, conn: TConn, answer: Future[int]) -> None:
        """Go on with a body that may be sent; answer at once if it may not."""
        incoming: Incoming = conn.incoming
        try:
            incoming.allow(answer.result())
        except TooLarge:
            incoming.withhold(self.gate.too_large(incoming.most))
        except Exception as error:
            incoming.withhold(self.gate.refused(error))
        if incoming.complete:
            self._hand_on(conn)
            return
        if incoming.request._expected_100_continue:
            incoming.request._expected_100_continue = False
            try:
                conn.sock.send(b"HTTP/1.1 100 Continue\r\n\r\n")
            except OSError:
                self._drop(conn)
                return
        self._wait(conn)

    def _hand_on(self, conn: TConn) -> None:
        """Have a thread answer the request."""
        request = conn.incoming.request
        request._expected_100_continue = False  # the body is here, or is not wanted
        stores = self.gate.stores(request.method, request.path)
        pool = self._storing if stores else self.tpool
        now = time.monotonic()
        self._submit(pool, self.finish_request, conn, self.handle, conn, stores, now)

    def _submit(
        self, pool: ThreadPoolExecutor, then: Callable[..., None], conn: TConn, *work: Any
    ) -> None:
        future = pool.submit(*work)
        future.add_done_callback(lambda done: self.method_queue.defer(then, conn, done))

    def _wait(self, conn: TConn) -> None:
        self._coming[conn] = conn.incoming
        self._watch(conn, self._readable)

    def _readable(self, conn: TConn, _: socket.socket) -> None:
        self._forget(conn)
        self._take(conn)

    def _watch(self, conn: TConn, then: Callable[[TConn, socket.socket], None]) -> None:
        self.poller.register(conn.sock, selectors.EVENT_READ, partial(then, conn))

    def _forget(self, conn: TConn) -> None:
        del self._coming[conn]
        self.poller.unregister(conn.sock)

    def _too_slow(self, conn: TConn) -> None:
        self._forget(conn)
        if conn.incoming.begun:
            self._refuse(conn, TimeoutError())
        else:
            self._drop(conn)

    def _make_room(self) -> None:
        """End the connection that has been sending an unchecked request for longest."""
        strangers = (conn for conn, incoming in self._coming.items() if incoming.most is None)
        oldest = min(strangers, key=lambda conn: conn.incoming.ends(0), default=None)
        if oldest is not None:
            self._too_slow(oldest)

    def _refuse(self, conn: TConn, error: BaseException) -> None:
        """Answer without the application."""
        try:
            conn.sock.send(self.refusal(error))
        except OSError:
            self._drop(conn)
        else:
            self._end(conn)

    def _end(self, conn: TConn) -> None:
        """End a connection so that the answer is still read (RFC 9112, 9.6)."""
        try:
            conn.sock.setblocking(False)
            conn.sock.shutdown(socket.SHUT_WR)
        except OSError:
            self._drop(conn)
            return
        self._ending[conn] = time.monotonic() + LINGER_SECONDS
        self._watch(conn, self._discard)

    def _discard(self, conn: TConn, client: socket.socket) -> None:
        """Read and discard data until the caller closes too."""
        try:
            more = client.recv(AT_ONCE)
        except BlockingIOError:
            return
        except OSError:
            more = b""
        if not more:
            self._discarded(conn)

    def _discarded(self, conn: TConn) -> None:
        del self._ending[conn]
        self.poller.unregister(conn.sock)
        self._drop(conn)

    def _drop(self, conn: TConn) -> None:
        conn.incoming.close()
        self.nr_conns -= 1
        conn.close()
