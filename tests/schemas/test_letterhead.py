"""The check of a shop's logo: what draws is taken, what does anything else is refused.

What can go wrong follows the published cautions: scripts and event handlers in SVG (SVG 2, W3C,
section 15.9 and "SVG Integration", secure static mode), entity expansion and external entities
(Python's defusedxml, which lists both). A PNG's signature is that of ISO/IEC 15948, section 5.2.
"""

from __future__ import annotations

import base64
import io
from typing import Any

import pytest
from PIL import Image

from schemas.shop import dump_shop, dump_shop_paper, load_shop
from schemas.shop.letterhead import DEEPEST, MOST_BYTES, MOST_PIXELS
from service.domain.errors import JobRefused
from tests.schemas.test_shop import LEAST

OPEN = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
TOP = OPEN + 'viewBox="0 0 10 10">'
PLAIN = TOP + '<g fill="#123"><path d="M0 0h10v10z" style="fill: url(#a)"/></g></svg>'


def _svg(text: str) -> str:
    return "data:image/svg+xml;base64," + base64.b64encode(text.encode()).decode()


def _png(width: int, height: int) -> bytes:
    written = io.BytesIO()
    Image.new("L", (width, height)).save(written, "PNG")
    return written.getvalue()


def _of(image: bytes) -> str:
    return "data:image/png;base64," + base64.b64encode(image).decode()


def _with(logo: Any) -> Any:
    return load_shop({**LEAST, "letterhead": {"logo": logo}})


@pytest.mark.parametrize("logo", ["", _svg(PLAIN), _of(_png(40, 20)), _of(_png(MOST_PIXELS, 1))])
def test_a_plain_logo_is_kept_as_sent(logo):
    shop = _with(logo)
    assert shop.letterhead.logo == logo
    assert dump_shop(shop)["letterhead"]["logo"] == logo
    assert dump_shop_paper(shop)["letterhead"]["logo"] == ""


INSIDE = {
    "script": "<script>alert(1)</script>",
    "handler": '<path d="M0 0" onload="alert(1)"/>',
    "html": '<script xmlns="http://www.w3.org/1999/xhtml">1</script>',
    "foreign": "<foreignObject/>",
    "picture from elsewhere": '<image href="https://example.com/a.png"/>',
    "link": '<a xlink:href="javascript:alert(1)"><path d="M0 0"/></a>',
    "fill from elsewhere": '<path d="M0 0" fill="url(https://example.com/a#b)"/>',
    "import": "<style>@import 'https://example.com/a.css';</style>",
    "escaped": "<style>path { fill: u\\72l(https://example.com) }</style>",
    "font": "<text>Lantern</text>",
    "multiplied": "<use href='#a'/>",
    "animation": "<set attributeName='href'/>",
    "deep": "<g>" * DEEPEST + "</g>" * DEEPEST,
}
WHOLE = {
    "entities": f'<!DOCTYPE svg [<!ENTITY a "b"><!ENTITY c "&a;&a;">]>{TOP}&c;</svg>',
    "external entity": f'<!DOCTYPE svg [<!ENTITY a SYSTEM "file:///etc/passwd">]>{TOP}&a;</svg>',
    "no size": OPEN + "/>",
    "no area": OPEN + 'viewBox="0 0 0 10"/>',
    "not svg": "<html/>",
    "cut off": TOP,
    "not xml": "lantern",
    "unknown encoding": '<?xml version="1.0" encoding="nowhere"?>' + PLAIN,
}
FAULTY = {
    **{name: _svg(f"{TOP}{inner}</svg>") for name, inner in INSIDE.items()},
    **{name: _svg(text) for name, text in WHOLE.items()},
    "too large": _svg(PLAIN + " " * MOST_BYTES),
    "too wide": _of(_png(MOST_PIXELS + 1, 1)),
    "half a picture": _of(_png(400, 400)[:-30]),
    "another picture": _of(b"GIF89a"),
    "other type": "data:image/gif;base64,R0lG",
    "address": "https://example.com/logo.png",
    "not base64": "data:image/png;base64,A",
    "number": 3,
}


@pytest.mark.parametrize("name", FAULTY)
def test_any_other_logo_is_pointed_to(name):
    with pytest.raises(JobRefused) as refused:
        _with(FAULTY[name])
    (fault,) = refused.value.faults()
    assert (fault.pointer, fault.code) == ("/letterhead/logo", "bad_image")
