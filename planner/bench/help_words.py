"""Help in place: what a part of the page is for, and what its words mean."""

from __future__ import annotations

from collections.abc import Mapping

HELP: Mapping[str, tuple[str, ...]] = {
    "parts": (
        "The lightest part of a kind is left alone, the others are ground down to it.",
        "The bob stands in for rods and pistons on a throw: what turns, and a share of what goes to and "
        "fro (common practice: one half).",
        "What a slider shows is only worked out; nothing of it is stored.",
    ),
    "spin": (
        "Type what the display shows, as it shows it: commas and fractions are read, the unit is the one "
        "beside the box.",
        "The drawing is the crankshaft from the end that the machine looks from, in the machine's own "
        "numbers; L and R are the heavy spots of the left and of the right plane.",
        "A display that marks the light spot points opposite to them: the drawing shows the heavy side, "
        "where metal comes off.",
        "Nothing is entered before somebody has looked whether the heavy spot is there. If it is not, a "
        "setting of the machine is wrong: the known-mass walk-through under Shop finds which.",
    ),
    "cut": (
        "The dial number brings the place under the drill, the stop says how deep. Tap a number to type "
        "what it came out as.",
        "Made as shown enters the cut; the rest is planned again for the metal that is there.",
        "Drag the hole along the rim, or pull its depth: the plan with the hole there is shown beside "
        "the plan by the files, and nothing is stored before you take it.",
        "Undo, at the top, takes back the newest entry.",
    ),
    "judge": (
        "In tolerance: inside the limit by more than the readings may be off. Too close to call: nearer "
        "to the limit than that; another spin of the same state may decide it.",
        "Foretold is what the plan said this spin would show; far from it means that a cut, a bob or a "
        "setting is not what it is taken for.",
    ),
    "shop": (
        "A shop file may serve many jobs: what is changed there counts for all of them.",
        "Proved means: a known mass at a known place read as the settings say, on this machine.",
    ),
    "prove": (
        "First a spin without the mass, then one with it at each of two places that are not in one line; nothing else "
        "is changed in between. What the readings changed by says how the machine counts.",
        "Every reading is in the job's file at once and counts as no spin of its own; Undo, at the top, takes it back.",
        "The number at the pointer tells a wrong zero from a wrong marked spot. A line under the drill tests where the "
        "drill stands.",
        "Mending writes the setting that fits into the file that has it; spins entered before stay as they were read.",
    ),
    "quote": (
        "Before any spin the unbalance is only known roughly: the chance is over all that it may be.",
        "A price is shown where the shop states what work and metal cost.",
    ),
}
