"""The apprentice shares no code with the making: only the press and the orders may know it."""

from __future__ import annotations

import ast
import sys
from pathlib import Path

import pytest

HERE = Path(__file__).parent
PRESS = {"press.py", "jobs.py", "long.py"}
OUTSIDE = {"hypothesis", "pdfplumber", "pytest", "orjson"}
"""Libraries; the tests may use the random orders."""


def imported(path: Path) -> set[str]:
    """Return the modules that a file imports, anywhere in it."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert not node.level, f"{path.name} has a relative import"
            found |= {f"{node.module}.{alias.name}" for alias in node.names}
        elif isinstance(node, ast.Call) and getattr(node.func, "id", "") == "__import__":
            found.add("__import__")
    return found


def allowed(module: str) -> bool:
    top = module.partition(".")[0]
    if top in sys.stdlib_module_names:
        return top != "importlib"
    own = module.startswith("tests.apprentice.")
    return top in OUTSIDE or (own and module.split(".")[2] not in ("press", "jobs"))


@pytest.mark.parametrize(
    "path",
    [path for path in sorted(HERE.glob("*.py")) if path.name not in PRESS],
    ids=lambda path: path.name,
)
def test_the_apprentice_imports_nothing_of_the_making(path):
    modules = imported(path)
    if path.name.startswith("test_"):
        modules = {m for m in modules if not m.startswith(("tests.apprentice", "tests.proofs"))}
    assert [module for module in sorted(modules) if not allowed(module)] == []


def test_this_test_would_notice_an_import_of_the_making():
    assert not allowed("service.domain.tickets.make")
    assert not allowed("schemas.jobs")
    assert not allowed("tests.apprentice.press.Printed")
    assert allowed("tests.apprentice.bench.Bench")
