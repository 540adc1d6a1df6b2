"""`framing-quotes deliver`: send webhooks, in a process separate from the servers.

One worker is enough; several share the work. It reads the change feed for every endpoint, so that
no committed event is missed. On a signal it finishes the messages being sent, then stops.
"""

from __future__ import annotations

import logging
import signal
from collections.abc import Callable, Mapping
from concurrent.futures import Future, ThreadPoolExecutor, wait
from datetime import timedelta
from threading import Event

import click
from standardwebhooks.webhooks import Webhook

from schemas.events.records import Endpoint, Message
from service.app.events import sending
from service.app.events.delivery import A_TURN, HELD, Outcome, queue_events, settle
from service.app.events.targets import Target, read_target
from service.app.events.webhooks import secrets_in_force
from service.cli.start import need_migrated, wired
from service.domain.errors import BadValue
from service.persistence.sql.session import StorageUnavailable
from service.wiring import Wiring

EVERY = 1.0
"""Seconds between two reads of the feed."""
AT_ONCE = 8
"""The number of endpoints sent to at the same time."""
KEPT = timedelta(days=30)
TIDIED_EVERY = timedelta(hours=1)
TIDIED_AT_ONCE = 1_000
Send = Callable[[Target, Mapping[str, str], bytes], Outcome]
log = logging.getLogger("service.deliver")


@click.command()
@click.option("--once", is_flag=True, help="Send what is due now, and end.")
def deliver(once: bool) -> None:
    """Send webhooks until stopped."""
    with wired() as wiring:
        need_migrated(wiring)
        if not wiring.settings.webhook_secret:
            raise click.ClickException(
                "webhooks need FRAMING_QUOTES_WEBHOOK_SECRET; see .env.example"
            )
        stop = Event()
        for name in (signal.SIGTERM, signal.SIGINT):
            signal.signal(name, lambda *_: stop.set())
        courier = Courier(wiring, stop)
        try:
            courier.run(once=once)
        finally:
            courier.close()


class Courier:
    """Turns events into messages and messages into deliveries."""

    def __init__(self, wiring: Wiring, stop: Event, send: Send = sending.send) -> None:
        self._wiring = wiring
        self._stop = stop
        self._send = send
        self._pool = ThreadPoolExecutor(AT_ONCE, thread_name_prefix="deliver")
        self._busy: dict[str, Future[int]] = {}
        self._tidied = wiring.clock() - TIDIED_EVERY

    def run(self, *, once: bool = False) -> None:
        """Deliver until stopped, or until nothing is due."""
        while not self._stop.is_set():
            try:
                begun = self.round()
            except StorageUnavailable:
                log.warning("the database cannot be reached; trying again")
                begun = 0
            if once:
                sent = self.wait()
                if not begun or not sent:
                    return
                continue
            self._stop.wait(EVERY)

    def round(self) -> int:
        """Read the feed for every endpoint, and begin to send what is due.

        Returns:
            The number of endpoints being sent to.
        """
        self._busy = {key: job for key, job in self._busy.items() if not self._ended(key, job)}
        with self._wiring.units.reading() as uow:
            endpoints = uow.webhooks.active()
        for endpoint in endpoints:
            if endpoint.id not in self._busy and not self._stop.is_set():
                self._queue(endpoint)
                self._busy[endpoint.id] = self._pool.submit(self._deliver, endpoint)
        self._tidy()
        return len(self._busy)

    def wait(self) -> int:
        """Wait for what is being sent, and return the number of messages."""
        wait(self._busy.values())
        return sum(job.result() for job in self._busy.values() if job.exception() is None)

    def close(self) -> None:
        """Finish what is being sent, and begin nothing more."""
        self._stop.set()
        self._pool.shutdown(wait=True)

    def _ended(self, endpoint_id: str, job: Future[int]) -> bool:
        """Return True if a turn is over.

        A failed one is logged, and retried when its hold expires.
        """
        if job.done() and (error := job.exception()) is not None:
            log.error("webhook %s could not be served", endpoint_id, exc_info=error)
        return job.done()

    def _queue(self, endpoint: Endpoint) -> None:
        wired, more = self._wiring, True
        while more and not self._stop.is_set():
            with wired.units.writing() as uow:
                endpoint, more = queue_events(uow, endpoint, wired.new_id, wired.clock())
                uow.commit()

    def _deliver(self, endpoint: Endpoint) -> int:
        wired = self._wiring
        try:
            now = wired.clock()
            with wired.units.writing() as uow:
                due = uow.webhooks.take_due(endpoint.id, now, now + HELD, A_TURN)
                uow.commit()
            for count, message in enumerate(due):
                if self._stop.is_set():
                    return count  # the rest is retried when its hold expires
                outcome = self._sent(endpoint, message)
                with wired.units.writing() as uow:
                    settle(uow, endpoint, message, outcome, wired.clock())
                    uow.commit()
                told = outcome.status or outcome.error
                log.info("webhook %s, message %s: %s", endpoint.id, message.id, told)
            return len(due)
        except StorageUnavailable:
            log.warning("webhook %s: the database cannot be reached", endpoint.id)
            return 0

    def _sent(self, endpoint: Endpoint, message: Message) -> Outcome:
        settings, now = self._wiring.settings, self._wiring.clock()
        try:
            loopback = settings.webhook_loopback == "yes"
            target = read_target(endpoint.url, loopback=loopback)
        except BadValue as error:  # allowed when stored, but no longer
            return Outcome(None, error.message, 0)
        secrets = secrets_in_force(settings.webhook_secret, endpoint, now)
        body = message.body.decode()
        signed = [Webhook(secret).sign(message.id, now, body) for secret in secrets]
        headers = {
            "Content-Type": "application/json",
            "webhook-id": message.id,
            "webhook-timestamp": str(int(now.timestamp())),
            "webhook-signature": " ".join(signed),
        }
        return self._send(target, headers, message.body)

    def _tidy(self) -> None:
        now = self._wiring.clock()
        if now - self._tidied < TIDIED_EVERY:
            return
        self._tidied = now
        with self._wiring.units.writing() as uow:
            uow.webhooks.forget(now - KEPT, TIDIED_AT_ONCE)
            uow.once.forget(now, TIDIED_AT_ONCE)
            uow.commit()
