"""Sending a webhook to a customer's address, without server-side request forgery.

The name is resolved once, all its addresses must be public, and the connection goes to the address
that was checked, so DNS rebinding has no effect. TLS authenticates the name, not the address.
Trusted are the certificate authorities of the system and those that come with requests.

Redirects are not followed, proxies and credentials of the environment are not used, and the
response body is never read: only its head, which http.client limits to 100 lines of 65,536 bytes.
Everything together ends after `SECONDS`, however slowly the receiver responds.
"""

from __future__ import annotations

import logging
import socket
import ssl
from collections.abc import Iterator, Mapping
from http.client import HTTPException
from ipaddress import ip_address
from threading import Lock, Timer
from time import monotonic
from typing import Any

from requests import PreparedRequest, Request, RequestException
from requests.adapters import HTTPAdapter
from urllib3.connection import HTTPConnection, HTTPSConnection

from service.app.events.delivery import Outcome
from service.app.events.targets import LOOPBACK, Target, is_public

SECONDS = 20.0
"""The limit for connecting, sending and the response's head; the specification says 15 to 30."""
MOST_DIGITS = 9
AGENT = "framing-quotes-webhooks/1"
logging.getLogger("urllib3").setLevel(logging.ERROR)  # its warnings quote responses


class Unreachable(Exception):
    """The target cannot be sent to.

    The message gives the reason and is shown in the delivery log.
    """


def send(target: Target, headers: Mapping[str, str], body: bytes) -> Outcome:
    """POST a body to a target; return every result, failures too, as an outcome."""
    begun = monotonic()
    status, error, retry_after = None, "", 0
    try:
        status, retry_after = _post(target, headers, body, begun + SECONDS)
    except Unreachable as refusal:
        error = str(refusal)
    except RequestException as failure:
        late = monotonic() - begun >= SECONDS
        error = _too_late() if late else _told(failure)
    return Outcome(status, error, int((monotonic() - begun) * 1_000), retry_after)


def _post(target: Target, headers: Mapping[str, str], body: bytes, ends: float) -> tuple[int, int]:
    """Return the response's status, and its Retry-After in seconds."""
    address = _checked_address(target)
    left = ends - monotonic()
    if left <= 0:  # resolving the name used it all up
        raise Unreachable(_too_late())
    fixed = {"Host": target.named, "User-Agent": AGENT, "Connection": "close"}
    request = Request("POST", target.url, {**headers, **fixed}, data=body).prepare()
    watch = _Watch(left)
    adapter = _Pinned(target, address, watch)
    try:
        # The TLS handshake gets the same timeout as the connection, so each gets half of what is
        # left.
        answer = adapter.send(request, stream=True, timeout=(left / 2, left))
        with answer:
            if watch.late:  # a truncated head can look whole
                raise Unreachable(_too_late())
            return answer.status_code, _waiting(answer.headers.get("Retry-After", ""))
    finally:
        watch.cancel()
        adapter.close()


class _Pinned(HTTPAdapter):
    """Connects to the address that was checked, and verifies the target's name by TLS.

    The adapter's `send` is used directly: a `Session` would apply environment settings and read the
    whole body of a redirect.
    """

    def __init__(self, target: Target, address: str, watch: _Watch) -> None:
        self._target, self._address, self._watch = target, address, watch
        super().__init__(max_retries=0)

    def build_connection_pool_key_attributes(
        self, request: PreparedRequest, verify: Any, cert: Any = None
    ) -> tuple[Any, Any]:
        """Return the address to connect to, and the name to verify."""
        target = self._target
        place = {"host": self._address, "port": target.port}
        if not target.secure:
            return {"scheme": "http", **place}, {}
        proof = {
            "ssl_context": ssl.create_default_context(),
            "cert_reqs": "CERT_REQUIRED",
            "server_hostname": target.host.removesuffix("."),
        }
        return {"scheme": "https", **place}, proof

    def get_connection_with_tls_context(self, *given: Any, **named: Any) -> Any:
        """Return the pool of one connection, which is watched once it is open."""
        pool: Any = super().get_connection_with_tls_context(*given, **named)
        kind = _SecureConnection if self._target.secure else _PlainConnection
        watch = self._watch
        pool.ConnectionCls = lambda *args, **options: kind(watch, *args, **options)
        return pool


class _PlainConnection(HTTPConnection):
    """A connection that ends at the deadline."""

    def __init__(self, watch: _Watch, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self._watch = watch

    def connect(self) -> None:
        """Connect and start the watch."""
        super().connect()
        self._watch.over(self.sock)


class _SecureConnection(HTTPSConnection):
    """A TLS connection that ends at the deadline."""

    def __init__(self, watch: _Watch, *args: Any, **options: Any) -> None:
        super().__init__(*args, **options)
        self._watch = watch

    def connect(self) -> None:
        """Connect, do the TLS handshake and start the watch."""
        super().connect()
        self._watch.over(self.sock)


class _Watch:
    """Shuts a connection at the deadline, since socket timeouts apply to each read separately.

    `late` is True once the deadline has passed.
    """

    def __init__(self, seconds: float) -> None:
        self._lock, self.late = Lock(), False
        self._socket: socket.socket | None = None
        self._timer = Timer(seconds, self._end)
        self._timer.daemon = True
        self._timer.start()

    def over(self, connected: socket.socket | None) -> None:
        """Watch this connection; shut it at once if the deadline has passed."""
        with self._lock:
            self._socket = connected
            if self.late:
                self._shut()

    def cancel(self) -> None:
        """Stop watching."""
        self._timer.cancel()

    def _end(self) -> None:
        with self._lock:
            self.late = True
            self._shut()

    def _shut(self) -> None:
        try:
            if self._socket is not None:
                self._socket.shutdown(socket.SHUT_RDWR)
        except OSError:
            return  # it has ended already


def _checked_address(target: Target) -> str:
    """Return the address to connect to.

    Raises:
        Unreachable: there is none, or one of them is not public.
    """
    if not target.secure:
        return LOOPBACK
    try:
        found = socket.getaddrinfo(target.host, target.port, type=socket.SOCK_STREAM)
    except (OSError, UnicodeError):
        raise Unreachable("the host's name cannot be resolved") from None
    addresses = [str(entry[4][0]).partition("%")[0] for entry in found]
    if not addresses or not all(is_public(ip_address(each)) for each in addresses):
        raise Unreachable("the host has an address that is not one of the public internet")
    return addresses[0]


def _waiting(text: str) -> int:
    """Return the seconds of a Retry-After, which may hold anything."""
    return int(text) if text.isascii() and text.isdigit() and len(text) <= MOST_DIGITS else 0


def _too_late() -> str:
    return f"no answer within {SECONDS:.0f} seconds"


def _told(failure: RequestException) -> str:
    """Return a failure's message, from its first cause that is a system, TLS or HTTP error."""
    for cause in _causes(failure):
        if isinstance(cause, ssl.SSLError):
            return f"TLS failed: {cause.reason or 'no agreement'}"
        if isinstance(cause, TimeoutError):
            return _too_late()
        if isinstance(cause, HTTPException):
            return f"no HTTP answer: {type(cause).__name__}"
        if isinstance(cause, OSError) and cause.strerror:
            return f"the connection failed: {cause.strerror}"
    return "the connection failed: lost"


def _causes(failure: BaseException) -> Iterator[BaseException]:
    """Yield the causes of a failure, nearest first; libraries chain them in both ways."""
    found: BaseException | None = failure
    while found is not None:
        yield found
        inner = [each for each in found.args if isinstance(each, BaseException)]
        found = found.__cause__ or found.__context__ or next(iter(inner), None)
