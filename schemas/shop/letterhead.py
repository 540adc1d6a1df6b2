"""A shop's letterhead on the wire, and the check of its logo.

A logo is printed and shown to the public, so it must draw the same everywhere and do nothing else:
no script, nothing fetched from elsewhere, no lettering that needs a font. Of SVG the plain shapes
are allowed by name. What can draw much from little text (`use`, patterns, filters) is not.
"""

from __future__ import annotations

import base64
import binascii
import io
import re
from typing import Any
from xml.etree.ElementTree import Element, ParseError  # nosec B405

from defusedxml import DefusedXmlException
from defusedxml.ElementTree import fromstring
from marshmallow import ValidationError
from PIL import Image, UnidentifiedImageError

from schemas.wire.base import WireField
from schemas.wire.document import Document, Several
from schemas.wire.faults import refusal
from schemas.wire.fields import Words
from service.domain.letterhead import Letterhead

MOST_BYTES = 32_768
MOST_PIXELS = 2_000
"""The largest width and height of a PNG: 100 mm at 500 dpi."""
DEEPEST = 30
"""How deep groups of an SVG are nested at most."""
_DATA_URL = re.compile(r"data:(image/(?:png|svg\+xml));base64,([A-Za-z0-9+/]+={0,2})")
_SVG = "{http://www.w3.org/2000/svg}"
_SHAPES = re.compile(
    re.escape(_SVG) + "(svg|g|path|rect|circle|ellipse|line|polyline|polygon|defs|title|desc|"
    "linearGradient|radialGradient|stop|clipPath|style)"
)
_STYLED = re.compile(r"@|\\|url\s*\(\s*(?!['\"]?#)", re.IGNORECASE)
"""In a style: an at-rule, an escape that could hide one, or an address elsewhere."""


class LogoField(WireField[str]):
    """An SVG or PNG image as a data URL (RFC 2397)."""

    def json_shape(self) -> dict[str, object]:
        """Return the shape of such an address, or an empty text."""
        longest = len("data:image/svg+xml;base64,") + (MOST_BYTES + 2) // 3 * 4
        return {"type": "string", "maxLength": longest, "contentEncoding": "base64"}

    def read(self, value: Any) -> str:
        """Return the address, after a check of the image."""
        if value == "":
            return ""
        found = _DATA_URL.fullmatch(value) if type(value) is str else None
        if found is None:
            raise _refused(
                "a logo is a PNG or SVG image, written as data:image/png;base64,… or "
                "data:image/svg+xml;base64,…"
            )
        image = _decoded(found[2])
        if found[1] == "image/png":
            _check_png(image)
        else:
            _check_svg(image)
        return found[0]


def _refused(detail: str) -> ValidationError:
    return refusal("bad_image", detail)


def _decoded(text: str) -> bytes:
    try:
        image = base64.b64decode(text, validate=True)
    except binascii.Error:
        raise _refused("this is not base64; encode the image file again") from None
    if len(image) > MOST_BYTES:
        kib = MOST_BYTES // 1024
        raise _refused(f"a logo has at most {kib} KiB; this one has {-(-len(image) // 1024)}")
    return image


def _check_png(image: bytes) -> None:
    try:
        with Image.open(io.BytesIO(image), formats=("PNG",)) as opened:
            if max(opened.size) > MOST_PIXELS:
                told = f"a logo is at most {MOST_PIXELS} pixels wide and high"
                raise _refused(f"{told}; this one is {opened.width} by {opened.height}")
            opened.load()
    except (UnidentifiedImageError, OSError, SyntaxError, ValueError):
        raise _refused("this is not a whole PNG image") from None


def _check_svg(image: bytes) -> None:
    try:
        root = fromstring(image, forbid_dtd=True)
    except DefusedXmlException:
        raise _refused("an SVG logo has no DOCTYPE and no entities") from None
    except (ParseError, ValueError, LookupError):
        raise _refused("this is not a whole SVG image") from None
    if root.tag != f"{_SVG}svg" or not _has_size(root):
        raise _refused("this is not an SVG image with a viewBox")
    _check_shapes(root)


def _has_size(root: Element) -> bool:
    try:
        _, _, width, height = (float(part) for part in re.split(r"[\s,]+", root.get("viewBox", "")))
    except ValueError:
        return False
    return 0 < width < 10**6 and 0 < height < 10**6


def _check_shapes(root: Element) -> None:
    waiting = [(root, 1)]
    while waiting:
        element, depth = waiting.pop()
        _check_element(element, depth)
        waiting += [(inner, depth + 1) for inner in element]


def _check_element(element: Element, depth: int) -> None:
    name = element.tag.rpartition("}")[2]
    if _SHAPES.fullmatch(element.tag) is None:
        raise _refused(
            f"a logo is drawn with plain shapes, and this one has <{name[:40]}>; turn lettering "
            "into outlines and save it as plain SVG"
        )
    if depth > DEEPEST:
        raise _refused(f"the groups of this SVG are nested more than {DEEPEST} deep; ungroup some")
    if name == "style" and _STYLED.search(element.text or ""):
        raise _refused("the style of this SVG fetches something or imports another style")
    for attribute, value in element.attrib.items():
        _check_attribute(attribute, value)


def _check_attribute(attribute: str, value: str) -> None:
    name = attribute.rpartition("}")[2].lower()
    if name.startswith("on"):
        raise _refused(f"a logo does nothing, and this one has {name[:40]}")
    elsewhere = name in ("href", "src", "base") and not value.startswith("#")
    if elsewhere or _STYLED.search(value):
        raise _refused(f"a logo stands alone, and {name[:40]} of this one refers to something else")


class LetterheadDocument(Document):
    """How the shop names itself on its papers and on the quote form."""

    makes = Letterhead
    address = Several(
        Words(shortest=1, longest=80), most=6, means="The lines of its address, as on an envelope."
    )
    telephone = Words(longest=40, means="Its telephone number, as customers dial it.")
    email = Words(longest=254, means="Its address for mail.")
    website = Words(longest=120, means="Its website, as it is printed.")
    hours = Several(
        Words(shortest=1, longest=80), most=7, means="When it is open, a line for each rule."
    )
    terms = Words(
        longest=4_000, lines=True, means="Its terms of business, which stand on a quote's paper."
    )
    logo = LogoField(
        means=(
            "Its logo: an SVG or PNG image of at most 32 KiB as a data URL (RFC 2397). An SVG has "
            "a viewBox and plain shapes: no script, no lettering, nothing from elsewhere. A PNG "
            "is at most 2,000 pixels wide and high. Empty: none."
        )
    )
