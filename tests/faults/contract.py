"""All that schemathesis can think of, asked of a live service on each database.

    python -m tests.faults.contract [EXAMPLES]

EXAMPLES by chance for each operation (default 50), every case at the borders of a shape, every
example of the document, and sequences of operations; every check is on. Ends with the number of
databases on which something was found.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import requests

from tests.api.contract.exceptions import settings, things
from tests.databases import new_database, postgres
from tests.deploy.live import new_key, served, set_up

COMMAND = "from schemathesis.cli import schemathesis; schemathesis()"
PHASES = "examples,coverage,fuzzing,stateful"
USUAL = "50"


def ask_all(url: str, folder: Path, examples: str) -> int:
    """What schemathesis ends with over a database; 0 where it found nothing."""
    set_up(url)
    key = {"Authorization": f"Bearer {new_key(url, 'admin')}"}
    ours = {"RATE_PER_MINUTE": "0", "WEBHOOK_SECRET": "0123456789abcdef0123456789abcdef"}
    with served(url, **{f"FRAMING_QUOTES_{name}": text for name, text in ours.items()}) as live:

        def post(path: str, document: Mapping[str, Any], headers: Mapping[str, str]) -> Any:
            sent = {**key, **headers}
            answer = requests.post(live.base + path, json=document, headers=sent, timeout=30)
            answer.raise_for_status()
            return answer.json()

        told = folder / "contract.toml"
        told.write_text(
            'hooks = "tests.api.contract.exceptions"\n' + settings(things(post)), "utf-8"
        )
        asked = ("--config-file", str(told), "run", f"{live.base}/openapi.json")
        how = ("--phases", PHASES, "-n", examples, "--continue-on-failure", "--no-color")
        with_key = ("-H", f"Authorization: {key['Authorization']}")
        command = [sys.executable, "-c", COMMAND, *asked, *how, *with_key]
        return subprocess.run(command, check=False).returncode


def main() -> int:
    """Ask on SQLite and on PostgreSQL; how many of them have faults."""
    examples = sys.argv[1] if len(sys.argv) > 1 else USUAL
    with tempfile.TemporaryDirectory() as folder, postgres() as server:
        place = Path(folder)
        found = ask_all(f"sqlite:///{place / 'contract.sqlite3'}", place, examples)
        with new_database(server) as url:
            return (found != 0) + (ask_all(url, place, examples) != 0)


if __name__ == "__main__":
    sys.exit(main())
