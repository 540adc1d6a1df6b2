"""What is told of a job in words: notes, and the condition in which it came in.

A note marked inside is for the shop alone and never reaches a customer's paper. The condition is
recorded with the shop's own terms, free words and photographs, which are kept elsewhere and named
by their address and digest. That a shop records it before it touches a piece is common practice,
no source.
"""

from __future__ import annotations

from service.domain.value import dataclass


@dataclass(frozen=True, slots=True)
class Note:
    """A note; `pointer` is the piece of the job that it is about, empty for the whole."""

    text: str
    inside: bool = True
    pointer: str = ""


@dataclass(frozen=True, slots=True)
class Photograph:
    """A photograph kept elsewhere: its https address and its SHA-256, in hexadecimal."""

    url: str
    sha256: str


@dataclass(frozen=True, slots=True)
class Finding:
    """One finding at intake: a term of the shop, its description, words and photographs."""

    code: str
    words: str = ""
    photographs: tuple[Photograph, ...] = ()
    description: str = ""
