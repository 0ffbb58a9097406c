"""``bobplan grade``: the residual that a balance grade permits, without a job file."""

from __future__ import annotations

import re
from typing import Annotated

import typer

from planner.cli.console import note, say_json, show, tell
from planner.cli.options import JsonOption, WorkOption
from planner.errors import InputError
from planner.quantity import METRIC, parse_length_mm, parse_mass_g, parse_speed_rpm
from planner.rotor.grades import parse_grade_mm_per_s


def grade(
    grade: Annotated[
        str | None, typer.Option("--grade", "-g", help="Balance grade: 6.3, G6.3 or 'G 6.3'.")
    ] = None,
    mass: Annotated[
        str | None, typer.Option(help="Mass of the crankshaft, for example '25 kg'; bare numbers are g.")
    ] = None,
    drive_mass: Annotated[
        str | None,
        typer.Option(
            help="Mass of the crankshaft drive: the crankshaft with what turns with it (flywheel, clutch, pulley, damper)."
        ),
    ] = None,
    speed: Annotated[
        str | None, typer.Option(help="Greatest service speed of the engine [rpm], not the machine's.")
    ] = None,
    bearing_1_z: Annotated[str | None, typer.Option(help="Where bearing 1 is; bare numbers are mm.")] = None,
    bearing_2_z: Annotated[str | None, typer.Option(help="Where bearing 2 is.")] = None,
    centre_of_mass_z: Annotated[
        str | None, typer.Option(help="Where the centre of mass is; the middle of the bearings if left out.")
    ] = None,
    plane_1_z: Annotated[
        str | None,
        typer.Option(help="Where one correction plane is: static and couple limits are shown too."),
    ] = None,
    plane_2_z: Annotated[str | None, typer.Option(help="Where the other one is.")] = None,
    radius: Annotated[
        str | None, typer.Option(help="Also show the residual as grams at this radius.")
    ] = None,
    list_grades: Annotated[bool, typer.Option("--list", help="Print the table of grades.")] = False,
    show_work: WorkOption = False,
    as_json: JsonOption = False,
) -> None:
    """Show the residual unbalance that a balance grade permits, in total and per bearing."""
    from planner.present.pages.grade import (
        grade_document,
        grade_json,
        grade_questions,
        grades_document,
        grades_json,
    )
    from planner.steps.grade import GradeQuestion, grade_answer, grade_working

    if list_grades:
        tell(None, lambda _: grades_json(), lambda _: grades_document(), as_json=as_json)
        return
    whole = mass if drive_mass is None else drive_mass
    missing = [
        name for name, value in (("--grade", grade), ("--mass", whole), ("--speed", speed)) if value is None
    ]
    if grade is None or whole is None or speed is None:
        raise InputError(
            f"not given: {', '.join(missing)}; a permissible residual needs grade, mass and service speed",
            hint="for example: bobplan grade --grade 6.3 --mass '25 kg' --speed 6500, or --list for the grades",
        )
    bearings = _two(
        (bearing_1_z, "--bearing-1-z"),
        (bearing_2_z, "--bearing-2-z"),
        needed=centre_of_mass_z is not None,
        fault="given only some of --bearing-1-z, --bearing-2-z, --centre-of-mass-z; the shares need both bearings",
        hint="give both bearings, or none of the three for half and half",
    )
    question = GradeQuestion(
        grade_mm_per_s=parse_grade_mm_per_s(grade),
        mass_g=_mass_g(mass, drive_mass),
        of_drive=drive_mass is not None,
        speed_rpm=parse_speed_rpm(speed, name="--speed", above=0.0),
        bearings_z_mm=bearings,
        centre_of_mass_z_mm=METRIC.given(centre_of_mass_z, "length", name="--centre-of-mass-z"),
        planes_z_mm=_two(
            (plane_1_z, "--plane-1-z"),
            (plane_2_z, "--plane-2-z"),
            needed=False,
            fault="static and couple limits need both planes and both bearings",
            hint="--plane-1-z, --plane-2-z, --bearing-1-z and --bearing-2-z",
        ),
        radius_mm=METRIC.given(radius, "length", name="--radius", above=0.0),
    )
    answer = grade_answer(question)
    # "25" and "25 g" are kilograms that lost their unit; "0.5 kg" was meant as it stands
    bare = re.fullmatch(r"[0-9.\s]+(g|grams?)?", whole.casefold().strip()) is not None
    for text in grade_questions(question, unit_is_missing=bare):
        note(f"note: {text}")
    if as_json:
        say_json(grade_json(answer, show_work=show_work))
    else:
        show(grade_document(answer), working=grade_working(answer) if show_work else ())


def _two(
    first: tuple[str | None, str],
    second: tuple[str | None, str],
    *,
    needed: bool,
    fault: str,
    hint: str,
) -> tuple[float, float] | None:
    """Return two places [mm] that are given together, or None where neither is."""
    (one, name), (other, other_name) = first, second
    if one is None and other is None and not needed:
        return None
    if one is None or other is None:
        raise InputError(fault, hint=hint)
    return parse_length_mm(one, name=name), parse_length_mm(other, name=other_name)


def _mass_g(mass: str | None, drive_mass: str | None) -> float:
    """Return the mass that counts [g]: the drive's where it is given, which is no less than the crankshaft's."""
    own = METRIC.given(mass, "mass", name="--mass", above=0.0)
    if drive_mass is None:
        assert own is not None
        return own
    drive = parse_mass_g(drive_mass, name="--drive-mass", above=0.0)
    if own is not None and drive < own:
        raise InputError(
            f"--drive-mass: given `{drive_mass}`, less than the crankshaft's own `{mass}`, which is part of the drive",
            hint="weigh the crankshaft with flywheel, clutch, pulley and damper",
        )
    return drive
