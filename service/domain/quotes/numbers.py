"""Quote and ticket numbers: short enough to read over a telephone, with a check digit.

A number is a letter ("Q" for a quote, "T" for a ticket), the shop's running serial and a check
digit by Damm's algorithm, which detects every single wrong digit and every transposition of
neighbours (H. M. Damm, Total anti-symmetrische Quasigruppen, 2004). Serials start at 10001, so that
all numbers have at least six digits.

A misread number must not find another customer's quote: a wrong check digit is refused.

>>> quote_number(10001), quote_number(57283), ticket_number(10001)
('Q100014', 'Q572835', 'T100014')
>>> read_number(" q1000 14 "), read_number("QlOOO14")
(10001, 10001)
>>> read_number("Q100041")
Traceback (most recent call last):
    ...
service.domain.errors.NotFound: Q100041 was misread: its check digit does not fit; read it again
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from stdnum import damm

from service.domain.errors import BadValue, NotFound

FIRST_SERIAL = 10_001
LONGEST = 18
_LOOKALIKES = str.maketrans({"O": "0", "I": "1", "L": "1", " ": "", "-": "", "\u00a0": ""})


@dataclass(frozen=True, slots=True)
class Series:
    """One series of numbers: its letter, and what it numbers."""

    letter: str
    noun: str

    def number(self, serial: int) -> str:
        """Return the number for a serial.

        Raises:
            BadValue: a serial of fewer than five digits, which is never issued.
        """
        if serial < FIRST_SERIAL:
            raise BadValue(
                f"serials of {self.noun}s start at {FIRST_SERIAL}", facts={"serial": str(serial)}
            )
        return f"{self.letter}{serial}{damm.calc_check_digit(str(serial))}"

    def means(self, text: str) -> bool:
        """Return True if the text is meant as such a number, valid or not, rather than as an id."""
        return self._plain(text) is not None

    def read(self, text: str) -> int:
        """Return the serial of a typed number; corrects spaces, lower case and O for 0.

        Raises:
            NotFound: not such a number, or its check digit is wrong.
        """
        digits, first = self._plain(text), self.number(FIRST_SERIAL)
        if digits is None:
            raise NotFound(f'"{text[:40]}" is not a {self.noun} number; it reads like {first}')
        if not damm.is_valid(digits):
            raise NotFound(
                f"{self.letter}{digits} was misread: its check digit does not fit; read it again"
            )
        serial = int(digits[:-1])
        if serial < FIRST_SERIAL:
            raise NotFound(
                f"there is no {self.noun} {self.letter}{digits}; the first one is {first}"
            )
        return serial

    def _plain(self, text: str) -> str | None:
        """Return the digits of a text meant as a number, or None."""
        if len(text) > 3 * LONGEST:
            return None
        shown = text.upper().translate(_LOOKALIKES)
        digits = shown[1:] if shown[:1] == self.letter else ""
        if not 6 <= len(digits) <= LONGEST or not (digits.isascii() and digits.isdigit()):
            return None
        return None if digits[0] == "0" else digits


QUOTES = Series("Q", "quote")
TICKETS = Series("T", "ticket")


@lru_cache(maxsize=1_024)
def quote_number(serial: int) -> str:
    """Return the number of a quote.

    Raises:
        BadValue: a serial that is never issued.
    """
    return QUOTES.number(serial)


@lru_cache(maxsize=1_024)
def ticket_number(serial: int) -> str:
    """Return the number of a ticket.

    Raises:
        BadValue: a serial that is never issued.
    """
    return TICKETS.number(serial)


def read_number(text: str) -> int:
    """Return the serial of a quote number as typed.

    Raises:
        NotFound: not a quote number, or its check digit is wrong.
    """
    return QUOTES.read(text)
