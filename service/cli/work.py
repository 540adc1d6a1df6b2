"""`framing-quotes work`: make large cutting plans, in a process separate from the servers.

One worker is enough; several share the work. On a signal it releases the plan that it is making,
which another worker then makes.
"""

from __future__ import annotations

import logging
import signal

import click

from service.cli.start import need_migrated, wired
from service.persistence.cutting.queue import QueueJobs

log = logging.getLogger("service.work")


@click.command()
def work() -> None:
    """Make big cutting plans until stopped (with PostgreSQL)."""
    with wired() as wiring:
        need_migrated(wiring)
        jobs = wiring.jobs
        if not isinstance(jobs, QueueJobs):
            raise click.ClickException(
                "with SQLite the server makes all plans itself; this is for PostgreSQL"
            )
        for name in (signal.SIGTERM, signal.SIGINT):
            signal.signal(name, lambda *_: jobs.stop())
        log.info("making cutting plans")
        jobs.run()
