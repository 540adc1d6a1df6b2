"""Value objects: frozen for the type checker, without the run-time cost.

The generated `__init__` of a frozen dataclass sets each field through `object.__setattr__`, which
makes construction three times as expensive (with four fields, 0.69 µs against 0.19 µs on CPython
3.11), and an estimate creates hundreds of objects. Mypy enforces immutability, since it sees
`dataclasses.dataclass` itself; at run time the class is mutable, with the same equality and hash.

When the calculation is compiled, a generated `__init__` stays interpreted; the few classes that an
estimate instantiates by the dozen write theirs out (`init=False`, each field `Final`), which is
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
        """Return `dataclasses.dataclass` applied with `frozen` left to the type checker."""
        hashed = unsafe_hash or (frozen and eq)
        return dataclasses.dataclass(cls, eq=eq, unsafe_hash=hashed, **options)
