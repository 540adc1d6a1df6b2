"""Value objects: frozen for the type checker, and made without the price of it.

The generated `__init__` of a frozen dataclass sets each field through `object.__setattr__`, which
makes such an object three times as dear as a plain one (of four fields, 0.69 µs against 0.19 µs on
CPython 3.11), and an estimate makes some hundreds. That nothing here is changed once made is what
mypy sees to: to it this is `dataclasses.dataclass` itself. At run time the class is a plain one
with the same equality and hash.

Where the calculation is compiled, a generated `__init__` stays one of Python's; the few classes
that an estimate makes by the dozen write theirs out (`init=False`, each field `Final`), which is
four times as fast there.

>>> @dataclass(frozen=True, slots=True)
... class Pair:
...     one: int
...     other: int
>>> {Pair(1, 2): "found"}[Pair(1, 2)]
'found'
"""

from __future__ import annotations

from typing import TYPE_CHECKING

__all__ = ["dataclass"]

if TYPE_CHECKING:
    from dataclasses import dataclass
else:
    import dataclasses

    def dataclass(cls=None, /, *, frozen=False, eq=True, unsafe_hash=False, **options):
        """`dataclasses.dataclass`, with `frozen` left to the type checker."""
        hashed = unsafe_hash or (frozen and eq)
        return dataclasses.dataclass(cls, eq=eq, unsafe_hash=hashed, **options)
