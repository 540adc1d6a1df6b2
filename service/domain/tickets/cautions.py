"""The usual cautions, short. They never stand in for local codes, a data sheet or training.

Sources: toolbox talks on knives, glass suppliers' handling guides, saw manuals, and published
advice on hanging; all are common practice.
"""

from __future__ import annotations

CAUTIONS: dict[str, str] = {
    "blade": "Cut away from the body; turn the blade out before the rail is lifted; used blades go "
    "into a sharps container.",
    "glass": "Gloves with grip and eye protection; let a breaking sheet fall, never catch it; pick "
    "up no splinters by hand.",
    "two_people": "Large sheet: two people, carried on edge, the way clear first.",
    "saw": "Guards in place, eye and ear protection, no gloves near the moving blade; clamp short "
    "rails and wait for the blade to stop.",
    "joiner": "Keep hands out of the joiner's line; take its air or plug off to clear a jam.",
    "points": "Keep hands out of the point driver's line.",
    "ventilation": "Ventilate while spray or adhesive is open, no flame or sparks; read the data "
    "sheet.",
    "heat": "Hot press or iron: mind burns.",
    "hanging": "The weight is an estimate. Fix into sound wood; not over beds, cots or seats; look "
    "at wire and fixings again every few years.",
    "heavy": "Heavy: two people and two hooks.",
    "installer": "Heavy hanging: ask a licensed installer; local building codes decide.",
    "building_code": "By doors, stairs, beds or in public rooms local building codes decide the "
    "glazing: ask a licensed installer.",
}
