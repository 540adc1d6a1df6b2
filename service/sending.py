"""Sending a webhook to an address that a customer chose, without being made a tool by it.

The name is resolved once, every address it has must be a public one, and the connection goes to the
address that was checked: a name that resolves otherwise a moment later (DNS rebinding) gains
nothing. Redirects are not followed, environment proxies not used, the answer's body not read, and
all of it together ends after `SECONDS`. Only https, which also proves the name; http to 127.0.0.1
goes where a setting for tests allows it.
"""

from __future__ import annotations

import socket
import ssl
from collections.abc import Mapping
from dataclasses import dataclass
from http.client import HTTPConnection, HTTPException
from ipaddress import IPv4Address, IPv6Address, IPv6Network, ip_address, ip_network
from threading import Timer
from time import monotonic
from urllib.parse import SplitResult, urlsplit

from service.app.delivery import Outcome
from service.domain.errors import BadValue

SECONDS = 20.0
"""For connecting, sending and the answer's head together; the specification says 15 to 30."""
LONGEST_URL = 500
MOST_DIGITS = 9
AGENT = "framing-quotes-webhooks/1"
_EMBEDS_V4 = IPv6Network("64:ff9b::/96")
"""IPv4 addresses as seen through NAT64 (RFC 6052)."""
_NOT_PUBLIC = tuple(
    map(ip_network, ("192.0.0.0/24", "64:ff9b:1::/48", "2001::/23", "3fff::/20", "5f00::/16"))
)
"""Of the IANA's special-purpose registries, what one Python or another takes for public."""
_LOOPBACK = "127.0.0.1"


class Unreachable(Exception):
    """The target cannot be sent to; the text says why and is shown in the log of deliveries."""


@dataclass(frozen=True, slots=True)
class Target:
    """An address that a webhook may name."""

    secure: bool
    host: str
    port: int
    path: str

    @property
    def named(self) -> str:
        """The host as the Host header has it."""
        host = f"[{self.host}]" if ":" in self.host else self.host
        usual = 443 if self.secure else 80
        return host if self.port == usual else f"{host}:{self.port}"


def read_target(url: str, *, loopback: bool) -> Target:
    """The target of a URL.

    Args:
        url: what the customer wrote.
        loopback: whether http://127.0.0.1 will do, for tests.

    Raises:
        BadValue: it is no https URL, or names an address that is not public.
    """
    try:
        parts = urlsplit(url)
        port, host = parts.port, parts.hostname or ""
        host = host.encode("idna").decode() if not host.isascii() else host
    except (ValueError, UnicodeError):
        raise _bad("this is not a URL") from None
    plain = len(url) <= LONGEST_URL and url.isprintable() and " " not in url and "\\" not in url
    if not plain or not host or parts.username is not None or parts.fragment:
        raise _bad("a webhook's URL reads https://host/path, without user, fragment and spaces")
    path = (parts.path or "/") + (f"?{parts.query}" if parts.query else "")
    if not path.isascii():
        raise _bad("write what is not ASCII in a URL's path as %-escapes")
    if _is_test(parts, loopback=loopback):
        return Target(secure=False, host=host, port=port or 80, path=path)
    if parts.scheme != "https":
        raise _bad("a webhook's URL begins with https://")
    try:
        address = ip_address(host)
    except ValueError:
        return Target(secure=True, host=host, port=port or 443, path=path)
    if not is_public(address):
        raise _bad("this address is not one of the public internet")
    return Target(secure=True, host=host, port=port or 443, path=path)


def is_public(address: IPv4Address | IPv6Address) -> bool:
    """Whether an address is one of the public internet, also behind what it may embed."""
    if any(address in network for network in _NOT_PUBLIC if network.version == address.version):
        return False
    if isinstance(address, IPv6Address):
        inner = address.ipv4_mapped or address.sixtofour
        if inner is None and address in _EMBEDS_V4:
            inner = IPv4Address(int(address) & 0xFFFF_FFFF)
        if inner is not None:
            return is_public(inner)
        if address.teredo is not None or address.is_site_local:
            return False
    return address.is_global and not (address.is_multicast or address.is_reserved)


def send(target: Target, headers: Mapping[str, str], body: bytes) -> Outcome:
    """POST a body to a target; whatever happens comes back as an outcome."""
    begun = monotonic()
    try:
        status, retry_after = _post(target, headers, body, begun + SECONDS)
        return Outcome(status, "", _since(begun), retry_after)
    except Unreachable as error:
        return Outcome(None, str(error), _since(begun))
    except ssl.SSLError as error:
        return Outcome(None, f"TLS failed: {error.reason or 'no agreement'}", _since(begun))
    except TimeoutError:
        return Outcome(None, f"no answer within {SECONDS:.0f} seconds", _since(begun))
    except OSError as error:
        return Outcome(None, f"the connection failed: {error.strerror or 'lost'}", _since(begun))
    except HTTPException as error:
        late = monotonic() - begun >= SECONDS
        said = f"no answer within {SECONDS:.0f} seconds" if late else type(error).__name__
        return Outcome(None, f"no HTTP answer: {said}", _since(begun))


def _post(target: Target, headers: Mapping[str, str], body: bytes, ends: float) -> tuple[int, int]:
    address = _checked_address(target)
    left = ends - monotonic()
    if left <= 0:  # resolving the name took it all, and a socket takes no time before now
        raise TimeoutError
    open_now = [socket.create_connection((address, target.port), timeout=left)]
    watch = Timer(max(ends - monotonic(), 0.0), _shut, [open_now])  # a slow drip ends too
    watch.daemon = True
    watch.start()
    try:
        if target.secure:
            _secure(open_now, target)
        connection = HTTPConnection(target.host, target.port)
        connection.sock = open_now[-1]
        fixed = {"Host": target.named, "User-Agent": AGENT, "Connection": "close"}
        connection.request("POST", target.path, body, {**headers, **fixed})
        answer = connection.getresponse()
        return answer.status, _waiting(answer.headers.get("Retry-After", ""))
    finally:
        watch.cancel()
        open_now[-1].close()


def _waiting(text: str) -> int:
    """The seconds of a Retry-After; whoever answers may write anything there."""
    return int(text) if text.isascii() and text.isdigit() and len(text) <= MOST_DIGITS else 0


def _secure(open_now: list[socket.socket], target: Target) -> None:
    """TLS that proves the name that was asked for, not the address it stands for."""
    wrapped = ssl.create_default_context().wrap_socket(
        open_now[-1], server_hostname=target.host, do_handshake_on_connect=False
    )
    open_now.append(wrapped)  # it has taken the connection over, so the watch must know it
    wrapped.do_handshake()


def _checked_address(target: Target) -> str:
    """The one address to connect to.

    Raises:
        Unreachable: there is none, or one of them is not public.
    """
    if not target.secure:
        return _LOOPBACK
    try:
        found = socket.getaddrinfo(target.host, target.port, type=socket.SOCK_STREAM)
    except (OSError, UnicodeError):
        raise Unreachable("the host's name cannot be resolved") from None
    addresses = [str(entry[4][0]).partition("%")[0] for entry in found]
    if not addresses or not all(is_public(ip_address(each)) for each in addresses):
        raise Unreachable("the host has an address that is not one of the public internet")
    return addresses[0]


def _is_test(parts: SplitResult, *, loopback: bool) -> bool:
    return loopback and parts.scheme == "http" and parts.hostname == _LOOPBACK


def _shut(open_now: list[socket.socket]) -> None:
    try:
        open_now[-1].shutdown(socket.SHUT_RDWR)
    except OSError:
        return  # it is over already


def _since(begun: float) -> int:
    return int((monotonic() - begun) * 1_000)


def _bad(message: str) -> BadValue:
    return BadValue(message, "/url")
