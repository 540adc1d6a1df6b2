"""The sheets and sticks of a cutting plan: what lies where on each, and its cuts one by one."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import Literal

from schemas.cutting.records import CutPlan
from schemas.cutting.shapes import (
    PlanFallen,
    PlanLeftover,
    PlanPlacement,
    PlanStep,
    PlanUse,
)
from schemas.materials.records import StockSize
from schemas.wire.figures import Figures, number
from schemas.wire.record import UNSET
from service.domain.cutting.plan import Axis, Fate, SheetUse, StickUse
from service.domain.cutting.steps import (
    Fallen,
    Outcome,
    SheetStep,
    StickStep,
    sheet_steps,
    stick_steps,
)
from service.domain.cutting.stock import StickRules
from service.domain.measure.length import Length

ACROSS: dict[Axis, Literal["width", "height"]] = {Axis.X: "width", Axis.Y: "height"}


class Names:
    """The labels of a plan's pieces: the wish's key, and the copy number."""

    def __init__(self, plan: CutPlan) -> None:
        self._wish_of = plan.wish_of
        self._copies: dict[tuple[str, int], int] = {}
        made = Counter[str]()
        for item in plan.items:
            for use in item.plan.uses:
                for one in use.placements:
                    made[self.wish(one.piece)] += 1
                    self._copies[one.piece, one.copy] = made[self.wish(one.piece)]

    def wish(self, piece: str) -> str:
        """Return the key of the wish that a piece of the plan belongs to."""
        return self._wish_of[piece]

    def copy(self, piece: str, copy: int) -> int:
        """Return the copy number of this piece within its wish, in cutting order."""
        return self._copies[piece, copy]

    def shown(self, fallen: Fallen) -> str:
        """Return the label chalked on a cut-off part: for a piece, its wish's key and copy."""
        if fallen.outcome is not Outcome.PIECE:
            return fallen.label
        piece, _, copy = fallen.label.rpartition(" #")
        return f"{self.wish(piece)} #{self.copy(piece, int(copy))}"


def sheet_use(
    position: int, use: SheetUse, size: StockSize, names: Names, figures: Figures
) -> PlanUse:
    """Return the document of one sheet."""
    made = sum(one.w * one.h for one in use.placements)
    offcut = size.offcut
    return PlanUse(
        use=position + 1,
        source=size.source,
        label=UNSET if offcut is None else offcut.label,
        place=UNSET if offcut is None else offcut.place,
        cut_at="supplier" if use.beyond else "bench",
        width=figures.length(size.width),
        height=figures.length(size.height),
        utilisation=number(Fraction(made, use.width * use.height)),
        placements=tuple(
            PlanPlacement(
                piece=names.wish(one.piece),
                copy=names.copy(one.piece, one.copy),
                x=figures.length(Length(one.x)),
                y=figures.length(Length(one.y)),
                width=figures.length(Length(one.w)),
                height=figures.length(Length(one.h)),
                turned=one.rotated,
            )
            for one in use.placements
        ),
        leftovers=tuple(
            PlanLeftover(
                x=figures.length(Length(part.rect.x)),
                y=figures.length(Length(part.rect.y)),
                width=figures.length(Length(part.rect.w)),
                height=figures.length(Length(part.rect.h)),
                keep=part.fate is Fate.KEEP,
                label=None,
            )
            for part in use.leftovers
        ),
        steps=tuple(_sheet_step(step, names, figures) for step in sheet_steps(use)),
    )


def _sheet_step(step: SheetStep, names: Names, figures: Figures) -> PlanStep:
    setting = figures.length(Length(step.setting))
    return PlanStep(
        step=step.number,
        take=step.take,
        across=ACROSS[step.axis],
        setting=setting,
        kerf=figures.length(Length(step.kerf)),
        falls=_fallen(step.falls, names, figures),
        rests=None if step.rests is None else _fallen(step.rests, names, figures),
        text=_sheet_text(step, setting.shop, names, figures),
    )


def _fallen(fallen: Fallen, names: Names, figures: Figures) -> PlanFallen:
    return PlanFallen(
        fallen.outcome.value,
        names.shown(fallen),
        figures.length(Length(fallen.width)),
        figures.length(Length(fallen.height)) if fallen.height else UNSET,
    )


def _sheet_text(step: SheetStep, setting: str, names: Names, figures: Figures) -> str:
    what = "the sheet" if step.take == "sheet" else f"part {step.take}"
    from_where = "left edge" if step.axis is Axis.X else "lower edge"
    text = f"Take {what}; set {setting} from its {from_where}; cut. "
    text += f"Off comes {_doc(step.falls, names, figures)}"
    return text + (f"; left is {_doc(step.rests, names, figures)}." if step.rests else ".")


def _doc(fallen: Fallen, names: Names, figures: Figures) -> str:
    sides = (figures.length(Length(side)).shop for side in (fallen.width, fallen.height))
    shown, size = names.shown(fallen), " x ".join(sides)
    if fallen.outcome is Outcome.PIECE:
        return f"piece {shown}, {size}"
    if fallen.label == "sheet":
        return f"the sheet, {size}"
    if fallen.outcome is Outcome.PART:
        return f"part {shown}, {size}"
    return f"an offcut to keep, {size}" if fallen.outcome is Outcome.KEEP else "waste"


def stick_use(
    position: int,
    use: StickUse,
    size: StockSize,
    rules: StickRules,
    names: Names,
    figures: Figures,
) -> PlanUse:
    """Return the document of one stick; its leftover is measured before the far end is trimmed."""
    made = sum(one.length for one in use.placements)
    last = use.leftover + rules.tail_trim if use.leftover else 0
    leftover = PlanLeftover(
        start=figures.length(Length(use.length - last)),
        length=figures.length(Length(last)),
        keep=use.keep,
        label=None,
    )
    offcut = size.offcut
    return PlanUse(
        use=position + 1,
        source=size.source,
        label=UNSET if offcut is None else offcut.label,
        place=UNSET if offcut is None else offcut.place,
        length=figures.length(size.width),
        utilisation=number(Fraction(made, use.length)),
        placements=tuple(
            PlanPlacement(
                piece=names.wish(one.piece),
                copy=names.copy(one.piece, one.copy),
                start=figures.length(Length(one.start)),
                length=figures.length(Length(one.length)),
            )
            for one in use.placements
        ),
        leftovers=(leftover,) if last else (),
        steps=tuple(_stick_steps(stick_steps(use, rules), names, figures)),
    )


def _stick_steps(steps: Sequence[StickStep], names: Names, figures: Figures) -> Iterator[PlanStep]:
    trimmed = False
    for step in steps:
        setting = figures.length(Length(step.setting))
        yield PlanStep(
            step=step.number,
            setting=setting,
            kerf=figures.length(Length(step.kerf)),
            falls=_fallen(step.falls, names, figures),
            left=figures.length(Length(step.left)),
            text=_stick_text(step, setting.shop, names, trimmed=trimmed),
        )
        trimmed = step.falls.outcome is not Outcome.PIECE


def _stick_text(step: StickStep, setting: str, names: Names, *, trimmed: bool) -> str:
    """Return the text of one cut of a stick.

    After a rail the end leans the wrong way, so each rail begins with its own mitre.
    """
    if step.falls.outcome is not Outcome.PIECE:
        return f"Mitre the end; {setting} of the stick is lost with it."
    begin = "From" if trimmed else f"Mitre the end{' anew' if step.number > 1 else ''}; from"
    return (
        f"{begin} its long point measure {setting}; mitre it the other way there. "
        f"That is rail {names.shown(step.falls)}."
    )
