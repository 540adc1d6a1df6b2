"""What every field of the wire contract has in common."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, ClassVar, Generic, TypeVar

from marshmallow import ValidationError, fields

from service.domain.errors import Fault

T = TypeVar("T")
Shape = Mapping[str, object]


class WireField(fields.Field[T], Generic[T]):
    """A field that is read by one function of its value; `shape` is its JSON Schema."""

    shape: ClassVar[Shape] = {}

    def read(self, value: Any) -> T:
        """The value of a field that is there and not null.

        Raises:
            ValidationError: it cannot be read; carries the faults.
        """
        raise NotImplementedError

    def json_shape(self) -> dict[str, object]:
        """The JSON Schema (2020-12) of this field, without its being required or null."""
        return dict(self.shape)

    def make_error(self, key: str, **kwargs: Any) -> ValidationError:
        """A missing or null field is named, so that the sentence stands by itself."""
        if key in ("required", "null"):
            return missing_field(self)
        return super().make_error(key, **kwargs)

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> T:
        return self.read(value)


def missing_field(field: fields.Field[Any]) -> ValidationError:
    """The refusal of a document in which `field` is not given, or is null."""
    name = (field.data_key or field.name or "this").replace("_", " ")
    return ValidationError([Fault("", "missing_field", f"{name} is missing; it is needed here")])
