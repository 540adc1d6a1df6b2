"""From stored documents to the input of drawings; lengths are read back exactly, from mm."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from service.domain.jobs.mat import Window
from service.domain.measure.length import ZERO, Length, Size
from service.domain.measure.ruler import Ruler, exact_ruler
from service.printing.drawing.back import BackView, Setting, draw_back
from service.printing.drawing.front import FrontView, draw_front
from service.printing.drawing.lettering import POINT
from service.printing.drawing.section import Layer, Profile, SectionView, draw_section
from service.printing.drawing.sheet import Drawing
from service.printing.language.phrases import told
from service.printing.parts.words import Document, area

_LEANS = {"standard": 1, "reverse": -1, "straight": 0}
INTO_THE_ART = Length(203_200)
"""The distance that a section reaches past the innermost window's edge: half an inch."""


def length(shown: Document) -> Length:
    """Return a length of a document; its millimetres are exact."""
    return Length.millimetres(shown["mm"])


def size(shown: Document) -> Size:
    """Return a width and a height of a document."""
    return Size(length(shown["width"]), length(shown["height"]))


def ruler(ticket: Document) -> Ruler:
    """Return the ruler that a ticket was made with."""
    return Ruler(ticket["ruler"]["unit"], length(ticket["ruler"]["step"]))


HUNDREDTH = Ruler("mm", Length.millimetres("0.01"))


def exactly(shop: Ruler, *shown: Document) -> str:
    """Return lengths in a unit in which they are exact: 562 x 674 mm; "" if the shop's ruler is.

    If none is, millimetres are given to two places.
    """
    lengths = [length(each) for each in shown]
    found = exact_ruler(shop, lengths) or HUNDREDTH
    if found == shop:
        return ""
    return told(f"{' x '.join(map(found.mark, lengths))} {found.unit}")


def area_exactly(shop: Ruler, shown: Document) -> str:
    """Return a width and a height, exact first: 562 x 674 mm (≈22 1/8 x ≈26 9/16 in)."""
    exact, read = exactly(shop, shown["width"], shown["height"]), area(shown, shop.unit)
    return f"{exact} ({read})" if exact else read


def window(shape: str, place: Document, off: Length = ZERO) -> Window:
    """Return a window of a document, moved by `off` to the right and down."""
    names = {"rectangle": "rectangle", "ellipse": "ellipse", "arch": "arch"}
    return Window(
        names[shape],  # type: ignore[arg-type]
        length(place["x"]) + off,
        length(place["y"]) + off,
        size(place),
    )


def ticket_front(ticket: Document, width: int, height: int) -> Drawing:
    """Return the front of a ticket's framed piece; width and height in points."""
    sizes, frames = ticket["sizes"], ticket["frames"]
    known = sizes["package"] or next(iter(sizes["art"]), None)
    inside = size(known) if known else Size(ZERO, ZERO)
    layers = tuple(
        tuple(window(w["shape"], w["front"], length(mat["trim"])) for w in mat["windows"])
        for mat in mats(ticket)
    )
    floated = sizes["art"] if ticket["presentation"] == "float" and sizes["package"] else ()
    view = FrontView(
        package=inside,
        layers=layers,
        art=_placed(sizes) or tuple(_floated(map(size, floated), layers, inside)),
        sight=size(frames[0]["sight"]) if frames else None,
        rings=tuple(size(frame["outside"]) for frame in frames),
        sides=frames[0]["sides"] if frames else 4,
    )
    return draw_front(view, ruler(ticket), width * POINT, height * POINT)


def _placed(sizes: Document) -> tuple[Window, ...]:
    """Return floated art where a document places it on its board."""
    return tuple(window("rectangle", place, ZERO) for place in sizes.get("art_places") or ())


def _floated(
    arts: Iterable[Size], layers: Sequence[Sequence[Window]], package: Size
) -> Iterator[Window]:
    """Yield the place of each floated art: in the middle of its window, or of the package."""
    around = layers[-1] if layers else (Window("rectangle", ZERO, ZERO, package),)
    sizes = list(arts)
    for at, outer in enumerate(around if sizes else ()):
        art = sizes[at % len(sizes)]
        beside = (outer.size.width - art.width).halves()[0]
        above = (outer.size.height - art.height).halves()[0]
        yield Window("rectangle", outer.x + beside, outer.y + above, art)


def quote_front(job: Document, shop_ruler: Ruler, width: int, height: int) -> Drawing:
    """Return the front of one job of a quote; width and height in points."""
    sizes, rows = job["sizes"], job["cut_list"]
    inside = sizes["package"] or sizes["shows"]
    rails: dict[int, list[Document]] = {}
    for row in rows:
        if row["part"] == "rail":
            rails.setdefault(row["layer"], []).append(row)
    sides = 4
    if rails:
        sides = sum(r["quantity"] for r in rails[1]) // job["quantity"]
    layers = tuple(
        tuple(window(w["shape"], w, length(row["trim"])) for w in row["openings"])
        for row in rows
        if row["part"] == "mat"
    )
    view = FrontView(
        package=size(inside),
        layers=layers,
        art=_placed(sizes),
        sight=size(sizes["frame_sight"]) if sizes["frame_sight"] else None,
        rings=tuple(_rings(rails, size(sizes["outside"]), sides)),
        sides=sides,
    )
    return draw_front(view, shop_ruler, width * POINT, height * POINT)


def _rings(rails: dict[int, list[Document]], outside: Size, sides: int) -> Iterator[Size]:
    """Yield the outsides of the frames: a rail's long point is its frame's outside."""
    if sides == 4:
        for layer in sorted(rails)[:-1]:
            lengths = {row["side"]: length(row["length"]) for row in rails[layer]}
            yield Size(lengths["top"], lengths["left"])
    if rails:
        yield outside


def mats(ticket: Document) -> list[Document]:
    """Return the mats of a ticket, the top one first."""
    return [piece for piece in ticket["pieces"] if piece["part"] == "mat"]


def ticket_section(ticket: Document, width: int, height: int) -> Drawing | None:
    """Return the section of a ticket, if a frame holds a package; width and height in points."""
    if not ticket["frames"] or ticket["sizes"]["package"] is None:
        return None
    layers = tuple(_layers(ticket))
    profiles = tuple(map(_profile, ticket["frames"]))
    view = SectionView(
        profiles=profiles,
        shown=max((*(layer.edge for layer in layers), profiles[0].rabbet_width)) + INTO_THE_ART,
        layers=layers,
    )
    return draw_section(view, ruler(ticket), width * POINT, height * POINT)


def _profile(frame: Document) -> Profile:
    rabbet, holds = size(frame["rabbet"]), size(frame["holds"])
    return Profile(
        face_width=length(frame["face_width"]),
        rabbet_width=length(frame["rabbet_width"]),
        rabbet_depth=length(frame["rabbet_depth"]),
        play=(rabbet.width - holds.width).halves()[0],
    )


def _layers(ticket: Document) -> Iterator[Layer]:
    """Yield the layers with their edges.

    Spacers lie under the lip, fillets at the edge they line.
    """
    lip, edge = length(ticket["frames"][0]["rabbet_width"]), ZERO
    coming, where = iter(mats(ticket)), "/frames/0"
    for layer in ticket["package"]:
        thick = length(layer["thickness"])
        if layer["part"] == "mat":
            mat = next(coming)
            trim, where = length(mat["trim"]), mat["path"]
            edge = min(length(w["front"]["x"]) for w in mat["windows"]) + trim
            yield Layer("mat", layer["name"], thick, edge, trim, _LEANS[mat["bevel"]])
        elif layer["part"] == "spacer":
            yield Layer("spacer", layer["name"], thick, lip)
        elif layer["part"] == "fillet":
            wide, lined = _fillet_width(ticket, where), edge or lip
            hidden = lined - wide if edge else ZERO
            yield Layer("fillet", layer["name"], thick, lined + wide, hidden)
        else:
            yield Layer(layer["part"], layer["name"], thick)


def _fillet_width(ticket: Document, where: str) -> Length:
    """Return the width of a mat's or frame's fillet: half the difference of its lengths."""
    for piece in ticket["pieces"]:
        if piece["path"] == f"{where}/fillet":
            return (length(piece["length"]) - length(piece["inner_length"])).halves()[0]
    return ZERO


def ticket_backs(ticket: Document, width: int, height: int) -> list[Drawing]:
    """Return each mat of a ticket as it lies on the bench; width and height in points."""
    return [
        draw_back(_back(ticket, mat), ruler(ticket), width * POINT, height * POINT)
        for mat in mats(ticket)
    ]


def _back(ticket: Document, mat: Document) -> BackView:
    own = mat["settings_from"] == "own"
    settings = dict.fromkeys(
        Setting(cut["side"], length(cut["setting"])) for w in mat["windows"] for cut in w["cuts"]
    )
    return BackView(
        name=f"{mat['name']} ({mat['piece']})",
        face_down=mat["lies"] == "face_down",
        bounds=size(mat) if own else size(ticket["sizes"]["package"]),
        inset=ZERO if own else length(mat["trim"]),
        windows=tuple(window(w["shape"], w["as_it_lies"]) for w in mat["windows"]),
        settings=tuple(settings),
    )
