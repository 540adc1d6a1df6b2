"""Quote numbers: short enough to read over a telephone, with a digit that catches slips.

A number is "Q", the shop's running serial and a check digit by Damm's rule, which finds every
single wrong digit and every swap of two neighbours (H. M. Damm, Total anti-symmetrische
Quasigruppen, 2004). Serials start at 10001, so that all numbers have at least six digits.

A misread number must not find another customer's quote: a wrong check digit is refused.

>>> quote_number(10001), quote_number(57283)
('Q100014', 'Q572835')
>>> read_number(" q1000 14 "), read_number("QlOOO14")
(10001, 10001)
>>> read_number("Q100041")
Traceback (most recent call last):
    ...
service.domain.errors.NotFound: Q100041 was misread: its check digit does not fit; read it again
"""

from __future__ import annotations

from functools import lru_cache

from stdnum import damm

from service.domain.errors import BadValue, NotFound

FIRST_SERIAL = 10_001
LONGEST = 18
_LOOKALIKES = str.maketrans({"O": "0", "I": "1", "L": "1", " ": "", "-": "", "\u00a0": ""})


@lru_cache(maxsize=4_096)
def quote_number(serial: int) -> str:
    """The number for a serial.

    Raises:
        BadValue: a serial of fewer than five digits; none is ever given out.
    """
    if serial < FIRST_SERIAL:
        raise BadValue("serials of quotes start at 10001", facts={"serial": str(serial)})
    return f"Q{serial}{damm.calc_check_digit(str(serial))}"


def looks_like_number(text: str) -> bool:
    """Whether a text is meant as a quote number, right or wrong, and not as an identifier."""
    return _plain(text) is not None


def read_number(text: str) -> int:
    """The serial of a number as people type it: spaces, lower case and O for 0 are put right.

    Raises:
        NotFound: not a quote number, or one with a wrong digit in it.
    """
    digits = _plain(text)
    if digits is None:
        raise NotFound(f'"{text[:40]}" is not a quote number; it reads like Q100014')
    if not damm.is_valid(digits):
        raise NotFound(f"Q{digits} was misread: its check digit does not fit; read it again")
    serial = int(digits[:-1])
    if serial < FIRST_SERIAL:
        raise NotFound(
            f"there is no quote Q{digits}; the first one is {quote_number(FIRST_SERIAL)}"
        )
    return serial


def _plain(text: str) -> str | None:
    """The digits of what is meant as a number, or None."""
    if len(text) > 3 * LONGEST:
        return None
    shown = text.upper().translate(_LOOKALIKES)
    digits = shown[1:] if shown[:1] == "Q" else ""
    if not 6 <= len(digits) <= LONGEST or not (digits.isascii() and digits.isdigit()):
        return None
    return None if digits[0] == "0" else digits
