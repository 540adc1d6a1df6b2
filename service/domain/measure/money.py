"""Exact money: a whole number of a currency's minor units.

The digits are those of ISO 4217 (held in a table here; the tests compare it with the published
list and with the CLDR). Money is never divided: it is rounded by a named rounding or split so that
no cent is lost.

>>> usd = Currency("USD")
>>> usd.of("184.50").text(), Currency("JPY").of("1200").text(), Currency("BHD").of("1.5").text()
('184.50', '1200', '1.500')
>>> [part.text() for part in usd.of("10.00").split(3)]
['3.34', '3.33', '3.33']
>>> usd.of("1.005")
Traceback (most recent call last):
    ...
service.domain.errors.BadMoney: 1.005 has more decimals than USD, which has 2
"""

from __future__ import annotations

import re
from decimal import Decimal, InvalidOperation
from fractions import Fraction
from functools import lru_cache
from typing import Final

from service.domain.errors import BadMoney
from service.domain.measure.rounding import half_up
from service.domain.value import dataclass

_NO_DIGITS = "BIF CLP DJF GNF ISK JPY KMF KRW PYG RWF UGX UYI VND VUV XAF XOF XPF"
_THREE_DIGITS = "BHD IQD JOD KWD LYD OMR TND"
_TWO_DIGITS = (
    "AED AFN ALL AMD AOA ARS AUD AWG AZN BAM BBD BDT BMD BND BOB BRL BSD BTN BWP BYN BZD CAD CDF "
    "CHF CNY COP CRC CUP CVE CZK DKK DOP DZD EGP ERN ETB EUR FJD FKP GBP GEL GHS GIP GMD GTQ GYD "
    "HKD HNL HTG HUF IDR ILS INR IRR JMD KES KGS KHR KPW KYD KZT LAK LBP LKR LRD LSL MAD MDL MKD "
    "MMK MNT MOP MUR MVR MWK MXN MYR MZN NAD NGN NIO NOK NPR NZD PAB PEN PGK PHP PKR PLN QAR RON "
    "RSD RUB SAR SBD SCR SDG SEK SGD SHP SLE SOS SRD SSP STN SVC SYP SZL THB TJS TMT TOP TRY TTD "
    "TWD TZS UAH USD UYU UZS VES WST XCD XCG YER ZAR ZMW ZWG"
)
DIGITS = {
    **dict.fromkeys(_NO_DIGITS.split(), 0),
    **dict.fromkeys(_TWO_DIGITS.split(), 2),
    **dict.fromkeys(_THREE_DIGITS.split(), 3),
}
"""ISO 4217 minor digits by code. MGA and MRU are omitted: their fifths are not decimal."""

_SCALES: dict[str, int] = {code: 10**digits for code, digits in DIGITS.items()}
LARGEST_MINOR = 10**15
_NUMBER = re.compile(r"[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?")
"""An ordinary decimal number; `Decimal` alone also accepts 1_000 and full-width digits."""


@dataclass(frozen=True, slots=True)
class Currency:
    """A currency by its ISO 4217 code."""

    code: str

    def __post_init__(self) -> None:
        if self.code not in DIGITS:
            raise BadMoney(f"{self.code} is not a currency that prices can be kept in here")

    @property
    def digits(self) -> int:
        """The number of decimals of an amount in this currency."""
        return DIGITS[self.code]

    @property
    def scale(self) -> int:
        """The number of minor units in one unit."""
        return _SCALES[self.code]

    @property
    def nothing(self) -> Money:
        """The zero amount in this currency."""
        found = _NOTHING.get(self.code)
        if found is None:
            found = _NOTHING[self.code] = Money(0, self)
        return found

    def minor(self, minor: int) -> Money:
        """Return `minor` minor units (cents, pence) of this currency."""
        return Money(minor, self)

    def of(self, text: str | Decimal | int) -> Money:
        """Return an amount from its decimal text.

        Raises:
            BadMoney: not a plain number, or with more decimals than the currency has.
        """
        scaled = exact_number(text) * self.scale
        if scaled.denominator != 1:
            raise BadMoney(f"{text} has more decimals than {self.code}, which has {self.digits}")
        return Money(scaled.numerator, self)

    def half_up(self, units: Fraction) -> Money:
        """Return an exact number of whole units (dollars), rounded half up to the minor unit."""
        return Money(half_up(units.numerator * self.scale, units.denominator), self)


@dataclass(init=False, slots=True, eq=False)
class Money:
    """An amount: `minor` whole minor units of `currency`; may be negative, as a discount.

    Raises:
        BadMoney: an implausibly large amount.
    """

    minor: Final[int]
    currency: Final[Currency]

    def __init__(self, minor: int, currency: Currency) -> None:
        self.minor = minor
        self.currency = currency
        self.__post_init__()

    def __post_init__(self) -> None:
        if not -LARGEST_MINOR < self.minor < LARGEST_MINOR:
            raise BadMoney("an amount this large is surely a slip")

    def __repr__(self) -> str:
        return f"Money(minor={self.minor}, currency={self.currency})"

    def __add__(self, other: Money) -> Money:
        return Money(self.minor + self._same(other).minor, self.currency)

    def __sub__(self, other: Money) -> Money:
        return Money(self.minor - self._same(other).minor, self.currency)

    def __mul__(self, times: int) -> Money:
        return Money(self.minor * times, self.currency)

    def __neg__(self) -> Money:
        return Money(-self.minor, self.currency)

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Money):
            return NotImplemented
        return self.minor == other.minor and self.currency == other.currency

    def __hash__(self) -> int:
        return hash((self.minor, self.currency))

    def __lt__(self, other: Money) -> bool:
        return self.minor < self._same(other).minor

    def _same(self, other: Money) -> Money:
        if other.currency is not self.currency and other.currency != self.currency:
            raise BadMoney(f"{other.currency.code} cannot be added to {self.currency.code}")
        return other

    def units(self) -> Fraction:
        """Return the amount in whole units (dollars), exactly."""
        return Fraction(self.minor, self.currency.scale)

    def text(self) -> str:
        """Return the decimal text with all of the currency's digits: 184.50."""
        return minor_text(self.minor, self.currency.digits)

    def split(self, parts: int) -> tuple[Money, ...]:
        """Return equal parts that add up exactly; the first ones take the odd minor units."""
        return self.shared((1,) * parts)

    def shared(self, weights: tuple[int, ...]) -> tuple[Money, ...]:
        """Return shares in proportion to integer weights, adding up exactly.

        By largest remainder; the first wins a tie.

        Raises:
            BadMoney: no weight above zero, or one below.
        """
        total = sum(weights)
        if total <= 0 or min(weights) < 0:
            raise BadMoney("money is shared by weights of which one at least is above zero")
        floors = [self.minor * weight // total for weight in weights]
        odd = self.minor - sum(floors)
        by_remainder = sorted(
            range(len(weights)), key=lambda i: (-(self.minor * weights[i] % total), i)
        )
        for i in by_remainder[:odd]:
            floors[i] += 1
        return tuple(Money(minor, self.currency) for minor in floors)


_NOTHING: dict[str, Money] = {}


@lru_cache(maxsize=4_096)
def minor_text(minor: int, digits: int) -> str:
    """Return minor units as decimal text: 18450 with 2 digits is 184.50."""
    if not digits:
        return str(minor)
    sign, shown = ("-" if minor < 0 else ""), str(abs(minor)).rjust(digits + 1, "0")
    return f"{sign}{shown[:-digits]}.{shown[-digits:]}"


@lru_cache(maxsize=2_048)
def exact_number(text: str | Decimal | int) -> Fraction:
    """Return a plain decimal number, exactly; no large exponents, NaN or infinity.

    Raises:
        BadMoney: not such a number.
    """
    try:
        if isinstance(text, str) and not _NUMBER.fullmatch(text):
            raise InvalidOperation
        number = Decimal(text)
    except (InvalidOperation, ValueError) as error:
        raise BadMoney(f'"{str(text)[:40]}" is not a number; write it as 184.50') from error
    if not number.is_finite() or number.adjusted() > 15 or len(number.as_tuple().digits) > 24:
        raise BadMoney(f'"{str(text)[:40]}" is not a plain number of reasonable size')
    exponent = number.as_tuple().exponent
    if isinstance(exponent, int) and exponent < -15:
        raise BadMoney(f'"{str(text)[:40]}" has more decimals than any rate needs')
    return Fraction(number)
