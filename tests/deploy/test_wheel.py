"""The wheel, plain and compiled: built in an environment made for it alone, run in an empty one.

So a package that the build needs and does not name cannot come from the environment of the tests.
On the Python that runs the tests and, where the machine has one, on a newer one.
"""

from __future__ import annotations

import ast
import os
import re
import shutil
import subprocess
import sys
import tomllib
from importlib.metadata import packages_distributions
from pathlib import Path

import pytest

TOP = Path(__file__).parents[2]
SOURCES = ("service", "schemas", "migrations")
NEWER = ("3.14", "3.13", "3.12")
COMPILE = {"HATCH_BUILD_HOOKS_ENABLE": "1"}
SECONDS = 1800
WHERE = "import service.domain.jobs.sizes as one; print(one.__file__)"


def _ran(folder: Path, *words: str | Path, **told: str) -> str:
    """What a command prints in a folder outside the sources, with nothing of this environment."""
    kept = {
        name: os.environ[name] for name in os.environ if not name.startswith(("PYTHON", "HATCH"))
    }
    kept.pop("VIRTUAL_ENV", None)
    done = subprocess.run(
        [*map(str, words)],
        cwd=folder,
        env={**kept, **told},
        capture_output=True,
        text=True,
        check=False,
        timeout=SECONDS,
    )
    assert done.returncode == 0, f"{done.stdout[-4000:]}\n{done.stderr[-4000:]}"
    return done.stdout


def _runs(python: str | Path) -> bool:
    try:
        subprocess.run([python, "-c", "import venv, ensurepip"], check=True, capture_output=True)
    except (OSError, subprocess.CalledProcessError):
        return False
    return True


def _newer() -> str:
    """A Python newer than this one: by its name, or among those that pyenv keeps."""
    this = f"{sys.version_info.major}.{sys.version_info.minor}"
    places: list[Path] = []
    if pyenv := shutil.which("pyenv"):
        root = subprocess.run([pyenv, "root"], check=True, capture_output=True, text=True).stdout
        places = [*Path(root.strip(), "versions").glob("*/bin")]
    for version in NEWER[: NEWER.index(this)] if this in NEWER else NEWER:
        for python in (f"python{version}", *(place / f"python{version}" for place in places)):
            if _runs(python):
                return str(python)
    pytest.skip(f"no Python newer than {this} on this machine: the wheel was not tried on one")


@pytest.fixture(scope="module", params=["this", "newer"])
def python(request: pytest.FixtureRequest) -> str:
    return sys.executable if request.param == "this" else _newer()


def _environment(python: str, place: Path) -> Path:
    """The folder of programs of a new, empty environment."""
    _ran(place.parent, python, "-m", "venv", place)
    return place / "bin"


def _imported(path: Path) -> set[str]:
    """The modules that a source file names in its imports, wherever they stand."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.module:
            found |= {node.module, *(f"{node.module}.{alias.name}" for alias in node.names)}
    return found


def test_the_compiled_build_names_every_package_that_its_modules_import() -> None:
    """Mypyc reads all that they import, one after the other, in the build's own environment."""
    project = tomllib.loads((TOP / "pyproject.toml").read_text(encoding="utf-8"))
    hook = project["tool"]["hatch"]["build"]["targets"]["wheel"]["hooks"]["mypyc"]
    waiting = {path for pattern in hook["include"] for path in TOP.glob(pattern)}
    seen: set[Path] = set()
    outside: set[str] = set()
    while waiting:
        seen.add(path := waiting.pop())
        for name in _imported(path):
            stem = TOP.joinpath(*name.split("."))
            near = {stem.with_suffix(".py"), stem / "__init__.py"}
            waiting |= {each for each in near if each.exists()} - seen
            outside.add(name.partition(".")[0])
    distributions = packages_distributions()
    names = outside - {*sys.stdlib_module_names, *SOURCES}
    needed = {distributions[name][0].lower() for name in names}
    assert {"marshmallow", "orjson", "pint", "python-stdnum"} <= needed
    bounds = {each for each in project["project"]["dependencies"] if _name(each) in needed}
    assert len(bounds) == len(needed)
    assert bounds <= {*hook["dependencies"]}


def _name(requirement: str) -> str:
    return re.split(r"[^a-z0-9-]", requirement.lower())[0]


@pytest.mark.slow
@pytest.mark.parametrize("compiled", [False, True], ids=["plain", "compiled"])
def test_the_wheel_is_built_and_installed_from_nothing(
    python: str, compiled: bool, tmp_path: Path
) -> None:
    if compiled and shutil.which("cc") is None:
        pytest.skip("no C compiler: the compiled wheel was not tried")
    sources, wheels, outside = (tmp_path / name for name in ("sources", "wheels", "outside"))
    sources.mkdir()
    outside.mkdir()
    for name in SOURCES:
        shutil.copytree(TOP / name, sources / name, ignore=shutil.ignore_patterns("__pycache__"))
    for name in ("README.md", "pyproject.toml"):
        shutil.copy(TOP / name, sources)

    build = _environment(python, tmp_path / "build")
    told = COMPILE if compiled else {}
    _ran(outside, build / "pip", "wheel", "--no-deps", "--wheel-dir", wheels, sources, **told)
    (wheel,) = wheels.iterdir()
    assert wheel.name.endswith("-none-any.whl") is not compiled
    shutil.copy(sources / "service" / "demo" / "jobs" / "harbour_etching.json", outside)
    shutil.rmtree(sources)

    empty = _environment(python, tmp_path / "empty")
    _ran(outside, empty / "pip", "install", wheel)
    assert "330.44" in _ran(outside, empty / "framing-quotes", "estimate", "harbour_etching.json")
    assert _ran(outside, empty / "python", "-c", WHERE).strip().endswith(".so") is compiled
    _ran(outside, empty / "framing-quotes", "migrate")
    _ran(outside, empty / "framing-quotes", "load-demo")
