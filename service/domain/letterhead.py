"""How a shop names itself to its customers: on its papers and on the quote form."""

from __future__ import annotations

from service.domain.value import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Letterhead:
    """A shop's address, where it is reached, when it is open, its terms and its logo.

    `logo` is a data URL (RFC 2397) of an SVG or PNG image; every text may be empty.
    """

    address: tuple[str, ...] = ()
    telephone: str = ""
    email: str = ""
    website: str = ""
    hours: tuple[str, ...] = ()
    terms: str = ""
    logo: str = ""
