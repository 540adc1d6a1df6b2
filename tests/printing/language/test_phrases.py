"""The papers' sentences in other languages: none is missing, and no figure is lost."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest
from babel.messages.extract import extract_from_dir
from babel.messages.pofile import read_po
from hypothesis import HealthCheck, given, settings

import service.printing
from service.domain.estimates.calculation import Basis, JobEstimate
from service.domain.tickets.make import make_ticket
from service.domain.tickets.model import CutTicket
from service.printing.language.phrases import phrases, told
from service.printing.language.spoken import CATALOGUES, catalogue, language, speaking
from service.printing.parts.press import TEMPLATES, words_of
from service.printing.parts.words import SET_UP, WORK
from service.printing.tickets.html import ticket_html
from service.printing.tickets.text import ticket_text
from tests.domain.tickets.random_jobs import estimates
from tests.domain.tickets.shop_jobs import every_material, spec
from tests.printing.printed import HEAD, printed_ticket
from tests.proofs import examples

LANGUAGES = ("de", "fr")
PRINTING = Path(service.printing.__file__).parent
PLACES = re.compile(r"\{(\w+)\}")
_FIGURES = re.compile(r"\d+")


def sentences(made: CutTicket) -> Iterator[str]:
    """Yield every English sentence that a ticket keeps and a card shows."""
    for step in made.steps:
        yield from step.lines
        for part in step.parts:
            for change in part.changes:
                if isinstance(change.to, str) and change.what != "saw_angle":
                    yield change.to
    for piece in made.pieces:
        yield piece.name
        yield from piece.notes
    yield from (layer.name for layer in made.stack)
    yield from (advisory.message for advisory in made.advisories)


@settings(
    max_examples=examples(100),
    deadline=None,
    suppress_health_check=list(HealthCheck),
    derandomize=True,
)
@given(estimates(every_material))
def test_every_sentence_of_a_ticket_is_told_with_its_figures(
    drawn: tuple[JobEstimate, Basis],
) -> None:
    made, shop = drawn
    for english in sentences(make_ticket(made, shop.shop)):
        for tag in LANGUAGES:
            with speaking(tag):
                shown = told(english)
            known = english in language(tag).stored
            assert known or any(p.pattern.fullmatch(english) for p in phrases(tag)), english
            assert Counter(_FIGURES.findall(shown)) == Counter(_FIGURES.findall(english))


def test_cautions_and_the_names_of_work_are_translated() -> None:
    ticket = printed_ticket(spec())
    known = [*WORK.values(), *SET_UP.values(), *ticket["cautions"].values()]
    for tag in LANGUAGES:
        assert set(known) <= set(language(tag).stored) | {"Mark", "Guide"}


@pytest.mark.parametrize("tag", LANGUAGES)
def test_a_translation_has_the_places_of_its_sentence(tag: str) -> None:
    for sentence, translation in [(a, b) for part in catalogue(tag) for a, b in part.items()]:
        assert sorted(PLACES.findall(translation)) == sorted(PLACES.findall(sentence)), sentence


@pytest.mark.parametrize("tag", LANGUAGES)
def test_every_sentence_of_the_papers_is_in_the_catalogues(tag: str) -> None:
    """By Babel's extraction from the sources, and the words of the templates."""
    found = {message for _, _, message, *_ in extract_from_dir(PRINTING, keywords={"_": None})}
    for page in (PRINTING / "parts" / "templates").glob("*.html"):
        found |= set(re.findall(r'_\("([^"]+)"', page.read_text(encoding="utf-8")))
    for template in TEMPLATES.glob("*.typ"):
        found |= set(words_of(template.stem))
    own, _stored = catalogue(tag)
    assert {str(message) for message in found} - set(own) == set()


@pytest.mark.parametrize("tag", LANGUAGES)
def test_nothing_in_a_catalogue_is_unfinished(tag: str) -> None:
    with (CATALOGUES / f"{tag}.po").open("rb") as file:
        messages = [message for message in read_po(file) if message.id]
    assert len(messages) > 400
    assert not [message.id for message in messages if message.fuzzy or not message.string]


def test_a_ticket_is_told_in_another_language_and_its_figures_stay() -> None:
    ticket = printed_ticket(spec())
    with speaking("de-DE"):
        page, text = ticket_html(ticket, HEAD), ticket_text(ticket, HEAD, 200)
    assert '<html lang="de">' in page
    for printed in (page, text):
        assert "Oberes Passepartout" in printed
        assert "16 3/8 x 20 Zoll" in printed
        assert "Schneiden: Oberes Passepartout (1), Trägerkarton (4): Breite 21 1/8 Zoll" in printed
    assert "Top mat" not in text
    assert "Cut " not in text
    english = ticket_text(ticket, HEAD, 200)
    assert "Cut Top mat (1)" in english


def test_a_decimal_is_written_with_the_languages_mark() -> None:
    with speaking("fr-FR"):
        assert told("Lay the art face up in the frame: gap 6.5 mm on every side.") == (
            "Poser l’œuvre face dessus dans le cadre : jeu de 6,5 mm de chaque côté."
        )
        assert told("a sentence that nobody knows: 6.5") == "a sentence that nobody knows: 6,5"
