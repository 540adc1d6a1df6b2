"""A disk that takes its time: every sync of the programs started with it lasts longer.

Where these measurements run, a sync often ends in a tenth of a millisecond, because a virtual
machine's disk only says that it has kept what it was told. Disks that have kept it take longer.
"""

from __future__ import annotations

import subprocess
from pathlib import Path

SOURCE = Path(__file__).with_name("slow_sync.c")


def slow_sync(folder: Path, milliseconds: float) -> dict[str, str]:
    """The environment in which a program's syncs take so much longer; needs a C compiler."""
    if not milliseconds:
        return {}
    library = folder / "slow_sync.so"
    if not library.exists():
        subprocess.run(
            ["cc", "-shared", "-fPIC", "-O2", "-o", str(library), str(SOURCE), "-ldl"], check=True
        )
    return {"LD_PRELOAD": str(library), "SYNC_MICROSECONDS": str(round(milliseconds * 1000))}
