"""Addresses that a webhook may use: https to a host on the public internet.

Addresses that can never work are refused when registered: names outside the public DNS, numeric
forms that only some programs read as an address, and ports of other services. The name is resolved
only when sending (`service.app.events.sending`).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from ipaddress import IPv4Address, IPv6Address, IPv6Network, ip_address, ip_network
from urllib.parse import SplitResult, urlsplit

from service.domain.errors import BadValue

LONGEST_URL = 500
LOOPBACK = "127.0.0.1"
_EMBEDS_V4 = IPv6Network("64:ff9b::/96")
"""IPv4 addresses mapped by NAT64 (RFC 6052)."""
_NOT_PUBLIC = tuple(
    map(ip_network, ("192.0.0.0/24", "64:ff9b:1::/48", "2001::/23", "3fff::/20", "5f00::/16"))
)
"""Addresses in IANA's special-purpose registries that some Python versions consider public."""
_LOCAL_NAMES = ("localhost", "local", "internal", "invalid", "test", "onion", "alt", "home.arpa")
"""Names never in the public DNS (RFC 6761, 6762, 7686, 8375, 9476; `internal` by ICANN)."""
_LABEL = re.compile(r"[a-z0-9]([a-z0-9-]{0,61}[a-z0-9])?")
"""A label of a host name (RFC 1123, 2.1; RFC 1035, 2.3.4)."""
LONGEST_NAME = 253
_NUMBER = re.compile(r"[0-9]+|0x[0-9a-f]*")
"""A last label that makes a host an IPv4 address (WHATWG URL, "ends in a number")."""
_BAD_PORTS = frozenset(
    (
        *(0, 1, 7, 9, 11, 13, 15, 17, 19, 20, 21, 22, 23, 25, 37, 42, 43, 53, 69, 77, 79, 87, 95),
        *(101, 102, 103, 104, 109, 110, 111, 113, 115, 117, 119, 123, 135, 137, 139, 143, 161, 179),
        *(389, 427, 465, 512, 513, 514, 515, 526, 530, 531, 532, 540, 548, 554, 556, 563, 587, 601),
        *(636, 989, 990, 993, 995, 1719, 1720, 1723, 2049, 3659, 4045, 4190, 5060, 5061, 6000),
        *(6566, 6665, 6666, 6667, 6668, 6669, 6679, 6697, 10080),
    )
)
"""Ports of other services (WHATWG Fetch, "bad port")."""


@dataclass(frozen=True, slots=True)
class Target:
    """An address that a webhook may use."""

    secure: bool
    host: str
    port: int
    path: str

    @property
    def named(self) -> str:
        """The host as in the Host header."""
        host = f"[{self.host}]" if ":" in self.host else self.host
        usual = 443 if self.secure else 80
        return host if self.port == usual else f"{host}:{self.port}"

    @property
    def url(self) -> str:
        """The whole address."""
        return f"{'https' if self.secure else 'http'}://{self.named}{self.path}"


def read_target(url: str, *, loopback: bool) -> Target:
    """Return the target of a URL.

    Args:
        url: the customer's text.
        loopback: also accept http://127.0.0.1, for tests.

    Raises:
        BadValue: it is not an https URL, or its host or port is not allowed.
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
    if _is_test(parts, loopback=loopback) and port != 0:
        return Target(secure=False, host=host, port=port or 80, path=path)
    if parts.scheme != "https":
        raise _bad("a webhook's URL begins with https://")
    if port in _BAD_PORTS:
        raise _bad(f"port {port} is not one that https is served on")
    _check_host(host)
    return Target(secure=True, host=host, port=port or 443, path=path)


def _check_host(host: str) -> None:
    """Refuse a host that is neither a public address nor a possible name in the public DNS."""
    try:
        address = ip_address(host)
    except ValueError:
        _check_name(host.removesuffix(".").lower())
        return
    if not is_public(address):
        raise _bad("this address is not one of the public internet")


def _check_name(name: str) -> None:
    labels = name.split(".")
    if _NUMBER.fullmatch(labels[-1]):
        raise _bad("write an address in full, such as https://192.0.2.1/, or give a host's name")
    if len(name) > LONGEST_NAME or not all(map(_LABEL.fullmatch, labels)):
        raise _bad("this is not the name of a host")
    if len(labels) == 1 or name.endswith(tuple(f".{each}" for each in _LOCAL_NAMES)):
        raise _bad("this name is not one of the public internet")


def is_public(address: IPv4Address | IPv6Address) -> bool:
    """Return True if an address, and any address embedded in it, is on the public internet."""
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


def _is_test(parts: SplitResult, *, loopback: bool) -> bool:
    return loopback and parts.scheme == "http" and parts.hostname == LOOPBACK


def _bad(message: str) -> BadValue:
    return BadValue(message, "/url")
