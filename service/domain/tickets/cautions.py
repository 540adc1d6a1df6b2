"""The cautions of the bench, by code; a step names those that apply to it.

Common practice, no source, where none is named. They never replace local codes, a data sheet,
training or the advice of a licensed or qualified person.
"""

from __future__ import annotations

CAUTIONS: dict[str, str] = {
    "blade": "Cut away from the body; turn the blade out before the rail is lifted; used blades go "
    "into a sharps container.",
    "glass": "Gloves with grip and eye protection; let a breaking sheet fall, never catch it; pick "
    "up no splinters by hand.",
    "two_people": "Large sheet: two people, carried on edge, the way clear first.",
    "lift": "Heavy: two people lift and turn it.",
    "trained": "Only for a hand that is trained on this machine or this work.",
    "saw": "Guards in place, eye and ear protection, no gloves near the moving blade; clamp short "
    "pieces and wait for the blade to stop.",
    # Fibreboard dust counts as hardwood dust (HSE EH40, as told by proaktive.co.uk).
    "dust": "Wood and fibreboard dust harms the lungs: extraction and a dust mask; local limits "
    "apply.",
    "chips": "Plastic chips and splinters fly: eye protection, the sheet held down, the blade "
    "meant for plastics.",
    "snap": "Plastic can shatter as it snaps: eye protection, both hands on the flat of the sheet.",
    # Hot chips of aluminium must not reach wood dust (common practice, no source).
    "metal_saw": "Sawing aluminium: clamp, lubricant, blade stopped before it is raised; hot chips "
    "and sharp burrs; no wood-dust extraction.",
    "chopper": "Chopper: hands behind the guard, blade locked when it is not in use.",
    "joiner": "Keep hands out of the joiner's line; take its air or plug off to clear a jam.",
    "points": "Keep hands out of the point driver's line.",
    "foil": "Foil tape has sharp edges: press it down with a tool, not with the finger.",
    "ventilation": "Ventilate while spray or adhesive is open, no flame or sparks; read the data "
    "sheet.",
    "solvents": "Glass cleaner and solvents: ventilate, no flame or sparks, none near the art; "
    "read the data sheet.",
    "heat": "Hot press or iron: mind burns.",
    # The cut-off year of lead paint in United States housing: 40 CFR part 745 (from memory).
    "lead": "Old gilding or paint (before 1978 or unknown) may hold lead: no dry sanding, gloves; "
    "ask a qualified person.",
    # Isolate what comes in: museumpests.net; mould: nps.gov museum primer 5.1.
    "pests": "Insects or mould in an old frame or backing: keep it apart, do not brush it; ask a "
    "conservator.",
    "hanging": "The weight is an estimate. Fix into sound wood; not over beds, cots or seats; look "
    "at wire and fixings again every few years.",
    "heavy": "Heavy: two people and two hooks.",
    "installer": "Heavy hanging: ask a licensed installer; local building codes decide.",
    "building_code": "By doors, stairs, beds or in public rooms local building codes decide the "
    "glazing: ask a licensed installer.",
}
