"""Valid settings that would leave the service insecure: they stop the start.

The start is refused for: listening beyond this machine without a proxy that terminates TLS, since
every request carries a key; debugging where others can reach it; a guessable database password.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from ipaddress import ip_address
from urllib.parse import unquote, urlsplit

from service.settings import PREFIX, Settings

SHORTEST_PASSWORD = 12
GUESSED = frozenset(
    ("admin", "administrator", "changeme", "change-me", "change-this-now", "correct-horse",
     "default", "example", "framing", "framing-quotes", "framing_quotes", "framingquotes",
     "letmein", "password", "password1234", "passwordpassword", "postgres", "postgresql",
     "postgrespostgres", "secret", "supersecret", "123456789012", "1234567890123456")
)  # fmt: skip
"""Passwords from examples, which are tried first; value from memory."""
DEBUGGING = ("FLASK_DEBUG", "PYTHONASYNCIODEBUG")
_OFF = ("", "0", "false", "no")


def weaknesses(settings: Settings, environ: Mapping[str, str]) -> list[str]:
    """Return the reasons to refuse the start, each with its remedy; no secret is shown."""
    return [
        *_open_to_others(settings),
        *_debugging(settings, environ),
        *_guessable(settings.database_url),
    ]


def is_loopback(host: str) -> bool:
    """Return True if only this machine reaches that address."""
    try:
        return ip_address(host).is_loopback
    except ValueError:
        return host.lower() == "localhost"


def _open_to_others(settings: Settings) -> Iterator[str]:
    if is_loopback(settings.host) or settings.tls_proxy == "yes":
        return
    yield (
        f"{PREFIX}HOST={settings.host} listens beyond this machine, where keys would travel in "
        f"clear text; put a proxy that ends TLS before the service and say {PREFIX}TLS_PROXY=yes, "
        "or listen on 127.0.0.1"
    )


def _debugging(settings: Settings, environ: Mapping[str, str]) -> Iterator[str]:
    for name in DEBUGGING:
        if environ.get(name, "").strip().lower() not in _OFF:
            yield f"{name} is on; it is for developing Flask programs and has no place here"
    if settings.log_level == "debug" and not is_loopback(settings.host):
        yield (
            f"{PREFIX}LOG_LEVEL=debug writes messages that may quote customers' data; "
            "use info where the service listens beyond this machine"
        )


def _guessable(database_url: str) -> Iterator[str]:
    """Yield a fault if a password is short, common, or a name from the same address."""
    parts = urlsplit(database_url)
    if not parts.scheme.startswith("postgres"):
        return
    try:
        password = unquote(parts.password or "")
    except ValueError:
        return
    if not password:  # none is sent: another authentication method, or a password file
        return
    beside = {unquote(parts.username or "").lower(), parts.path.strip("/").lower()}
    if password.lower() in GUESSED | beside or len(password) < SHORTEST_PASSWORD:
        yield (
            "DATABASE_URL has a password that would be guessed; use a random one of at least "
            f"{SHORTEST_PASSWORD} characters, such as `openssl rand -hex 24` prints"
        )
