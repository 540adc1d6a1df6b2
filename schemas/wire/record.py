"""The base of every document that goes out or is stored: an immutable record, described once.

A field is a type with its meaning: `quantity: Annotated[int, at_least(1, "Number of pieces.")]`.
The JSON writer, the reader and the JSON Schema all follow from it; `schemas.openapi.components`
makes the schema.

- Modules that define records are not compiled (see `include` in pyproject.toml): mypyc drops
  `frozen` without a word. Modules that build records may be compiled.
- A list of values is a tuple, so that a record is immutable as a whole.
- `| Unset = UNSET` stands outside of `Annotated[...]`. Such a field is left out if it is not given.
  Every field that is added after a release needs it, so that older documents can still be read.
- A pattern is published but not checked when a record is read, since the service wrote it itself.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Annotated, Any, TypeAlias, TypeVar, dataclass_transform

import msgspec
from msgspec import UNSET, Meta, Struct, UnsetType
from msgspec import field as named

__all__ = [
    "UNSET",
    "Annotated",
    "Record",
    "Unset",
    "at_least",
    "component",
    "doc",
    "encode",
    "extended",
    "growing",
    "named",
    "text",
]

Unset: TypeAlias = UnsetType
encode = msgspec.json.Encoder(enc_hook=dict).encode
"""Return a record, or what contains records, as JSON; keys are in the order of the fields.

A mapping that cannot be changed (`MappingProxyType`) is written as the object that it is."""


@dataclass_transform(frozen_default=True, field_specifiers=(msgspec.field,))
class Record(Struct, frozen=True, gc=False):
    """A document or a part of one; the docstring of a subclass is its description."""


R = TypeVar("R", bound=Record)


def extended(record: Record, kind: type[R], **more: object) -> R:
    """Return a record of a subclass of that of `record`, with `more` fields."""
    return kind(**msgspec.structs.asdict(record), **more)


def doc(words: str, **shape: Any) -> Meta:
    """Return the meaning of a field, and further keywords of its JSON Schema, if any."""
    return Meta(description=words, extra_json_schema=shape or None)


def text(words: str, pattern: str, *examples: str) -> Meta:
    """Return the meaning of a text that has a pattern, with examples."""
    return doc(words, pattern=pattern, **({"examples": [*examples]} if examples else {}))


def at_least(least: int, words: str) -> Meta:
    """Return the meaning of an integer that is never smaller than `least`."""
    return Meta(ge=least, description=words)


def growing(words: Iterable[str], meaning: str) -> Meta:
    """Return the meaning of a word of a set that later releases may extend."""
    return doc(meaning, **{"x-known-values": list(words)})


def component(name: str, words: str, pattern: str, *examples: str) -> Meta:
    """Return the mark of a kind of text that is a component of the contract by itself."""
    own = {"type": "string", "pattern": pattern, "description": words, "examples": [*examples]}
    return Meta(extra_json_schema={"x-component": name}, extra={"component": own})
