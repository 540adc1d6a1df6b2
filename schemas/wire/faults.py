"""Converts marshmallow's nested messages to a flat list of faults with RFC 6901 pointers.

All faults of a document are reported at once, in document order, up to `MOST_FAULTS`: a framer
corrects a form once, and a document full of mistakes costs no more to refuse than any other.
"""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from marshmallow import ValidationError
from marshmallow.exceptions import SCHEMA

from service.domain.errors import Fault

MOST_FAULTS = 100


def escape(token: str) -> str:
    """Return one reference token of a JSON pointer (RFC 6901, section 3)."""
    return token.replace("~", "~0").replace("/", "~1")


def _unescape(token: str) -> str:
    return token.replace("~1", "/").replace("~0", "~")


def refusal(code: str, detail: str, pointer: str = "") -> ValidationError:
    """Return the error that refuses the current value: a stable code and a sentence."""
    return ValidationError([Fault(pointer, code, detail)])


@dataclass(frozen=True, slots=True)
class UnknownField:
    """An unknown field; its message is built late, since finding close matches is slow."""

    name: str
    known: tuple[str, ...]

    def fault(self, pointer: str) -> Fault:
        """Return the fault in words, with the nearest known name if there is a close one."""
        shown = self.name if len(self.name) <= 40 else self.name[:40] + "…"
        near = difflib.get_close_matches(self.name[:80], self.known, n=1, cutoff=0.7)
        if near:
            hint = f"; did you mean {near[0]}?"
        elif len(self.known) <= 12:
            hint = f"; the fields here are {', '.join(self.known)}"
        else:
            hint = ""
        return Fault(pointer, "unknown_field", f"{shown} is not a field here{hint}")


_Found = tuple[str, "Fault | UnknownField | str"]


def faults_in(messages: object, document: object) -> tuple[Fault, ...]:
    """Return the faults in marshmallow's messages, in the order of `document`.

    Args:
        messages: `ValidationError.messages`: nested mappings and lists whose leaves are texts,
            `Fault`s (with relative pointers) or `UnknownField`s.
        document: what was loaded, for the order.

    Returns:
        At most `MOST_FAULTS`, and then one more that says how many were left out.
    """
    found = list(_flat(messages, ""))
    place = _Places(document)
    found.sort(key=lambda each: place.of(each[0]))
    told = tuple(_spelled(pointer, message) for pointer, message in found[:MOST_FAULTS])
    return told + _more(len(found) - MOST_FAULTS)


def limited(faults: Sequence[Fault]) -> tuple[Fault, ...]:
    """Return at most `MOST_FAULTS`, and then one more that says how many were left out."""
    if len(faults) <= MOST_FAULTS + 1:  # the last of them may count already
        return tuple(faults)
    return (*faults[:MOST_FAULTS], *_more(len(faults) - MOST_FAULTS))


def _more(left_out: int) -> tuple[Fault, ...]:
    if left_out <= 0:
        return ()
    more = f"{left_out} more faults are left out; correct these first"
    return (Fault("", "more_faults", more),)


def _flat(messages: object, pointer: str) -> Iterator[_Found]:
    if isinstance(messages, Mapping):
        for key, inner in messages.items():
            below = pointer if key == SCHEMA else f"{pointer}/{escape(str(key))}"
            yield from _flat(inner, below)
    elif isinstance(messages, Fault):
        yield pointer + messages.pointer, messages
    elif isinstance(messages, UnknownField):
        yield f"{pointer}/{escape(messages.name)}", messages
    elif isinstance(messages, str):
        yield pointer, messages
    elif isinstance(messages, Iterable):
        for inner in messages:
            yield from _flat(inner, pointer)


def _spelled(pointer: str, message: Fault | UnknownField | str) -> Fault:
    if isinstance(message, UnknownField):
        return message.fault(pointer)
    if isinstance(message, Fault):
        return Fault(pointer, message.code, message.detail)
    return Fault(pointer, "bad_value", message)


class _Places:
    """The position of a pointer in a document, as a sortable key; missing fields come last."""

    def __init__(self, document: object) -> None:
        self._document = document
        self._orders: dict[int, dict[str, int]] = {}

    def of(self, pointer: str) -> tuple[int, ...]:
        """Return the positions along the way to `pointer`."""
        places: list[int] = []
        here = self._document
        for token in pointer.split("/")[1:]:
            place, here = self._step(here, _unescape(token))
            places.append(place)
        return tuple(places)

    def _step(self, here: object, token: str) -> tuple[int, object]:
        if isinstance(here, Mapping):
            order = self._orders.get(id(here))
            if order is None:
                order = {str(key): place for place, key in enumerate(here)}
                self._orders[id(here)] = order
            return order.get(token, len(order)), here.get(token)
        if isinstance(here, (list, tuple)) and token.isascii() and token.isdigit():
            position = int(token[:9])
            return position, here[position] if position < len(here) else None
        return 0, None
