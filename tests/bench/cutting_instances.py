"""Shop jobs for the cutting planner: the kept instances, and a seeded generator of more like them.

All invented: usual sheet sizes of the trade (32x40, 40x60, 24x30 in boards; 9 and 10 ft sticks),
usual and odd picture sizes, offcuts at a part of their new price. Lengths are in 1/16 in, costs in
cents. The kept instances live in tests/domain/cutting/instances.
"""

from __future__ import annotations

import json
import random
from dataclasses import dataclass
from pathlib import Path

from service.domain.cutting.stock import (
    SheetPiece,
    SheetRules,
    SheetStock,
    StickPiece,
    StickRules,
    StickStock,
)

KEPT = Path(__file__).parent.parent / "domain" / "cutting" / "instances"

# Usual picture and mat sizes in inches (common practice, no source).
USUAL = (
    (8, 10), (9, 12), (11, 14), (12, 16), (14, 18), (16, 20), (18, 24), (20, 24), (22, 28),
    (24, 30), (24, 36), (30, 40),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class SheetJob:
    """A sheet instance."""

    name: str
    stock: tuple[SheetStock, ...]
    pieces: tuple[SheetPiece, ...]
    rules: SheetRules


@dataclass(frozen=True, slots=True)
class StickJob:
    """A stick instance."""

    name: str
    stock: tuple[StickStock, ...]
    pieces: tuple[StickPiece, ...]
    rules: StickRules


def kept(name: str, scale: int = 1) -> SheetJob | StickJob:
    """A kept instance, its lengths times `scale`."""
    data = json.loads((KEPT / f"{name}.json").read_text(encoding="utf-8"))
    kerf = data["kerf"] * scale
    if data["kind"] == "1d":
        sticks = tuple(
            StickStock(f"stock-{i}", s["len"] * scale, s["cost"], s["qty"], s["remnant"])
            for i, s in enumerate(data["stock"])
        )
        rails = tuple(
            StickPiece(f"piece-{i}", p["len"] * scale, p["qty"])
            for i, p in enumerate(data["pieces"])
        )
        return StickJob(name, sticks, rails, StickRules(kerf=kerf))
    sheets = tuple(
        SheetStock(f"stock-{i}", s["w"] * scale, s["h"] * scale, s["cost"], s["qty"], s["remnant"])
        for i, s in enumerate(data["stock"])
    )
    pieces = tuple(
        SheetPiece(f"piece-{i}", p["w"] * scale, p["h"] * scale, p["qty"], data["rotate"])
        for i, p in enumerate(data["pieces"])
    )
    return SheetJob(name, sheets, pieces, SheetRules(kerf=kerf))


def sheet_job(
    seed: int,
    pieces: int,
    kind: str = "mat",
    offcuts: int = 0,
    step: int = 2,
    usual: float = 0.55,
) -> SheetJob:
    """An invented sheet job: kind mat, mat32, glass or foam; odd sizes are multiples of step.

    `usual` is how likely a piece is of a usual size.
    """
    rng = random.Random(seed)
    new = {
        "mat": ((512, 640, 900), (640, 960, 2100)),
        "mat32": ((512, 640, 900),),
        "glass": ((384, 480, 850), (512, 640, 1400), (640, 960, 2900)),
        "foam": ((512, 640, 600), (640, 960, 1150)),
    }[kind]
    stock = [SheetStock(f"new-{w}x{h}", w, h, cost) for w, h, cost in new]
    for n in range(offcuts):
        w, h = rng.randrange(160, 400, 4), rng.randrange(200, 520, 4)
        part = w * h * 900 * (30 + rng.randrange(40)) // (100 * 512 * 640)
        stock.append(SheetStock(f"offcut-{n}", w, h, part, 1, offcut=True))
    widest, longest = max(w for w, _, _ in new), max(h for _, h, _ in new)
    made: dict[tuple[int, int], int] = {}
    left = pieces
    while left:
        if rng.random() < usual:
            w, h = rng.choice(USUAL)
            size, most = (w * 16, h * 16), 5 if pieces < 100 else 12
        else:
            short = rng.randrange(140, 420, step)
            size, most = (short, rng.randrange(short, min(580, 2 * short), step)), 3
        size = (min(size), max(size))
        if size[0] > widest or size[1] > longest:
            continue
        count = min(left, rng.randint(1, most) if rng.random() < 0.5 else 1)
        made[size] = made.get(size, 0) + count
        left -= count
    wanted = tuple(
        SheetPiece(f"piece-{n}", w, h, count) for n, ((w, h), count) in enumerate(made.items())
    )
    return SheetJob(f"{kind}{pieces}-seed{seed}", tuple(stock), wanted, SheetRules())


def stick_job(seed: int, pieces: int, lengths: tuple[int, ...], offcuts: int = 0) -> StickJob:
    """An invented stick job: frames of two or more pairs of rails, kerf 1/8 in."""
    rng = random.Random(seed)
    stock = [StickStock(f"new-{n}", n, n * 5 // 8, None) for n in lengths]
    for n in range(offcuts):
        length = rng.randrange(240, 1100, 2)
        stock.append(StickStock(f"offcut-{n}", length, length * 5 // 16, 1, offcut=True))
    made: dict[int, int] = {}
    left = pieces
    while left >= 4:
        short = rng.randrange(150, 500, 2)
        frames = rng.choice((1, 1, 1, 1, 2, 3, 6))
        frames = min(frames, left // 4)
        for length in (short, rng.randrange(short, short * 3 // 2, 2)):
            made[length] = made.get(length, 0) + 2 * frames
        left -= 4 * frames
    wanted = tuple(StickPiece(f"rail-{n}", n, count) for n, count in made.items())
    return StickJob(f"rail{pieces}-seed{seed}", tuple(stock), wanted, StickRules(kerf=2))
