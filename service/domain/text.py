r"""Characters that text may not contain, because they are invisible or reorder what is displayed.

Two labels that look alike must be alike, and text must print in the order in which it is stored. So
text contains letters, marks, numbers, symbols and spaces, and none of these:

- control, private-use, surrogate and unassigned code points and noncharacters (general categories
  Cc, Co, Cs, Cn), and the line and paragraph separators (Zl, Zp);
- format characters (Cf), among them the directional ones of UAX #9, except the visible ones that
  precede numbers (`Prepended_Concatenation_Mark` in PropList.txt);
- letters and marks without a glyph of their own (`Default_Ignorable_Code_Point` in
  DerivedCoreProperties.txt), and the blank Braille pattern, which is not in that list.

Allowed where the script needs them:

- ZERO WIDTH JOINER and NON-JOINER within a word of a script that uses them (UAX #31, 2.3.1, and the
  Unicode Standard, 9.2 and 12.1 to 12.9), the joiner also at the end of such a word; the joiner
  also between pictographs (UTS #51);
- a variation selector after a character that it can vary, as in Japanese names (UTS #37).

>>> hidden_in("Harbour etching") is None
True
>>> hidden_in("Harbour \u202egnihcte").told
'character 9 is U+202E RIGHT-TO-LEFT OVERRIDE, which changes the order of the text'
>>> hidden_in("\u0645\u06cc\u200c\u062e\u0648\u0627\u0647\u0645") is None
True
"""

from __future__ import annotations

import unicodedata

from service.domain.value import dataclass

NON_JOINER, JOINER = "\u200c", "\u200d"
_BANNED = frozenset({"Cc", "Cf", "Cn", "Co", "Cs", "Zl", "Zp"})
_SEEN_FORMATS = frozenset(
    "\u0600\u0601\u0602\u0603\u0604\u0605\u06dd\u070f\u0890\u0891\u08e2\U000110bd\U000110cd"
)
"""`Prepended_Concatenation_Mark`."""
_UNSEEN = frozenset("\u034f\u115f\u1160\u17b4\u17b5\u2800\u3164\uffa0")
"""Combining grapheme joiner, Hangul fillers, Khmer inherent vowels, blank Braille pattern."""
_REORDER = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
"""The explicit directional formatting characters and implicit marks of UAX #9, 2.1 to 2.6."""
_JOINING_SCRIPTS = (
    *("ADLAM", "ARABIC", "BENGALI", "DEVANAGARI", "GUJARATI", "GURMUKHI", "KANNADA", "MALAYALAM"),
    *("MANDAIC", "MONGOLIAN", "NKO", "ORIYA", "PHAGS-PA", "SINHALA", "SYRIAC", "TAMIL", "TELUGU"),
    "TIBETAN",
)
"""The prefixes of their characters' names."""
_VIRAMA = 9
"""The canonical combining class of viramas."""
_SELECTORS = range(0xFE00, 0xFE10)
_IDEOGRAPHIC_SELECTORS = range(0xE0100, 0xE01F0)
_MONGOLIAN_SELECTORS = frozenset({0x180B, 0x180C, 0x180D, 0x180F})
_KEYCAP = "\u20e3"
_EMOJI_STYLE = "\ufe0f"
_SKIN_TONES = range(0x1F3FB, 0x1F400)


@dataclass(frozen=True, slots=True)
class Hidden:
    """A disallowed character and its index in the text, from 0."""

    character: str
    place: int

    @property
    def told(self) -> str:
        """Its position from 1, its code point and name, and why it is refused."""
        named = " ".join(filter(None, (code_point(self.character), _name(self.character))))
        return f"character {self.place + 1} is {named}, which {self._why}"

    @property
    def _why(self) -> str:
        if self.character in _REORDER:
            return "changes the order of the text"
        kind = unicodedata.category(self.character)
        if kind in ("Cn", "Co", "Cs"):
            return "is not a character of any writing"
        if kind in ("Cc", "Zl", "Zp"):
            return "controls the line and cannot be printed"
        return "cannot be seen here"


def hidden_in(text: str, *, lines: bool = False) -> Hidden | None:
    """Return the first disallowed character of the text, or None.

    Args:
        text: the user's text.
        lines: allow line feeds.
    """
    if text.isascii() and text.isprintable():  # most text; both checks are cheap
        return None
    for place, character in enumerate(text):
        if _may_not(character) and not (
            (lines and character == "\n") or _is_needed(text, place, character)
        ):
            return Hidden(character, place)
    return None


def spelled_out(text: str) -> str:
    """Return the text with each disallowed character replaced by its code point."""
    if hidden_in(text) is None:
        return text
    return "".join(
        f"[{code_point(each)}]" if _may_not(each) and not _is_needed(text, place, each) else each
        for place, each in enumerate(text)
    )


def code_point(character: str) -> str:
    """Return a character's code point in Unicode notation: U+202E."""
    return f"U+{ord(character):04X}"


def _name(character: str) -> str:
    return unicodedata.name(character, "")


def _may_not(character: str) -> bool:
    if character in _UNSEEN or _is_selector(character):
        return True
    return unicodedata.category(character) in _BANNED and character not in _SEEN_FORMATS


def _is_selector(character: str) -> bool:
    point = ord(character)
    return point in _SELECTORS or point in _IDEOGRAPHIC_SELECTORS or point in _MONGOLIAN_SELECTORS


def _is_needed(text: str, place: int, character: str) -> bool:
    """Return True if a usually disallowed character is needed at this position."""
    if character in (NON_JOINER, JOINER):
        return _joins(text, place, character)
    return bool(place) and _is_selector(character) and _varies(text, place, ord(character))


def _varies(text: str, place: int, selector: int) -> bool:
    """Return True if a variation selector follows a character that it can vary."""
    before, after = text[place - 1], text[place + 1 : place + 2]
    if selector in _IDEOGRAPHIC_SELECTORS:
        return _name(before).startswith("CJK ")
    if selector in _MONGOLIAN_SELECTORS:
        return _name(before).startswith("MONGOLIAN ") and not _is_selector(before)
    if before.isascii():  # the keycaps 0 to 9, # and *
        return after == _KEYCAP
    return unicodedata.category(before) in ("Lo", "Po", "Sm", "So")


def _joins(text: str, place: int, character: str) -> bool:
    before, after = text[place - 1 : place], text[place + 1 : place + 2]
    if _of_joining_script(before):
        if _of_joining_script(after):
            return True
        ends = not after or unicodedata.category(after)[0] in "ZP"
        return character == JOINER and ends and _shows_joiner(before)
    return character == JOINER and _is_pictograph(before) and _is_pictograph(after)


def _shows_joiner(before: str) -> bool:
    """Return True if a joiner at a word's end changes how the character before it is drawn."""
    return unicodedata.combining(before) == _VIRAMA or unicodedata.bidirectional(before) == "AL"


def _of_joining_script(character: str) -> bool:
    if not character or unicodedata.category(character)[0] not in "LM":
        return False
    return _name(character).split(" ")[0] in _JOINING_SCRIPTS


def _is_pictograph(character: str) -> bool:
    return bool(character) and (
        unicodedata.category(character) == "So"
        or character == _EMOJI_STYLE
        or ord(character) in _SKIN_TONES
    )
