"""Numbers, money and days in a shop's locale."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor

import pytest

from service.printing.language.spoken import day, money, number, speaking, spoken, weekday

# The forms are those of CLDR's charts for these locales (number elements, standard currency
# pattern, long date), from memory.
FORMS = {
    "": ("1234.5678", "EUR 12345.50", "2026-12-25"),
    "en-US": ("1,234.5678", "€12,345.50", "December 25, 2026"),
    "de-DE": ("1.234,5678", "12.345,50\u00a0€", "25. Dezember 2026"),
    "fr-FR": ("1\u202f234,5678", "12\u202f345,50\u00a0€", "25 décembre 2026"),
    "ja": ("1,234.5678", "€12,345.50", "2026年12月25日"),
}


@pytest.mark.parametrize("locale", FORMS)
def test_figures_are_written_as_the_locale_writes_them(locale: str) -> None:
    with speaking(locale):
        assert (number("1234.5678"), money("EUR", "12345.50"), day("2026-12-25")) == FORMS[locale]


def test_a_promised_day_has_its_weekday() -> None:
    """1 December 2026 is a Tuesday."""
    assert weekday("2026-12-01") == "Tue 2026-12-01"
    with speaking("de-DE"):
        assert weekday("2026-12-01") == "Dienstag, 1. Dezember 2026"


def test_no_digit_is_lost() -> None:
    """22 digits are more than a binary float holds."""
    with speaking("en"):
        assert number("1234567890123456789.0625") == "1,234,567,890,123,456,789.0625"
        assert money("USD", "90071992547409931.07") == "$90,071,992,547,409,931.07"


def test_each_thread_speaks_its_own_language() -> None:
    def told(locale: str) -> str:
        with speaking(locale):
            return spoken().tag

    asked = ["de-DE", "fr-FR", "en-US", ""] * 25
    with ThreadPoolExecutor(8) as pool:
        assert list(pool.map(told, asked)) == [tag or "en" for tag in asked]
    assert spoken().tag == "en"


def test_a_language_without_a_catalogue_keeps_its_figures_and_speaks_english() -> None:
    with speaking("he") as language:
        assert (language.tag, language.speaks) == ("he", "en")
        assert day("2026-12-25") == "25 בדצמבר 2026"
