"""The base of all fields of the wire contract."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, ClassVar, Generic, TypeVar

from marshmallow import ValidationError, fields

from service.domain.errors import Fault

T = TypeVar("T")
Shape = Mapping[str, object]


class WireField(fields.Field[T], Generic[T]):
    """A field read by one function of its value; `shape` is its JSON Schema.

    `means` is what the contract says of the field.
    """

    shape: ClassVar[Shape] = {}

    def __init__(self, *, means: str = "", **kwargs: Any) -> None:
        super().__init__(metadata={"description": means} if means else None, **kwargs)

    def read(self, value: Any) -> T:
        """Return the value of a field that is present and not null.

        Raises:
            ValidationError: it cannot be read; carries the faults.
        """
        raise NotImplementedError

    def json_shape(self) -> dict[str, object]:
        """Return the JSON Schema (2020-12) of this field, without required or null."""
        return dict(self.shape)

    def make_error(self, key: str, **kwargs: Any) -> ValidationError:
        """Return an error that names a missing or null field, so that it reads on its own."""
        if key in ("required", "null"):
            return missing_field(self)
        return super().make_error(key, **kwargs)

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> T:
        return self.read(value)


def missing_field(field: fields.Field[Any]) -> ValidationError:
    """Return the error for a document in which `field` is missing or null."""
    name = (field.data_key or field.name or "this").replace("_", " ")
    return ValidationError([Fault("", "missing_field", f"{name} is missing; it is needed here")])
