"""The shop's methods in the order of work: sealing, the back, hanging, the last touches."""

from __future__ import annotations

from collections.abc import Iterator

from service.domain.measure.units import MG_PER_KG
from service.domain.shop import Method, MethodStage
from service.domain.tickets.stages import Stage
from service.domain.tickets.steps.draft import Bundle, Draft
from service.domain.tickets.steps.rails import closed_last

VENTED = frozenset({"pressed_mounts", "dust_cover_square_feet"})
HANGING = "hanging_sets"
_BY_DRIVER: dict[str, MethodStage] = {"dust_cover_square_feet": "cover", HANGING: "hang"}
_STAGE: dict[MethodStage, Stage] = {
    "seal": "seal",
    "rabbet": "rabbet",
    "cover": "cover",
    "hang": "hang",
}
_LEAD: dict[MethodStage, str] = {
    "seal": "Seal the package's edge all round",
    "rabbet": "Seal the rabbet",
}


def stage_of(method: Method) -> MethodStage:
    """Return when a finishing method is done; its driver decides if the shop does not say."""
    return method.stage or _BY_DRIVER.get(method.driver, "last")


def methods(bundle: Bundle, stage: MethodStage) -> tuple[Method, ...]:
    """Return the job's methods of one stage; of fitting, the mounting's too."""
    job = bundle.made.job
    mounting = (job.mounting,) if job.mounting and job.mounting.stage == stage else ()
    return (*mounting, *(method for method in job.finishing if stage_of(method) == stage))


def finish_drafts(bundle: Bundle) -> list[Draft]:
    """Return one step for each finishing method that is not part of the fitting.

    Without a frame there is no rabbet to seal, without a sheet no package.
    """
    left_out = {"fit" if bundle.made.sizes.frames else "rabbet"}
    if not bundle.sheets():
        left_out.add("seal")
    return [
        _finish_draft(bundle, method)
        for method in bundle.made.job.finishing
        if stage_of(method) not in left_out
    ]


def _finish_draft(bundle: Bundle, method: Method) -> Draft:
    stage = stage_of(method)
    lead = _LEAD.get(stage, "Finish")
    cautions = method_cautions(bundle, method)
    lines = [f"{lead}{bundle.each()}: {method.description}."]
    if stage == "hang":
        lines = list(_hanging_lines(bundle, method)) or lines
    return Draft(
        _STAGE.get(stage, "last"),
        stage if stage in _LEAD else "finish",
        lines=tuple(lines),
        cautions=(*cautions, "foil") if stage in _LEAD else cautions,
        drives={method.driver: 1} if method.driver else {},
    )


def _hanging_lines(bundle: Bundle, method: Method) -> Iterator[str]:
    """Yield the place of the rings, and the length and rise of the wire if there is one."""
    text, found = bundle.text, bundle.made.hanging
    if found is None:
        return
    in_channel = bool(hanger_drafts(bundle))
    if not in_channel:
        yield _laid_out(bundle, method)
    yield (
        f"{'Set' if in_channel else 'Screw on'} the hangers{bundle.each()}: "
        f"{text(found.ring_drop)} from the top edge, {text(found.ring_inset)} from each side edge."
    )
    if found.wire and any(use.role == "wire" for use in method.uses):
        yield (
            f"Tie the wire{bundle.each()}: cut {text(found.wire)}, span {text(found.span)}, "
            f"{text(found.rise)} above the hangers in the middle."
        )


def _laid_out(bundle: Bundle, method: Method) -> str:
    return f"Lay out{bundle.each()}: {method.description}."


def hanger_drafts(bundle: Bundle) -> list[Draft]:
    """Return the step that puts hangers in a metal frame's channel before it is closed."""
    frames = bundle.made.sizes.frames
    hung = [m for m in bundle.made.job.finishing if m.driver == HANGING]
    if not frames or not hung or not closed_last(bundle, len(frames) - 1):
        return []
    name = bundle.frame(len(frames) - 1)
    line = f"Put the hangers in the channel of {name}{bundle.each()}: one in each upright side."
    laid_out = [_laid_out(bundle, method) for method in hung]
    return [Draft("channel", "hangers", lines=(*laid_out, line))]


def wrap_draft(bundle: Bundle) -> Draft:
    """Return the last step: the finished work is cleaned and wrapped."""
    return Draft(
        "wrap",
        "wrap",
        lines=(f"Clean the finished work and wrap it{bundle.each()}.",),
        drives={"wraps": 1},
    )


def method_cautions(bundle: Bundle, method: Method) -> tuple[str, ...]:
    """Return the codes of the cautions that a method calls for."""
    found = []
    if method.driver in VENTED:
        found.append("ventilation")
    if method.driver == "pressed_mounts":
        found.append("heat")
    if method.driver == HANGING:
        found.extend(_hanging_cautions(bundle))
    return tuple(found)


def _hanging_cautions(bundle: Bundle) -> list[str]:
    safety, weight = bundle.shop.safety, bundle.made.weight_mg
    found = ["hanging"]
    if weight >= safety.installer_kg * MG_PER_KG:
        found.append("installer")
    elif weight >= safety.heavy_kg * MG_PER_KG:
        found.append("heavy")
    if bundle.made.job.glazing:
        found.append("building_code")
    return found
