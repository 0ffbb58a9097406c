"""What `bobplan start` asks, one thing at a time, and how each is measured."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterator

from planner.engine.layouts import layout
from planner.jobfile.new_job.checks import Answers, Question

_FROM_FRONT = (
    "tape along the crankshaft, zero at the middle of the front main bearing, toward the flange positive"
)

UNITS = Question(
    key="units",
    file="shop",
    path="units",
    text="millimetres or inches for lengths",
    kind="choice",
    choices=("mm", "in"),
    default="mm",
)
TITLE = Question(
    key="title", file="job", path="job.title", text="what the job is called", kind="text", default=""
)

_MACHINE = (
    Question(
        key="angle_direction",
        file="shop",
        path="machine.angle_direction",
        text="which way the machine's angles grow",
        kind="choice",
        choices=("ccw", "cw"),
        how="turn the crankshaft by hand clockwise, as you see it from the end where you stand, and watch the angle on the "
        "display: it rises = ccw, it falls = cw (`rises` and `falls` are answers too). The pointer stands still and the "
        "numbers are on the shaft: turned clockwise, the pointer meets what lies counter-clockwise on it. "
        "`bobplan prove` proves it with a known mass",
    ),
    Question(
        key="viewed_from",
        file="shop",
        path="machine.viewed_from",
        text="seen from which end of the crankshaft",
        kind="choice",
        choices=("front", "rear"),
        how="where you stood when you turned it by hand and called it clockwise: at the nose (front) or at the flange (rear)",
    ),
    Question(
        key="angle_zero",
        file="shop",
        path="machine.angle_zero",
        text="where the machine's 0 is: `throw NAME`, or degrees in the crankshaft's frame",
        kind="zero",
        default="throw 1",
        how="where the mark or sensor is put on the crankshaft",
    ),
    Question(
        key="angle_marks",
        file="shop",
        path="machine.angle_marks",
        text="what the angle shown marks: heavy spot (take off there) or light spot (add there)",
        kind="choice",
        choices=("heavy spot", "light spot"),
        how="the machine's manual, or a known mass: `bobplan prove`",
    ),
    Question(
        key="amounts",
        file="shop",
        path="machine.amounts",
        text="what the display shows: unbalance, or mass at a radius",
        kind="choice",
        choices=("unbalance", "mass"),
        default="unbalance",
    ),
    Question(
        key="drill_offset",
        file="shop",
        path="machine.drill_offset",
        text="how many machine degrees the drill stands away from the pointer",
        kind="angle",
        default="0",
        how="turn the place that the machine calls 0 under the drill: what the display shows then is the offset, 350 is "
        "the same as -10. Number to dial = place + offset: with 90, a heavy spot at 40 is under the drill when the display "
        "shows 130",
    ),
    Question(
        key="drills",
        file="shop",
        path="shop.drills",
        text="drills at hand, with spaces or commas between",
        kind="lengths",
        how="the sizes that you would drill a counterweight with, also by number, letter or tap: `#7`, `letter F`, "
        "`tap 3/8-16` (its tap drill)",
    ),
)

_CRANKSHAFT = (
    Question(
        key="layout",
        file="crankshaft",
        path="throws",
        text="layout of the engine, its name or its number in `bobplan engine --list`",
        kind="layout",
        how="`bobplan engine --list` shows the layouts; for another one list the throws yourself",
    ),
    Question(
        key="rotation",
        file="crankshaft",
        path="engine.rotation",
        text="which way the engine turns as seen from the front",
        kind="choice",
        choices=("cw", "ccw"),
        default="cw",
    ),
    Question(
        key="radius",
        file="crankshaft",
        path="throws[].radius",
        text="throw radius, half the stroke",
        kind="length",
        how="half the stroke; or a crankpin's height at the top minus at the bottom, halved",
    ),
    Question(
        key="first_throw_z",
        file="crankshaft",
        path="throws[].z",
        text="z of the first throw (middle of its crankpin)",
        kind="place",
        how=_FROM_FRONT + "; to the middle of every crankpin",
    ),
    Question(
        key="spacing",
        file="crankshaft",
        path="throws[].z",
        text="distance from one throw to the next",
        kind="length",
        how="tape from the same edge of one crankpin to that of the next",
    ),
    Question(
        key="bearing_1_z",
        file="crankshaft",
        path="crankshaft.bearing_1_z",
        text="z of the front bearing",
        kind="place",
        default="0",
        how="0 when z counts from the middle of the front main bearing",
    ),
    Question(
        key="bearing_2_z",
        file="crankshaft",
        path="crankshaft.bearing_2_z",
        text="z of the rear bearing",
        kind="place",
        how=_FROM_FRONT + "; to the middle of the rear main bearing",
    ),
    Question(
        key="mass",
        file="crankshaft",
        path="crankshaft.mass",
        text="mass of the crankshaft (kg, in inches lb, or with its unit)",
        kind="rotor mass",
        how="on a scale, bare; a grade needs it",
    ),
    Question(
        key="material",
        file="crankshaft",
        path="crankshaft.material",
        text="material",
        kind="material",
        default="forged steel",
        how="a thin parting line is cast, a broad one ground over is forged (common practice)",
    ),
    Question(
        key="speed",
        file="crankshaft",
        path="crankshaft.service_speed_rpm",
        text="greatest service speed of the engine, rpm",
        kind="speed",
        how="ask the builder; a grade needs it",
    ),
    Question(
        key="left_plane",
        file="crankshaft",
        path="planes.left",
        text="z of the left reading plane, as set on the machine",
        kind="place",
        how=_FROM_FRONT + "; by habit the middle of the front counterweight (left may be the rear one)",
    ),
    Question(
        key="right_plane",
        file="crankshaft",
        path="planes.right",
        text="z of the right reading plane",
        kind="place",
        how=_FROM_FRONT + "; by habit the middle of the rear counterweight",
    ),
)

_RADII = tuple(
    Question(
        key=f"{side}_radius",
        file="crankshaft",
        path=f"planes.{side}_radius",
        text=f"radius at which the machine states masses, {side}",
        kind="length",
        how="the correction radius that is set on the machine",
    )
    for side in ("left", "right")
)

_OUTLINE = (
    Question(
        key="counterweights",
        file="crankshaft",
        path="counterweights",
        text="how many counterweights there are",
        kind="count",
        how="count them; each needs its z and the angle of its centre line",
    ),
    Question(
        key="thickness",
        file="crankshaft",
        path="counterweights[].thickness",
        text="thickness of a counterweight",
        kind="length",
        how="caliper, along the shaft, away from fillets",
    ),
    Question(
        key="outer_radius",
        file="crankshaft",
        path="counterweights[].outline",
        text="outer radius of a counterweight",
        kind="length",
        how="caliper from the rim to the far side of a main bearing, minus half that bearing's diameter",
    ),
    Question(
        key="half_angle",
        file="crankshaft",
        path="counterweights[].outline",
        text="half angle of the fan in degrees, or `chord LENGTH` across its two rim corners",
        kind="half angle",
        how="tape straight across the two rim corners: half angle = arcsin(chord / (2 x outer radius)); "
        "a chord of 149.3 at radius 88 is 58 degrees; above 90 degrees it is 180 minus that",
    ),
    Question(
        key="inner_radius",
        file="crankshaft",
        path="counterweights[].outline",
        text="inner radius, below which nothing is drilled",
        kind="length",
        how="from the shaft axis to where the web's body begins, fillets included",
    ),
)

_JOB = (
    Question(
        key="tolerance",
        file="job",
        path="tolerance",
        text="tolerance: a grade such as `G 16`, or an amount each side such as `250 g*mm` or `3 g at 88 mm`",
        kind="tolerance",
        how="ask the builder",
        inches="tolerance: a grade such as `G 16`, or an amount each side such as `0.4 oz*in` or `3 g at 3.25 in`",
    ),
    *(
        Question(
            key=key,
            file="job",
            path=f"parts.{key}",
            text=f"{words} (one weight, or one per cylinder with spaces between)",
            kind="masses",
            how=how,
        )
        for key, words, how in (
            ("piston", "piston", "scale, to 0.1 g"),
            ("pin", "pin", "scale"),
            ("rings", "rings, all of one piston", "scale, all rings of one piston together"),
            ("clips", "clips, all of one piston", "scale; 0 where the pin is pressed in"),
            (
                "rod_small_end",
                "rod small end",
                "rod level, big end on a free support; `bobplan rod` checks the sum",
            ),
            (
                "rod_big_end",
                "rod big end",
                "rod level, small end on a free support; `bobplan rod` checks the sum",
            ),
            ("bearing_shells", "bearing shells, both halves of one rod", "scale"),
        )
    ),
    Question(
        key="oil_per_throw",
        file="job",
        path="parts.oil_per_throw",
        text="oil in one throw",
        kind="mass",
        default="4 g",
        how="2 to 5 g (common practice)",
    ),
    Question(
        key="reciprocating_fraction",
        file="job",
        path="parts.reciprocating_fraction",
        text="share of the reciprocating mass in the bobs",
        kind="fraction",
        default="0.5",
    ),
)

#: Asked last, so that answers from a pipe that end before are what they were.
_WHOSE = (
    Question(key="customer", file="job", path="job.customer", text="customer", kind="text"),
    Question(
        key="crankshaft_number",
        file="job",
        path="job.crankshaft_number",
        text="number of this crankshaft (stamped, or the shop's own)",
        kind="text",
    ),
    Question(key="date", file="job", path="job.date", text="date, for the record (2026-01-31)", kind="date"),
)
_BUILT = (
    *(
        Question(
            key=name,
            file="crankshaft",
            path="mounted",
            text=f"{words}: `neutral`, or the unbalance that it carries in the engine, `20 oz*in at 180, z 545`",
            inches=f"{words}: `neutral`, or the unbalance that it carries in the engine, `20 oz*in at 180, z 21.5`",
            kind="mounted",
            how="stamped on it or in the maker's data: an engine balanced externally has its unbalance in damper and flywheel; "
            "the angle counts counter-clockwise seen from the front, z from the middle of the front main bearing",
        )
        for name, words in (("damper", "damper or pulley"), ("flywheel", "flywheel or flexplate"))
    ),
    Question(
        key="built_for",
        file="crankshaft",
        path="crankshaft.built_for_bob",
        text="bob mass per throw that the crankshaft was built (last balanced) for",
        kind="mass",
        how="from the last balancing's record or the maker; `bobplan quote` says with it whether heavy metal is likely",
    ),
)
_STOP = Question(
    key="depth_to",
    file="shop",
    path="shop.depth_to",
    text="what the depth stop counts to: the drill's shoulder (where its full diameter ends) or its tip",
    kind="choice",
    choices=("shoulder", "tip"),
    how="set the stop to 0 as you always do and look at the drill: only its point touches the metal = tip; its full diameter "
    "is level with the surface = shoulder",
)
OPTIONAL = ("title", *(each.key for each in (*_WHOSE, *_BUILT, _STOP)))
"""Keys that need not be answered: nothing waits for them."""
ONCE = ("title", "customer", "crankshaft_number", "date")
"""Keys whose answers belong to one job: they are never offered again."""

NEEDS_LAYOUT = ("first_throw_z", "spacing", "radius", "rotation")


def counterweight_questions(number: int, opposite_deg: float | None) -> tuple[Question, Question]:
    """Return what is asked of counterweight ``number`` (0 = first): its z, and its angle (opposite a throw)."""
    name = counterweight_name(number)
    return (
        Question(
            key=f"counterweight_{number + 1}_z",
            file="crankshaft",
            path="counterweights[].z",
            text=f"z of counterweight {name} (its middle)",
            kind="place",
            how=_FROM_FRONT + "; to the middle of every counterweight",
        ),
        Question(
            key=f"counterweight_{number + 1}_angle",
            file="crankshaft",
            path="counterweights[].angle",
            text=f"angle of the centre line of counterweight {name}, counter-clockwise seen from the front",
            kind="angle",
            default=None if opposite_deg is None else f"{opposite_deg:g}",
            how="degree wheel at the nose, 0 at throw 1; half way between its two rim corners",
        ),
    )


def counterweight_name(number: int) -> str:
    """Return A, B, .. Z, A2, B2, .. for 0, 1, .."""
    turn, letter = divmod(number, 26)
    return chr(ord("A") + letter) + (str(turn + 1) if turn else "")


def questions(
    answers: Answers, *, ask_shop: bool, ask_crankshaft: bool, opposite_deg: Callable[[int], float | None]
) -> Iterator[Question]:
    """Return one question after the other; which come depends on the answers so far.

    Parameters
    ----------
    answers : mapping
        Filled by the caller while the questions come.
    ask_shop, ask_crankshaft : bool
        False when such a file is there already.
    opposite_deg : callable
        Counterweight number to the angle opposite its throw [deg], None when not known.
    """
    for question in _in_turn(answers, ask_shop, ask_crankshaft, opposite_deg):
        inches = answers.get("units") == "in" and question.inches
        yield dataclasses.replace(question, text=question.inches) if inches else question


def _in_turn(
    answers: Answers, ask_shop: bool, ask_crankshaft: bool, opposite_deg: Callable[[int], float | None]
) -> Iterator[Question]:
    yield TITLE
    yield UNITS
    if ask_shop:
        yield from _MACHINE
    if ask_crankshaft:
        for question in _CRANKSHAFT:
            if question.key in NEEDS_LAYOUT and answers.get("layout") is None:
                continue
            if question.key == "spacing" and _places(answers) < 2:
                continue
            yield question
        if answers.get("amounts") == "mass":
            yield from _RADII
        yield _OUTLINE[0]
        count = int(answers.get("counterweights") or 0)
        if count:
            yield from _OUTLINE[1:]
        for number in range(count):
            yield counterweight_questions(number, None)[0]
            # which throw it is opposite to is known only now
            yield counterweight_questions(number, opposite_deg(number))[1]
    yield from _JOB
    yield from _WHOSE
    if ask_crankshaft:
        yield from _BUILT
    if ask_shop:
        yield _STOP


def _places(answers: Answers) -> int:
    name = answers.get("layout")
    return 0 if name is None else len({throw.z for throw in layout(name).throws})


#: All questions but those of each counterweight.
ALL_QUESTIONS = (TITLE, UNITS, *_MACHINE, *_CRANKSHAFT, *_RADII, *_OUTLINE, *_JOB, *_WHOSE, *_BUILT, _STOP)
