"""The `Jobs` port over PostgreSQL: a queue in the database, run by the procrastinate library.

Servers enqueue plans; workers on any machine take them, one at a time each. A worker is a thread
beside a server (`start`) or a separate process (`run`).

The queue only delivers plans; the plan's own row says who owns it (see `cut_jobs`). So a job lost
with its worker costs nothing: once a minute a worker enqueues the orphaned plans again and removes
the jobs of dead workers.
"""
# ruff: noqa: PLC0415 — importing the library takes 0.25 s, which only workers should pay

from __future__ import annotations

import asyncio
import logging
from threading import Event, Thread
from typing import TYPE_CHECKING

from sqlalchemy import Engine
from sqlalchemy.exc import InterfaceError, OperationalError
from sqlalchemy.exc import TimeoutError as PoolTimeout

from service.persistence.cutting.work import PlanWork
from service.persistence.sql.engine import WATCHED

if TYPE_CHECKING:
    from procrastinate import App
    from procrastinate.connector import BaseConnector

SCHEMA = "procrastinate"
QUEUE = "cutting_plans"
PLAN, SWEEP = "make_plan", "look_for_plans"
EVERY_MINUTE = "* * * * *"
AGAIN = 5.0
"""Seconds until a worker that lost the database tries again."""
_LOG = logging.getLogger(__name__)


class QueueJobs:
    """Enqueues plans and, if this process is a worker, runs them."""

    def __init__(self, engine: Engine, work: PlanWork, *, here: bool) -> None:
        self._engine = engine
        self._here = here
        self._stopping = Event()
        self._work = work.until(self._stopping.is_set)
        self._thread: Thread | None = None
        self._worker: tuple[asyncio.AbstractEventLoop, asyncio.Task[None]] | None = None

    def put(self, shop_id: str, plan_id: str) -> None:
        """Enqueue a waiting plan.

        If the database fails, the plan waits until a worker finds it orphaned: it is already
        stored, which is what matters.
        """
        from procrastinate import SyncPsycopgConnector
        from procrastinate.exceptions import AlreadyEnqueued

        task = self._app(SyncPsycopgConnector()).tasks[PLAN]
        try:
            with self._engine.begin() as connection:
                connection.exec_driver_sql(f"SET LOCAL search_path TO {SCHEMA}")
                own = connection.connection.driver_connection
                job = task.configure(queueing_lock=plan_id, connection=own)
                job.defer(shop_id=shop_id, plan_id=plan_id)
        except AlreadyEnqueued:
            return
        except (OperationalError, InterfaceError, PoolTimeout):
            _LOG.warning("plan %s could not be put into the queue; it is found later", plan_id)

    def start(self) -> None:
        """Start working on plans in a thread, unless other processes do that."""
        if self._here and self._thread is None and not self._stopping.is_set():
            self._thread = Thread(target=self.run, name="cutting-plans", daemon=True)
            self._thread.start()

    def run(self) -> None:
        """Work on plans until `close` is called, from another thread or by a signal."""
        while not self._stopping.is_set():
            try:
                asyncio.run(self._take_out())
            except Exception as error:
                if not self._stopping.is_set():
                    _LOG.warning("the queue of plans is out of reach (%s)", type(error).__name__)
            self._stopping.wait(AGAIN)

    def stop(self) -> None:
        """Start no more plans and release the current one; does not wait for that."""
        self._stopping.set()
        worker = self._worker
        if worker is not None:
            worker[0].call_soon_threadsafe(worker[1].cancel)

    def close(self) -> None:
        """Start no more plans and release the current one."""
        self.stop()
        if self._thread is not None:
            self._thread.join()

    async def _take_out(self) -> None:
        """Run one worker until it is stopped or loses the database."""
        from procrastinate import PsycopgConnector

        _, address = self._engine.dialect.create_connect_args(self._engine.url)
        settings = {
            **address,
            "options": f"-c search_path={SCHEMA} -c timezone=UTC",
            "application_name": "framing-quotes-plans",
            **WATCHED,
        }
        app = self._app(PsycopgConnector(kwargs=settings, min_size=1, max_size=3, timeout=10))
        async with app.open_async():
            task = asyncio.ensure_future(
                app.run_worker_async(
                    queues=[QUEUE], name=QUEUE, install_signal_handlers=False, delete_jobs="always"
                )
            )
            self._worker = asyncio.get_running_loop(), task
            if self._stopping.is_set():
                task.cancel()
            try:
                await task
            except asyncio.CancelledError:
                return
            finally:
                self._worker = None

    def _app(self, connector: BaseConnector) -> App:
        """Return the library's application with our two tasks."""
        from procrastinate import App, JobContext
        from procrastinate.jobs import Status

        # The library logs a line as each job starts and ends; the plan's own row says as much.
        logging.getLogger("procrastinate").setLevel(logging.WARNING)
        app = App(connector=connector)

        @app.task(name=PLAN, queue=QUEUE)
        def make(shop_id: str, plan_id: str) -> None:
            self._work(shop_id, plan_id)

        @app.periodic(cron=EVERY_MINUTE)
        @app.task(name=SWEEP, queue=QUEUE, queueing_lock=SWEEP, pass_context=True)
        async def sweep(context: JobContext, timestamp: int) -> None:
            manager = context.app.job_manager
            for stalled in await manager.get_stalled_jobs(queue=QUEUE):
                await manager.finish_job(stalled, Status.FAILED, delete_job=True)
            await asyncio.to_thread(self.put_orphans)

        return app

    def put_orphans(self) -> None:
        """Enqueue all orphaned plans again."""
        for shop_id, plan_id in self._work.orphans():
            self.put(shop_id, plan_id)
