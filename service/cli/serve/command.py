"""`framing-quotes serve`: answer requests, by gunicorn with threads."""

from __future__ import annotations

import logging
import sys
import time
from collections.abc import Callable
from logging.config import dictConfig
from pathlib import Path
from typing import Any

import click
from gunicorn.app.base import BaseApplication  # type: ignore[import-untyped]
from gunicorn.arbiter import Arbiter  # type: ignore[import-untyped]
from gunicorn.glogging import Logger  # type: ignore[import-untyped]
from gunicorn.util import import_app  # type: ignore[import-untyped]

from service.cli.serve.allocator import tight_allocator
from service.cli.serve.collector import quiet_collector
from service.cli.serve.worker import Worker
from service.cli.serve.worker_slots import counting, say_leaving, take_slot, tell_slot
from service.cli.start import need_migrated, need_sound, wired
from service.logs import configuration, lean_records
from service.settings import Settings
from service.wiring import Wiring

APP = "service.api:create_app()"
SWITCH_SECONDS = 0.0005


@click.command()
def serve() -> None:
    """Answer requests until stopped; requests under way are finished first."""
    with wired() as wiring:
        need_sound(wiring.settings)
        need_migrated(wiring)
        settings = wiring.settings
    with counting():
        Server(settings).run()


def gunicorn_options(settings: Settings) -> dict[str, Any]:
    """Return gunicorn's options.

    Each worker opens the database after the fork, so nothing is preloaded: a pooled connection must
    not be shared between processes. Workers are restarted now and then, at different moments, to
    limit slow leaks. The heartbeat file is kept in memory if possible, since a slow disk would
    otherwise look like a hung worker.

    Behind a proxy, `X-Forwarded-Proto` of the first request is trusted: the setting says that
    nothing else reaches the service. There is no access log; the application writes one line per
    request itself.
    """
    host = f"[{settings.host}]" if ":" in settings.host else settings.host
    return {
        "bind": f"{host}:{settings.port}",
        "workers": settings.workers,
        "worker_class": Worker,
        "threads": settings.threads,
        "timeout": settings.request_seconds,
        "graceful_timeout": settings.graceful_seconds,
        "keepalive": 5,
        "max_requests": 100_000,
        "max_requests_jitter": 10_000,
        "worker_tmp_dir": _memory_dir(),
        "proc_name": "framing-quotes",
        "loglevel": settings.log_level,
        "logger_class": _log_of(settings),
        "control_socket_disable": True,
        "forwarded_allow_ips": "*" if settings.tls_proxy == "yes" else "127.0.0.1,::1",
        "limit_request_line": 8_190,
        "limit_request_fields": 60,
        "pre_fork": take_slot,
        "post_fork": tell_slot,
        "post_worker_init": settle,
        "worker_exit": close,
    }


def _log_of(settings: Settings) -> type:
    """Return gunicorn's own log, in the service's format and without its access log."""

    class Log(Logger):  # type: ignore[misc]
        """The log of gunicorn itself: starts, stops, workers."""

        def setup(self, cfg: Any) -> None:
            """Set up the process's logging."""
            super().setup(cfg)
            dictConfig(configuration(settings.log_level, settings.log_format))

        def access(self, *_: Any) -> None:
            """Write nothing: the application writes one line per request itself."""

    return Log


def settle(worker: Any) -> None:
    """Set up a worker after it has loaded the application."""
    tight_allocator()
    from service.api.http.edge import RequestIdInLogs  # noqa: PLC0415 — not before the fork

    for handler in logging.getLogger().handlers:
        handler.addFilter(RequestIdInLogs())
    lean_records()
    for wiring in _wiring(worker):
        wiring.jobs.start()
    quiet_collector()
    take_turns_often()


def close(_server: object, worker: Any) -> None:
    """Release the cutting plan that a stopping worker is making."""
    for wiring in _wiring(worker):
        wiring.close()


def _wiring(worker: Any) -> tuple[Wiring, ...]:
    """Return the wiring of the worker's application; empty if it could not be loaded."""
    from service.api.http.context import EXTENSION  # noqa: PLC0415 — not before the fork

    extensions = getattr(getattr(worker, "wsgi", None), "extensions", {})
    return (extensions[EXTENSION],) if EXTENSION in extensions else ()


def take_turns_often() -> None:
    """Let a worker's threads switch ten times as often as Python's default.

    A thread that stores holds the database lock meanwhile; it must not wait 5 ms for its next turn,
    several times over, behind threads that only calculate.
    """
    sys.setswitchinterval(SWITCH_SECONDS)


class Leaving(Arbiter):  # type: ignore[misc]
    """gunicorn's master, which stops only after requests have stopped arriving.

    When its sockets close, a proxy may just have sent a request on a connection that is never
    accepted, and it would be lost. So after SIGTERM the server first reports by `/readyz` that it
    is not ready, works on until a proxy has noticed, and then stops.
    """

    def __init__(self, app: BaseApplication, drain_seconds: int) -> None:
        super().__init__(app)
        self._drain_seconds = drain_seconds

    def handle_term(self) -> None:
        """Leave, then stop."""
        if self._drain_seconds:
            say_leaving()
            time.sleep(self._drain_seconds)
        super().handle_term()


class Server(BaseApplication):  # type: ignore[misc]
    """gunicorn, configured only by our settings: no file, no arguments."""

    def __init__(self, settings: Settings) -> None:
        self._options = gunicorn_options(settings)
        self._drain_seconds = settings.drain_seconds
        super().__init__()

    def run(self) -> None:
        """Serve until stopped."""
        Leaving(self, self._drain_seconds).run()

    def load_config(self) -> None:
        """Set the options that this gunicorn knows; older ones lack some."""
        for name, value in self._options.items():
            if name in self.cfg.settings:
                self.cfg.set(name, value)

    def load(self) -> Callable[..., Any]:
        """Return the application, created anew in each worker."""
        application: Callable[..., Any] = import_app(APP)
        return application


def _memory_dir() -> str | None:
    shared = Path("/dev/shm")  # noqa: S108 — gunicorn unlinks its file  # nosec B108
    return str(shared) if shared.is_dir() else None
