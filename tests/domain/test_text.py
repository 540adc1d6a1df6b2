"""What text may hold: nothing that hides or reorders, and all that languages need.

Sources: Unicode 14.0, DerivedCoreProperties.txt (`Default_Ignorable_Code_Point`) and PropList.txt
(`Bidi_Control`, `Noncharacter_Code_Point`, `Prepended_Concatenation_Mark`); RFC 5892, appendix A.1
and A.2, as the package `idna` reads it, for joiners; the Unicode Standard 14.0, 9.2 and 12.2; UTS
#37 and #51 for variation selectors and pictographs.
"""

from __future__ import annotations

import idna
import pytest

from service.domain.text import hidden_in, spelled_out

DEFAULT_IGNORABLE = (
    (0xAD, 0xAD), (0x34F, 0x34F), (0x61C, 0x61C), (0x115F, 0x1160), (0x17B4, 0x17B5),
    (0x180B, 0x180F), (0x200B, 0x200F), (0x202A, 0x202E), (0x2060, 0x206F), (0x3164, 0x3164),
    (0xFE00, 0xFE0F), (0xFEFF, 0xFEFF), (0xFFA0, 0xFFA0), (0xFFF0, 0xFFF8), (0x1BCA0, 0x1BCA3),
    (0x1D173, 0x1D17A), (0xE0000, 0xE0FFF),
)  # fmt: skip
BIDI_CONTROL = ((0x61C, 0x61C), (0x200E, 0x200F), (0x202A, 0x202E), (0x2066, 0x2069))
NONCHARACTERS = (
    (0xFDD0, 0xFDEF),
    *((plane + 0xFFFE, plane + 0xFFFF) for plane in range(0, 0x110000, 0x10000)),
)
PREPENDED = "\u0600\u0601\u0602\u0603\u0604\u0605\u06dd\u070f\u0890\u0891\u08e2\U000110bd\U000110cd"
SPACES = "\u00a0\u1680\u2000\u2003\u2009\u202f\u205f\u3000"


def _all(*ranges: tuple[int, int]) -> list[str]:
    return [chr(point) for first, last in ranges for point in range(first, last + 1)]


def test_what_cannot_be_seen_is_refused_among_latin_letters() -> None:
    controls = _all((0x00, 0x1F), (0x7F, 0x9F), (0x2028, 0x2029))
    odd = [*controls, *_all(*DEFAULT_IGNORABLE, *NONCHARACTERS), "\ue000", "\ud800", "\u2800"]
    assert [f"{ord(each):X}" for each in odd if hidden_in(f"a{each}b") is None] == []


@pytest.mark.parametrize("character", _all(*BIDI_CONTROL))
def test_what_reorders_is_refused_in_every_script(character: str) -> None:
    for text in (f"ab{character}cd", f"\u05d0{character}\u05d1", f"\u0645{character}\u06cc"):
        found = hidden_in(text)
        assert found is not None
        assert (found.character, found.place) == (character, text.index(character))
        assert "changes the order of the text" in found.told
        assert f"U+{ord(character):04X}" in found.told


@pytest.mark.parametrize(
    "text",
    [
        "Harbour etching",
        "16 3/8\u2033",
        "caf\u00e9",
        "cafe\u0301",
        "\u65e5\u672c\u753b",
        "\u0414\u043e\u043c",
        "\u05e2\u05b4\u05d1\u05b0\u05e8\u05b4\u05d9\u05ea",
        "\u0627\u0644\u0639\u0631\u0628\u064a\u0629",
        "\U0001f5bc",
        "=1+1",
        "<b>",
        "\ufffd",
        # joiners within words: Persian, Hindi, Sinhala, Bengali (12.2), Malayalam, Kannada
        "\u0645\u06cc\u200c\u062e\u0648\u0627\u0647\u0645",
        "\u06af\u0641\u062a\u200c\u0648\u200c\u06af\u0648",
        "\u0915\u094d\u200d\u0937",
        "\u0915\u094d\u200c\u0937",
        "\u0dc1\u0dca\u200d\u0dbb\u0dd3",
        "\u09b0\u200d\u09cd\u09af\u09be",
        "\u0d05\u0d35\u0d28\u0d4d\u200d",
        "\u0cb0\u0ccd\u200d\u0c95",
        # at a word's end, where it shows: Persian for the year of the Hijra (9.2)
        "\u06f1\u06f4\u06f0\u06f4 \u0647\u200d.\u0634",
        # variation selectors: a Japanese name, a keycap, a sign; pictographs that are joined
        "\u845b\U000e0100\u57ce",
        "1\ufe0f\u20e3",
        "\u260e\ufe0f",
        "\U0001f469\u200d\U0001f3a8",
        "\U0001f469\U0001f3fd\u200d\U0001f3a8",
        "\u2764\ufe0f\u200d\U0001f525",
        *(f"a{each}b" for each in SPACES),
        *(f"{each}\u0661" for each in PREPENDED[:7]),
    ],
)
def test_what_languages_need_is_kept(text: str) -> None:
    assert hidden_in(text) is None
    assert spelled_out(text) == text


@pytest.mark.parametrize(
    "text",
    [
        "\u200cab",
        "ab\u200c",
        "a\u200db",
        "\u200d\u0645",
        "\u0645\u06cc\u200c",
        "\u0645\u200c\u200c\u06cc",
        "\u0645\u200da",
        "\u0414\u200d\u043e",
        "\u65e5\u200d\u672c",
        "1\u200d2",
        "\u0645 \u200d\u06cc",
        "a\ufe0f",
        "1\ufe0f",
        "\ufe0fa",
        "a\U000e0100",
        "\u260e\ufe0f\ufe0f",
        "\u845b\U000e0100\U000e0101",
    ],
)
def test_a_joiner_or_selector_without_work_is_refused(text: str) -> None:
    found = hidden_in(text)
    assert found is not None
    assert "cannot be seen here" in found.told


@pytest.mark.parametrize(
    "word",
    [
        "\u0646\u0627\u0645\u0647\u200c\u0627\u06cc",  # the example of RFC 5895 and UTS #46
        "\u0dc1\u0dca\u200d\u0dbb\u0dd3",
        "\u0915\u094d\u200d\u0937",
        "\u0915\u094d\u200c\u0937",
    ],
)
def test_what_names_of_hosts_may_join_text_may_join(word: str) -> None:
    (place,) = (at for at, each in enumerate(word) if each in "\u200c\u200d")
    assert idna.valid_contextj(word, place)
    assert hidden_in(word) is None


def test_line_feeds_are_for_texts_of_several_lines() -> None:
    assert hidden_in("one\ntwo", lines=True) is None
    for text in ("one\ntwo", "one\rtwo", "one\x85two", "one\u2028two"):
        assert hidden_in(text) is not None
    assert hidden_in("one\u2029two", lines=True) is not None


def test_what_is_quoted_back_is_spelled_out() -> None:
    assert spelled_out("a\u202eb\x00") == "a[U+202E]b[U+0000]"
