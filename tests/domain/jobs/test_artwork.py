"""Artworks are something, and of a known kind."""

import pytest

from service.domain.errors import BadValue
from service.domain.jobs.artwork import ART_KINDS, LOOSE_MEDIA, REPLACEABLE, Artwork
from service.domain.measure.length import ZERO
from tests.domain.bench_shop import size


@pytest.mark.parametrize(
    ("text", "kind", "pointer"),
    [("0 x 10", "paper", "/width"), ("8 x 0", "paper", "/height"), ("8 x 10", "smoke", "/kind")],
)
def test_an_artwork_of_nothing_or_of_no_known_kind_is_refused(text, kind, pointer):
    with pytest.raises(BadValue) as refused:
        Artwork(size(text), kind=kind)
    assert refused.value.where == pointer


@pytest.mark.parametrize("kind", ART_KINDS)
def test_every_kind_can_be_framed(kind):
    assert Artwork(size("8 x 10"), kind=kind).thickness == ZERO


def test_kinds_with_rules_of_their_own_are_kinds():
    assert set(ART_KINDS) >= REPLACEABLE | LOOSE_MEDIA
