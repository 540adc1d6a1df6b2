"""Customers: folding, the words that they are found by, and exemptions that end."""

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.customers import (
    LEAST_LETTERS,
    Customer,
    Exemption,
    folded,
    parts_of,
    sought,
    words_of,
)
from service.domain.errors import BadValue

OKAFOR = Customer(
    name="Mónica Okafor-Weiß", company="Ølund & Søn", email="Shop@Example.ORG",
    telephone="+441632960123",
)  # fmt: skip


def finds(text: str, customer: Customer = OKAFOR) -> bool:
    parts = parts_of(customer.words())
    return all(any(part.startswith(one) for part in parts) for one in sought(text))


@pytest.mark.parametrize(
    "text",
    ["okaf", "KAFOR", "monica", "MÓN", "weiss", "afor mon", "olund", "son", "shop@exam", "EXAMPLE",
     "01632 960", "(01632) 960-123", "960123", "+44 1632", "ple.org"],
)  # fmt: skip
def test_any_part_of_name_company_mail_or_telephone_is_found(text):
    assert finds(text)


@pytest.mark.parametrize("text", ["okafar", "monica smith", "01633", "999", "@other"])
def test_what_is_not_there_is_not_found(text):
    assert not finds(text)


@pytest.mark.parametrize("text", ["", "o", "-", " . "])
def test_a_search_by_less_than_two_letters_is_refused(text):
    with pytest.raises(BadValue):
        sought(text)


@given(st.text(alphabet="abcdeéöñßŁøÅ -'", min_size=1, max_size=30), st.data())
def test_every_part_of_every_word_finds_its_customer(name, data):
    words = [word for word in words_of(name) if len(word) >= LEAST_LETTERS]
    if not words:
        return
    word = data.draw(st.sampled_from(words))
    start = data.draw(st.integers(0, len(word) - LEAST_LETTERS))
    end = data.draw(st.integers(start + LEAST_LETTERS, len(word)))
    assert finds(word[start:end].upper(), Customer(name=name.strip() or "x"))


def test_folding_follows_unicodes_decompositions():
    # Unicode Standard, NFKD: é is e and a combining acute; ß casefolds to ss (Unicode 3.13).
    assert folded("ÉÈê") == "eee"
    assert folded("Straße") == "strasse"
    assert folded("ﬁne") == "fine"


def test_a_certificate_holds_through_its_last_day():
    ends = Exemption(certificate="X", last_day=date(2026, 6, 30))
    assert ends.holds(date(2026, 6, 30))
    assert not ends.holds(date(2026, 7, 1))
    assert Exemption(certificate="X").holds(date(2999, 1, 1))


def test_a_customer_has_a_name_or_a_company():
    assert Customer(company="Gallery").shown == "Gallery"
    with pytest.raises(BadValue):
        Customer(email="a@example.org")
