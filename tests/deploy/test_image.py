"""The image, built by deploy/Containerfile without a container engine and run as in one.

`mmdebstrap` makes the base from Debian's packages (trixie, Python, its headers); `buildah` builds
on it in a chroot. What runs inside sees the image's files read-only, writes to /tmp and one volume
alone, is the image's user without any capability, and has the image's environment and no other. It
shares the machine's network, where it listens on 127.0.0.1.

It takes minutes, the tools, root, and access to PyPI and Debian's packages.
"""

from __future__ import annotations

import json
import os
import shutil
import stat
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest
import requests

from service.demo import demo_document
from tests.deploy.live import free_port

pytestmark = pytest.mark.slow

TOP = Path(__file__).parents[2]
TOOLS = ("buildah", "mmdebstrap", "unshare")
BASE_HOLDS = "ca-certificates,python3,python3-dev,python3-venv"
TRUSTED = Path("/etc/ssl/certs/ca-certificates.crt")
BUILD_SECONDS = 1800
START_SECONDS = 120
SHUT_IN = r"""
set -eu
root=$1 volume=$2 owner=$3; shift 3
mount --bind "$root" "$root"
mount --bind "$volume" "$root/srv"
mount --rbind /dev "$root/dev"
mount --rbind /proc "$root/proc"
mount -t tmpfs tmpfs "$root/tmp"
mount -o remount,ro,bind "$root"
exec chroot "$root" setpriv --reuid="${owner%:*}" --regid="${owner#*:}" --clear-groups \
    --bounding-set=-all --no-new-privs "$@"
"""


@dataclass(frozen=True)
class Image:
    """An image laid out as a folder, what it says of itself, and a volume for its user."""

    root: Path
    volume: Path
    user: str
    environment: tuple[str, ...]
    folder: str
    entrypoint: tuple[str, ...]
    command: tuple[str, ...]

    def words(self, *asked: str, **told: str) -> list[str]:
        """The command line that runs something inside; `told` is added to its environment."""
        given = [*self.environment, *(f"{name}={value}" for name, value in told.items())]
        return [
            *("unshare", "--mount", "sh", "-c", SHUT_IN, "sh"),
            *(str(self.root), str(self.volume), self.user),
            *("/usr/bin/env", "-i", "-C", self.folder, *given, *asked),
        ]

    def run(self, *asked: str, ends: int = 0, **told: str) -> str:
        """What a program inside prints; it must end with this code."""
        done = subprocess.run(
            self.words(*asked, **told), capture_output=True, text=True, check=False, timeout=300
        )
        assert done.returncode == ends, f"{asked}: {done.stdout}{done.stderr}"
        return (done.stdout + done.stderr).strip()

    def ours(self, *asked: str, **told: str) -> str:
        """What the image's own command prints."""
        return self.run(*self.entrypoint, *asked, **told)

    @contextmanager
    def served(self, url: str) -> Iterator[str]:
        """The image started as it says itself; gives the address."""
        port = free_port()
        words = self.words(*self.entrypoint, *self.command, DATABASE_URL=url, PORT=str(port))
        process = subprocess.Popen(words, stderr=subprocess.DEVNULL)
        base = f"http://127.0.0.1:{port}"
        try:
            _wait_until_ready(base, process)
            yield base
        finally:
            process.terminate()
            assert process.wait(60) == 0


def _wait_until_ready(base: str, process: subprocess.Popen[bytes]) -> None:
    ends = time.monotonic() + START_SECONDS
    while time.monotonic() < ends:
        assert process.poll() is None, "it did not start"
        try:
            if requests.get(f"{base}/readyz", timeout=5).ok:
                return
        except (requests.ConnectionError, requests.Timeout):
            time.sleep(0.2)
    raise AssertionError("it was not ready in time")


def _needs() -> None:
    missing = [tool for tool in TOOLS if shutil.which(tool) is None]
    if missing:
        pytest.skip(f"no image was built: {', '.join(missing)} missing (Debian: apt-get install)")
    if os.geteuid() != 0:
        pytest.skip("no image was built: that needs root")


@pytest.fixture(scope="module")
def image() -> Iterator[Image]:
    _needs()
    with tempfile.TemporaryDirectory(prefix="fq-image-") as place:
        folder = Path(place)
        folder.chmod(0o755)
        _build(folder)
        yield _laid_out(folder)


def _buildah(folder: Path, *words: str) -> str:
    store = ("--root", str(folder / "root"), "--runroot", str(folder / "run"))
    return _ran("buildah", *store, "--storage-driver", "vfs", *words)


def _ran(*words: str) -> str:
    done = subprocess.run(
        words, cwd=TOP, capture_output=True, text=True, check=False, timeout=BUILD_SECONDS
    )
    assert done.returncode == 0, f"{done.stdout[-4000:]}\n{done.stderr[-4000:]}"
    return done.stdout.strip()


def _build(folder: Path) -> None:
    base = folder / "base.tar"
    retry = '--aptopt=Acquire::Retries "3"'
    _ran(
        *("mmdebstrap", "--variant=minbase", f"--include={BASE_HOLDS}"), retry, "trixie", str(base)
    )
    empty = _buildah(folder, "from", "scratch")
    _buildah(folder, "add", empty, str(base), "/")
    _buildah(folder, "commit", "--quiet", "--rm", empty, "localhost/base")
    base.unlink()
    trusted = [f"--volume={TRUSTED}:{TRUSTED}:ro"] if TRUSTED.exists() else []
    _buildah(
        folder,
        *("build", "--isolation", "chroot", "--pull=never", "--format", "docker", *trusted),
        *("--build-arg", "BASE=localhost/base", "--file", "deploy/Containerfile"),
        *("--tag", "localhost/framing-quotes", "."),
    )


def _laid_out(folder: Path) -> Image:
    container = _buildah(folder, "from", "--pull=never", "localhost/framing-quotes")
    said = json.loads(_buildah(folder, "inspect", container))["Docker"]["config"]
    volume = folder / "volume"
    volume.mkdir()
    user, group = map(int, said["User"].split(":"))
    os.chown(volume, user, group)
    return Image(
        root=Path(_buildah(folder, "mount", container)),
        volume=volume,
        user=said["User"],
        environment=tuple(said["Env"]),
        folder=said["WorkingDir"],
        entrypoint=tuple(said["Entrypoint"]),
        command=tuple(said["Cmd"]),
    )


def test_it_is_shut_in_and_holds_what_it_should(image: Image) -> None:
    assert image.user == "10001:10001"
    assert image.run("id", "-u") == "10001"
    assert "Read-only file system" in image.run("touch", "/srv/../opt/x", ends=1)
    assert "CapEff:\t0000000000000000" in image.run("cat", "/proc/self/status")
    where = "import service.domain.jobs.sizes as one; print(one.__file__)"
    assert image.run("python", "-c", where).endswith(".so")  # the calculation is compiled
    assert int(image.run("pg_dump", "--version").split()[2].split(".")[0]) >= 17
    names = {entry.partition("=")[0] for entry in image.environment}
    assert not {name for name in names if name.startswith(("FRAMING_QUOTES_", "DATABASE_URL"))}


def test_it_quotes_backs_up_and_restores(image: Image) -> None:
    url, restored = "sqlite:////srv/shop.sqlite3", "sqlite:////srv/back.sqlite3"
    image.ours("migrate", DATABASE_URL=url)
    image.ours("load-demo", DATABASE_URL=url)
    asked = ("create-key", "--shop", "lanternquay", "--name", "till", "--scope", "counter")
    headers = {"Authorization": f"Bearer {image.ours(*asked, DATABASE_URL=url).split()[0]}"}
    job = demo_document("jobs/harbour_etching")
    with image.served(url) as base:
        made = requests.post(f"{base}/v1/quotes", json=job, headers=headers, timeout=60)
        assert made.status_code == 201, made.text
        assert made.json()["totals"]["total"] == "330.44"
        path = f"/v1/quotes/{made.json()['number']}"
        stored = requests.get(base + path, headers=headers, timeout=60)
        backup = image.run("sh", "deploy/backup.sh", "/srv/backups", "14", DATABASE_URL=url)
    kept = image.volume / backup.removeprefix("/srv/")
    assert stat.S_IMODE(kept.stat().st_mode) == 0o600
    image.run("sh", "deploy/restore.sh", backup, DATABASE_URL=restored)
    with image.served(restored) as base:
        again = requests.get(base + path, headers=headers, timeout=60)
    assert again.content == stored.content
