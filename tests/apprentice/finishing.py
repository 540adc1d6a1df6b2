"""Sealing, the back, hangers, wire, wrapping."""

from __future__ import annotations

from tests.apprentice.bench import Bench, Frame, Part, need
from tests.apprentice.lines import line
from tests.apprentice.rails import metal
from tests.apprentice.readings import Reading


def _filled(bench: Bench) -> None:
    need(all(frame.held_by for frame in bench.frames.values()), "a frame is not filled")


@line("Seal the package's edge all round<each>: <how:all>.")
def seal_package(bench: Bench, how: str) -> None:
    need("package" in bench.facts, "there is no package to seal")
    need(all(frame.contents != "the package" for frame in bench.frames.values()), "it is framed")
    _done(bench, how)


@line("Seal the rabbet<each>: <how:all>.")
def seal_rabbet(bench: Bench, how: str) -> None:
    need(bench.frames, "there is no frame")
    for frame in bench.frames.values():
        need("joined" in frame.facts and not frame.contents, f"{frame.name} is not open to it")
    need("spare" not in bench.facts, "the package was tried without it")
    _done(bench, how)


@line("Glue <parts:parts><every>: in the rabbet.")
def frame_fillet(bench: Bench, parts: list[Part]) -> None:
    for part in parts:
        need("long" in part.made, f"{part.name} is not cut")
        part.facts.add("glued")
    named = parts[0].name.split(",")[0].removeprefix("Fillet of ")
    frame = bench.frames.get(named) or bench.frames.get("the frame")
    need(frame and "joined" in frame.facts and not frame.contents, f"{named} is not open to it")


@line("Lay out<each>: <how:all>.")
def lay_out(bench: Bench, how: str) -> None:
    bench.facts["laid out"] = how
    _done(bench, how)


@line("Put the hangers in the channel of <frame:frame><each>: one in each upright side.")
def channel(bench: Bench, frame: Frame) -> None:
    need(frame.open_side and metal(frame), "the channel is closed")
    need("laid out" in bench.facts, "no hangers are laid out")
    bench.facts["in channel"] = frame


@line(
    "Screw on the hangers<each>: <drop:figure> from the top edge, <inset:figure> from each side "
    "edge."
)
def screw_hangers(bench: Bench, drop: Reading, inset: Reading) -> None:
    _filled(bench)
    need(not any(metal(f) for f in list(bench.frames.values())[-1:]), "no wood to screw into")
    need("laid out" in bench.facts, "no hangers are laid out")
    bench.facts["hangers"] = (drop, inset)


@line("Set the hangers<each>: <drop:figure> from the top edge, <inset:figure> from each side edge.")
def set_hangers(bench: Bench, drop: Reading, inset: Reading) -> None:
    _filled(bench)
    need("in channel" in bench.facts, "no hangers are in the channel")
    bench.facts["hangers"] = (drop, inset)


@line(
    "Tie the wire<each>: cut <long:figure>, span <span:figure>, <rise:figure> above the hangers in "
    "the middle."
)
def wire(bench: Bench, long: Reading, span: Reading, rise: Reading) -> None:
    need("hangers" in bench.facts, "there are no hangers")
    bench.facts["wire"] = (long, span, rise)


@line("Finish<each>: <how:all>.")
def finish(bench: Bench, how: str) -> None:
    _filled(bench)
    covers = any(
        method["description"] == how and method["driver"].startswith("dust_cover")
        for method in bench.shop["finishing"]
    )
    need(not covers or "hangers" not in bench.facts, "the hangers are in the way")
    _done(bench, how)


@line("Other work: <what:all>.")
def other(bench: Bench, what: str) -> None:
    """Read only: the shop's standard times something that no step does."""
    bench.facts.setdefault("other", []).append(what)


@line("Clean the finished work and wrap it<each>.")
def wrap(bench: Bench) -> None:
    _filled(bench)
    bench.facts["wrapped"] = True


def _done(bench: Bench, how: str) -> None:
    done = bench.facts.setdefault("finished", [])
    need(how not in done, f"done already: {how}")
    done.append(how)
