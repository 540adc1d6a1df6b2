"""Whole documents: objects of known fields that load to domain objects.

`read` is the entry point: it sets the document's unit, loads, and turns every refusal into
`JobRefused` with faults that point into the document.

A `Document` is an ordinary marshmallow schema, which finds every error of a document. Most
documents have none, and then its bookkeeping is wasted, so `load` first tries one plain pass over
the fields (`quick`), and falls back to marshmallow at the first irregularity. Tests check that both
give the same results.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, ClassVar, NamedTuple, TypeVar

from marshmallow import RAISE, Schema, ValidationError, fields, missing, post_load
from marshmallow.exceptions import SCHEMA

from schemas.wire.base import WireField, missing_field
from schemas.wire.faults import UnknownField, faults_in, refusal
from schemas.wire.fields import OneOf
from schemas.wire.lengths import DOCUMENT_UNIT, UNITS
from service.domain.errors import DomainError, Fault, JobRefused

D = TypeVar("D", bound="Document")
_Field = fields.Field[Any]
_MESSAGES = {"type": "this is a group of fields, in braces"}


class _Plan(NamedTuple):
    """The plan for reading a document the quick way.

    `readers` maps each wire name to the name of its value, its reader and its field; `never_absent`
    are the fields that are required, or have a default of their own.
    """

    readers: dict[str, tuple[str, Callable[[Any], Any], _Field]]
    never_absent: list[tuple[str, str, _Field]]


class Document(Schema):
    """An object of these fields and no others.

    Subclasses set `makes` to the callable that takes the loaded fields by name. Omitted fields are
    not passed, so that the domain's default applies and is defined in one place.
    """

    class Meta:
        """An unknown field is a fault: a typing error must not silently become a default."""

        unknown = RAISE

    error_messages = _MESSAGES
    makes: ClassVar[Callable[..., Any] | None] = None
    hooked: ClassVar[bool] = False

    def __init_subclass__(cls, **kwargs: Any) -> None:
        """Detect marshmallow hooks in a subclass, which disable the quick way."""
        super().__init_subclass__(**kwargs)
        own = [value for name, value in vars(cls).items() if name != "_made"]
        cls.hooked = cls.hooked or any(hasattr(value, "__marshmallow_hook__") for value in own)

    def make(self, values: dict[str, Any]) -> Any:
        """Return the object made of the loaded fields; the fields themselves without `makes`.

        Raises:
            DomainError: the domain refuses them; its pointers use the domain's names.
        """
        makes = type(self).makes
        return values if makes is None else makes(**values)

    def load(self, data: Any, *, many: Any = None, partial: Any = None, unknown: Any = None) -> Any:
        """Load one document, the quick way if nothing is wrong."""
        if not self.hooked and not many and partial is None and unknown in (None, RAISE):
            try:
                return self.quick(data)
            except (ValidationError, DomainError):
                pass  # something is wrong: let marshmallow find all of it
        return super().load(data, many=many, partial=partial, unknown=unknown)

    def quick(self, data: Any) -> Any:
        """Return the result of one pass that stops at the first irregularity.

        Raises:
            ValidationError, DomainError: there is one; there may be more.
        """
        if type(data) is not dict:
            raise refusal("bad_value", self.error_messages["type"])
        plan = self._plan()
        readers, values = plan.readers, {}
        for key, value in data.items():
            reader = readers.get(key)
            if reader is None:
                raise refusal("unknown_field", "there is a field that is not known here")
            name, read, field = reader
            if value is not None:
                values[name] = read(value)
            elif field.allow_none:
                values[name] = None
            else:
                raise missing_field(field)
        for key, name, field in plan.never_absent:
            if key not in data:
                if field.required:
                    raise missing_field(field)
                default = field.load_default
                values[name] = default() if callable(default) else default
        return self.make(values)

    def _plan(self) -> _Plan:
        plan: _Plan | None = self.__dict__.get("_planned")
        if plan is None:
            known = [(f.data_key or n, f.attribute or n, f) for n, f in self.load_fields.items()]
            plan = self.__dict__["_planned"] = _Plan(
                {key: (name, _reader(field), field) for key, name, field in known},
                [(key, name, field) for key, name, field in known if not _spare(field)],
            )
        return plan

    @post_load
    def _made(self, values: dict[str, Any], **_: Any) -> Any:
        try:
            return self.make(values)
        except DomainError as error:
            told = [self._on_the_wire(fault) for fault in error.faults()]
            raise ValidationError(told) from error

    def _on_the_wire(self, fault: Fault) -> Fault:
        """Return the fault with its pointer in wire names, if they differ from the domain's."""
        first, *rest = fault.pointer.split("/")[1:] or [""]
        for name, field in self.fields.items():
            if first == (field.attribute or name):
                pointer = "/".join(["", field.data_key or name, *rest])
                return Fault(pointer, fault.code, fault.detail)
        return fault

    def handle_error(self, error: ValidationError, data: Any, **_: Any) -> None:
        """Name the unknown fields; marshmallow reports only that there are some."""
        if not isinstance(data, Mapping) or not isinstance(error.messages, dict):
            return
        known = tuple(field.data_key or name for name, field in self.load_fields.items())
        unknown = [UnknownField(str(key), known) for key in data if key not in known]
        for field in unknown:
            error.messages.pop(field.name, None)
        if unknown:
            error.messages[SCHEMA] = [*error.messages.get(SCHEMA, ()), *unknown]


def _spare(field: fields.Field[Any]) -> bool:
    """Return True if a field may be omitted and then has no value."""
    return not field.required and field.load_default is missing


def _reader(field: fields.Field[Any]) -> Callable[[Any], Any]:
    """Return the function that reads a field's value in the quick way."""
    if field.validators or field.pre_load or field.post_load:
        return field.deserialize
    if isinstance(field, Part) and not field.document.hooked:
        return field.document.quick
    if isinstance(field, (WireField, Several)):
        return field.read
    return field.deserialize


class Part(fields.Nested):
    """A document within a document."""

    def __init__(
        self, nested: type[Document] | Callable[[], Document], *, means: str = "", **kwargs: Any
    ) -> None:
        super().__init__(nested, metadata={"description": means} if means else None, **kwargs)

    @property
    def document(self) -> Document:
        """The schema of the part."""
        schema = self.schema
        if not isinstance(schema, Document):
            raise TypeError(f"{self.name} is made of {schema}, which is not a Document")
        return schema

    def make_error(self, key: str, **kwargs: Any) -> ValidationError:
        """Return an error that names a missing or null part, as for every field."""
        return missing_field(self) if key in ("required", "null") else super().make_error(key)


class Several(fields.List[Any]):
    """A list of parts or fields, loaded to a tuple; of limited length."""

    def __init__(
        self,
        inner: fields.Field[Any],
        *,
        least: int = 0,
        most: int = 100,
        means: str = "",
        **kwargs: Any,
    ) -> None:
        super().__init__(inner, metadata={"description": means} if means else None, **kwargs)
        self.least, self.most = least, most
        self._read_one: Callable[[Any], Any] | None = None

    def make_error(self, key: str, **kwargs: Any) -> ValidationError:
        """Return an error that names a missing or null list, as for every field."""
        return missing_field(self) if key in ("required", "null") else super().make_error(key)

    def read(self, value: Any) -> tuple[Any, ...]:
        """Return the list, stopping at the first irregularity."""
        self._right_length(value)
        # Resolved on first use: only then does the field know its schema.
        read = self._read_one
        if read is None:
            read = self._read_one = _reader(self.inner)
        if None in value:
            raise refusal("missing_field", "a list has no empty places")
        return tuple([read(each) for each in value])

    def _right_length(self, value: Any) -> None:
        # marshmallow's own list would accept an object as the list of its keys.
        if type(value) is not list and type(value) is not tuple:
            raise refusal("bad_value", "this is a list, in square brackets")
        if not self.least <= len(value) <= self.most:
            raise refusal(
                "bad_value", f"this takes {self.least} to {self.most} entries, and has {len(value)}"
            )

    def _deserialize(self, value: Any, attr: Any, data: Any, **kwargs: Any) -> Any:
        self._right_length(value)
        return tuple(super()._deserialize(value, attr, data, **kwargs))


class Resource(Document):
    """A top-level document that may state the unit of its bare lengths."""

    units = OneOf(
        UNITS,
        load_only=True,
        means="The unit of lengths without one. Default: the unit of the shop's ruler.",
    )

    def make(self, values: dict[str, Any]) -> Any:
        """Return the object as for any document, without the unit, which has been applied."""
        values.pop("units", None)
        return super().make(values)


def read(schema: Document, document: object, *, unit: str = "in") -> Any:
    """Return the loaded document, bare lengths in its own `units` or, without them, in `unit`.

    Raises:
        JobRefused: with every fault found.
    """
    own = document.get("units") if isinstance(document, Mapping) else None
    token = DOCUMENT_UNIT.set(own if own in UNITS else unit)
    try:
        return schema.load(document)
    except ValidationError as error:
        raise JobRefused(faults_in(error.messages, document)) from error
    finally:
        DOCUMENT_UNIT.reset(token)
