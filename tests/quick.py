"""The tests closest to what was changed, for `sh deploy/test.sh --quick`.

    python -m tests.quick [FILE ...]

prints paths of test modules, the closest first; without arguments for what differs from the last
commit, or for the last commit itself where nothing does. Distances:

0  a test module that was changed, or that has the changed module's name (`quotes`, `test_quotes`);
n  one that reaches it over n imports.

A file that is no Python stands for the modules beside and above it. What takes long or needs more
than the service (`tests/deploy`, `tests/faults`, 100,000 quotes) is left out at distances over 0.
The run is cut off after `TEST_SECONDS` (see `conftest.py`), so the farthest may not be reached.
"""

from __future__ import annotations

import ast
import subprocess
import sys
from collections import defaultdict
from collections.abc import Iterable, Iterator
from pathlib import Path

TOP = Path(__file__).parents[1]
ROOTS = ("service", "schemas", "migrations", "tests", "deploy")
LONG = ("tests/deploy/", "tests/faults/", "tests/bench/", "tests/persistence/reports/test_scale.py")


def changed() -> list[str]:
    """Return the files that differ from the last commit, or else those of the last commit."""
    differing = _git("diff", "--name-only", "HEAD") + _git(
        "ls-files", "--others", "--exclude-standard"
    )
    return differing or _git("diff", "--name-only", "HEAD~1", "HEAD")


def closest(files: Iterable[str], top: Path = TOP) -> list[str]:
    """Return the paths of the test modules that these files may break, the closest first."""
    importers = _importers(top)
    modules = {_module(path): path for path in _sources(top)}
    near = set(_touched(files, modules))
    tests = {path for path in modules.values() if Path(path).name.startswith("test_")}
    stems = {Path(modules[name]).stem.removeprefix("test_") for name in near} - {"__init__"}
    stems |= {Path(path).stem for path in files if path.startswith("deploy/")}
    found = {path: 0 for path in tests if Path(path).stem.removeprefix("test_") in stems}
    distance, seen = 0, set(near)
    while near:
        for path in tests.intersection(modules[name] for name in near):
            if distance == 0 or not path.startswith(LONG):
                found.setdefault(path, distance)
        near = {one for name in near for one in importers[name]} - seen
        seen |= near
        distance += 1
    return sorted(found, key=lambda path: (found[path], path))


def _git(*words: str) -> list[str]:
    done = subprocess.run(
        ["git", *words], cwd=TOP, capture_output=True, text=True, check=True, timeout=60
    )
    return done.stdout.split("\n")[:-1]


def _sources(top: Path) -> Iterator[str]:
    for root in ROOTS:
        for path in sorted((top / root).rglob("*.py")):
            yield path.relative_to(top).as_posix()


def _module(path: str) -> str:
    return path.removesuffix(".py").removesuffix("/__init__").replace("/", ".")


def _importers(top: Path) -> defaultdict[str, set[str]]:
    """Return for each module those that import it; a package's own imports are its modules' too."""
    found = defaultdict[str, set[str]](set)
    for path in _sources(top):
        for node in ast.walk(ast.parse((top / path).read_text(encoding="utf-8"))):
            if isinstance(node, ast.Import):
                names = [alias.name for alias in node.names]
            elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
                names = [node.module, *(f"{node.module}.{alias.name}" for alias in node.names)]
            else:
                continue
            for name in names:
                found[name].add(_module(path))
    return found


def _touched(files: Iterable[str], modules: dict[str, str]) -> Iterator[str]:
    """Return the modules that the files are or, where they are no Python, belong to."""
    paths = set(modules.values())
    for path in files:
        if Path(path).name == "conftest.py":
            yield from (_module(each) for each in paths if Path(path).parent in Path(each).parents)
        elif path in paths:
            yield _module(path)
        elif not path.endswith((".py", ".md")) and path.startswith(ROOTS):
            folder = Path(path).parent
            while folder != Path() and not any(Path(each).parent == folder for each in paths):
                folder = folder.parent
            if folder.parts[1:]:
                yield from (_module(each) for each in paths if Path(each).parent == folder)


if __name__ == "__main__":
    sys.stdout.writelines(f"{path}\n" for path in closest(sys.argv[1:] or changed()))
