"""Small faults put into the rules of the trade, one at a time: which ones do the tests not notice?

    python -m tests.bench.mutants [MODULE ...]

takes each module of `OWN_TESTS` (or those named, such as `use`), changes one operator, comparison,
condition or number, and runs the module's own tests and then the golden ones until one fails. It
prints the faults that none found, and ends with 1 where fewer than 95 % of a module's were found.
Each fault is tried in a fork of one process that has the libraries loaded; nothing is written.
"""

from __future__ import annotations

import ast
import importlib.util
import os
import signal
import sys
from collections.abc import Iterator, Sequence
from copy import deepcopy
from importlib.abc import Loader, MetaPathFinder
from importlib.machinery import ModuleSpec
from pathlib import Path
from types import ModuleType

import pytest

TOP = Path(__file__).parents[2]
GOLDEN = "tests/golden"
OWN_TESTS = {
    "service.domain.jobs.sizes": ("tests/domain/jobs/test_sizes.py",),
    "service.domain.prices.lines": ("tests/domain/prices/test_lines.py",),
    "service.domain.labour.standard": (
        "tests/domain/labour/test_standard.py",
        "tests/domain/labour/test_multiplier.py",
    ),
    "service.domain.jobs.takeoff": ("tests/domain/jobs/test_takeoff.py",),
    "service.domain.jobs.use": ("tests/domain/jobs/test_use.py",),
    "service.domain.prices.tax": ("tests/domain/prices/test_tax.py",),
    "service.domain.measure.money": ("tests/domain/measure/test_money.py",),
    "service.domain.measure.parse": ("tests/domain/measure/test_parse.py",),
    "service.domain.tickets.make": ("tests/domain/tickets",),
    "service.domain.tickets.pieces": ("tests/domain/tickets",),
}
LIBRARIES = ("hypothesis.strategies", "pint", "sqlalchemy", "alembic.command", "marshmallow")
LEAST = 0.95
SECONDS = 300
"""A fault that keeps the tests busy for longer counts as found."""
OTHERS: dict[type[ast.AST], type[ast.AST]] = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Add,
    ast.Div: ast.Mult,
    ast.FloorDiv: ast.Mult,
    ast.Mod: ast.Mult,
    ast.And: ast.Or,
    ast.Or: ast.And,
}


class Mutant(MetaPathFinder, Loader):
    """Gives one module out with other code than its file has."""

    def __init__(self, name: str, tree: ast.Module) -> None:
        self._name, self._tree = name, tree

    def find_spec(self, name: str, *_: object) -> ModuleSpec | None:
        """Take over the one module."""
        path = _path(name) if name == self._name else None
        return path and importlib.util.spec_from_file_location(name, path, loader=self)

    def exec_module(self, module: ModuleType) -> None:
        """Run the changed code."""
        exec(compile(self._tree, f"<fault in {self._name}>", "exec"), module.__dict__)  # noqa: S102 — our own code


def _path(name: str) -> Path:
    return TOP / f"{name.replace('.', '/')}.py"


def _nodes(tree: ast.Module) -> list[ast.AST]:
    """Return the nodes of what is done: no annotations, no arguments of what is raised."""
    found: list[ast.AST] = []

    def walk(node: ast.AST) -> None:
        found.append(node)
        for name, value in ast.iter_fields(node):
            if name in ("annotation", "returns", "decorator_list") or isinstance(node, ast.Raise):
                continue
            for child in value if isinstance(value, list) else [value]:
                if isinstance(child, ast.AST):
                    walk(child)

    walk(tree)
    return found


def faults(tree: ast.Module) -> Iterator[tuple[str, ast.Module]]:
    """Return every fault: its line with what is changed there, and the module that has it."""
    for position, node in enumerate(_nodes(tree)):
        for said in _changes(node):
            changed = deepcopy(tree)
            _change(_nodes(changed)[position])
            yield said, ast.fix_missing_locations(changed)


def _changes(node: ast.AST) -> Iterator[str]:
    line = getattr(node, "lineno", 0)
    if isinstance(node, ast.BinOp | ast.BoolOp) and type(node.op) in OTHERS:
        yield f"{line}: {type(node.op).__name__} in {ast.unparse(node)}"
    elif isinstance(node, ast.Compare) and type(node.ops[0]) in OTHERS:
        yield f"{line}: {type(node.ops[0]).__name__} in {ast.unparse(node)}"
    elif isinstance(node, ast.UnaryOp) and isinstance(node.op, ast.Not | ast.USub):
        yield f"{line}: {ast.unparse(node)} without its sign"
    elif isinstance(node, ast.If | ast.IfExp | ast.While):
        yield f"{line}: the contrary of {ast.unparse(node.test)}"
    elif isinstance(node, ast.Constant) and type(node.value) is int:
        yield f"{line}: {node.value} and one more"


def _change(node: ast.AST) -> None:
    if isinstance(node, ast.BinOp | ast.BoolOp):
        node.op = OTHERS[type(node.op)]()  # type: ignore[assignment]
    elif isinstance(node, ast.Compare):
        node.ops[0] = OTHERS[type(node.ops[0])]()  # type: ignore[call-overload]
    elif isinstance(node, ast.UnaryOp):
        node.op = ast.UAdd()
        if not isinstance(node.operand, ast.Constant):
            node.operand = ast.Call(ast.Name("abs", ast.Load()), [node.operand], [])
    elif isinstance(node, ast.If | ast.IfExp | ast.While):
        node.test = ast.UnaryOp(ast.Not(), node.test)
    elif isinstance(node, ast.Constant):
        node.value += 1  # type: ignore[operator]


def found_by(name: str, tree: ast.Module, tests: Sequence[str]) -> bool:
    """Return whether a test fails, in a process of its own."""
    child = os.fork()
    if not child:
        signal.alarm(SECONDS)
        quiet = os.open(os.devnull, os.O_WRONLY)
        os.dup2(quiet, 1)
        os.dup2(quiet, 2)
        sys.meta_path.insert(0, Mutant(name, tree))
        words = ["-x", "-n", "0", "-p", "no:cacheprovider", *tests]
        words += ["-W", "ignore::pytest.PytestAssertRewriteWarning"]  # hypothesis is loaded already
        os._exit(int(pytest.main(words)) != pytest.ExitCode.OK)
    return os.waitpid(child, 0)[1] != 0


def main(wanted: Sequence[str]) -> int:
    """Try every fault of every module; 1 where too few are found."""
    os.chdir(TOP)
    for library in LIBRARIES:
        importlib.import_module(library)
    too_few = False
    for name, own in OWN_TESTS.items():
        if wanted and name.rsplit(".", 1)[1] not in wanted:
            continue
        tree = ast.parse(_path(name).read_text(encoding="utf-8"))
        if found_by(name, tree, own):
            raise SystemExit(f"the tests of {name} fail without any fault")
        alive, count = [], 0
        for said, changed in faults(tree):
            count += 1
            if not (found_by(name, changed, own) or found_by(name, changed, [GOLDEN])):
                alive.append(said)
        share = 1 - len(alive) / count
        too_few |= share < LEAST
        print(f"{name}: {share:.1%} of {count} faults found")
        print("".join(f"  not found, line {said}\n" for said in alive), end="", flush=True)
    return int(too_few)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
