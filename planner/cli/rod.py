"""`bobplan rod`: both ends of a connecting rod, weighed or worked out, and what spoils the weighing."""

from __future__ import annotations

from typing import Annotated

import typer

from planner.cli.console import ANSWER_IS_NO, leave, tell
from planner.cli.options import JsonOption, WorkOption, number
from planner.quantity import METRIC, parse_length_mm, parse_mass_g


def rod(
    small_end: Annotated[str | None, typer.Option(help="Weighed small end, rod level.")] = None,
    big_end: Annotated[str | None, typer.Option(help="Weighed big end, rod level.")] = None,
    whole: Annotated[str | None, typer.Option(help="The rod weighed whole.")] = None,
    scale: Annotated[str, typer.Option(help="What the scale shows.")] = "0.1 g",
    length: Annotated[str | None, typer.Option(help="Centre to centre.")] = None,
    centre: Annotated[
        str | None,
        typer.Option(
            "--centre-of-gravity", help="From the centre of the big end; splits --whole without weighing."
        ),
    ] = None,
    tilt: Annotated[str | None, typer.Option(help="Rod not level by so many degrees.")] = None,
    off_line: Annotated[str, typer.Option(help="Centre of gravity above the line of the two centres.")] = "0",
    friction: Annotated[str, typer.Option(help="Coefficient of friction of the support.")] = "0",
    contact_off: Annotated[str | None, typer.Option(help="Support so far outside the end's centre.")] = None,
    inertia: Annotated[
        str | None, typer.Option(help="Real moment of inertia about the centre of gravity [kg*m2].")
    ] = None,
    as_json: JsonOption = False,
    show_work: WorkOption = False,
) -> None:
    """Check a rod's two ends against the whole rod, or split it; what a rod that is not level weighs wrong."""
    from planner.present.pages.rod import G_MM2_PER_KG_M2, rod_document, rod_json
    from planner.steps.rod import WeighedRod, rod_answer, rod_working

    answer = rod_answer(
        WeighedRod(
            small_end_g=METRIC.given(small_end, "mass", name="--small-end", above=0.0),
            big_end_g=METRIC.given(big_end, "mass", name="--big-end", above=0.0),
            whole_g=METRIC.given(whole, "mass", name="--whole", above=0.0),
            length_mm=METRIC.given(length, "length", name="--length", above=0.0),
            centre_mm=METRIC.given(centre, "length", name="--centre-of-gravity", least=0.0),
        ),
        spoiled={
            "tilt_deg": 0.0 if tilt is None else number(tilt, what="--tilt"),
            "centre_off_line_mm": parse_length_mm(off_line, name="--off-line"),
            "friction": number(friction, what="--friction"),
            "contact_off_mm": METRIC.given(contact_off, "length", name="--contact-off") or 0.0,
        },
        real_gmm2=None if inertia is None else number(inertia, what="--inertia") * G_MM2_PER_KG_M2,
        scale_g=parse_mass_g(scale, name="--scale", above=0.0),
    )
    tell(answer, rod_json, rod_document, working=rod_working if show_work else None, as_json=as_json)
    if answer.check is not None and not answer.check.agrees:
        leave(ANSWER_IS_NO)
