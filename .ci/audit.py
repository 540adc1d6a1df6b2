"""Known holes in the installed packages, by pip-audit; run by `.ci/run`.

pip-audit says "no known vulnerabilities" also where its service knew none of the packages. So what
was looked up is counted here: a hole fails, and a service that cannot be reached is said plainly
and fails nothing, since the same commit must pass on a machine without a way out.
"""

from __future__ import annotations

import json
import subprocess
import sys

OWN = "framing-quotes"
PATIENCE = 300


def found() -> list[dict[str, object]]:
    """What pip-audit says of each package; empty where it could not ask."""
    command = [sys.executable, "-m", "pip_audit", "--progress-spinner", "off", "--format", "json"]
    try:
        asked = subprocess.run(  # noqa: S603 — a fixed command
            command, capture_output=True, text=True, timeout=PATIENCE, check=False
        )
        packages: list[dict[str, object]] = json.loads(asked.stdout)["dependencies"]
    except (subprocess.TimeoutExpired, ValueError, KeyError):
        return []
    return [package for package in packages if package["name"] != OWN]


def main() -> int:
    """Print what was looked up; 1 where a hole is known."""
    packages = found()
    asked = [package for package in packages if "skip_reason" not in package]
    if not asked:
        print("audit: the advisory service could not be reached; NOTHING was audited")
        return 0
    print(f"audit: {len(asked)} of {len(packages)} packages were looked up")
    for package in packages:
        if "skip_reason" in package:
            print(f"  {package['name']}: NOT audited, the service does not know it")
    holed = [package for package in asked if package["vulns"]]
    for package in holed:
        ids = ", ".join(str(hole["id"]) for hole in package["vulns"])  # type: ignore[attr-defined]
        print(f"  {package['name']} {package['version']}: {ids}")
    return 1 if holed else 0


if __name__ == "__main__":
    raise SystemExit(main())
