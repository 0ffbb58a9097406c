"""``bobplan grade``: the residual that a balance grade permits, without a job file."""

from __future__ import annotations

import re
import textwrap
from typing import Annotated, Any

import typer

from planner.cli.console import note, say, say_json
from planner.errors import InputError
from planner.quantity import format_unbalance, from_gmm, parse_length_mm, parse_mass_g, parse_speed_rpm
from planner.rotor.grades import (
    BALANCE_GRADES,
    BalanceGrade,
    next_standard_grade,
    parse_grade_mm_per_s,
    permissible_eccentricity_um,
    permissible_residual_gmm,
    standard_grade,
)
from planner.rotor.tolerance import (
    Allocation,
    StaticAndCouple,
    allocate,
    grams_at_radius_g,
    static_and_couple,
)
from planner.rotor.tolerance_work import allocation_work, residual_work

# lighter than this is a typing slip, not a crankshaft [g]
_LIGHT_G = 1000.0
# slower than this is more likely the balancing machine's speed than an engine's [rpm]
_SLOW_RPM = 1000.0


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
    show_work: Annotated[
        bool, typer.Option("--show-work", help="Print the formulas with the numbers put in.")
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
) -> None:
    """Show the residual unbalance that a balance grade permits, in total and per bearing."""
    if list_grades:
        _print_list(as_json=as_json)
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
    grade_mm_per_s = parse_grade_mm_per_s(grade)
    mass_g = _mass_g(mass, drive_mass)
    speed_rpm = parse_speed_rpm(speed, name="--speed", above=0.0)
    mass_kg = mass_g / 1000.0
    total = permissible_residual_gmm(grade_mm_per_s, mass_kg=mass_kg, speed_rpm=speed_rpm)
    bearings, centre, allocation = _shares(bearing_1_z, bearing_2_z, centre_of_mass_z)
    pair = _static_and_couple(total, bearings, plane_1_z, plane_2_z)
    radius_mm = None if radius is None else parse_length_mm(radius, name="--radius", above=0.0)
    for text in _notes(grade_mm_per_s, whole, mass_g, speed_rpm):
        note(f"note: {text}")
    share_1, share_2 = allocation.shares
    if as_json:
        answer: dict[str, Any] = {
            "grade_mm_per_s": grade_mm_per_s,
            "standard_grade": standard_grade(grade_mm_per_s) is not None,
            "mass_kg": mass_kg,
            "speed_rpm": speed_rpm,
            "eccentricity_um": permissible_eccentricity_um(grade_mm_per_s, speed_rpm=speed_rpm),
            "total_gmm": total,
            "bearing_1_gmm": share_1 * total,
            "bearing_2_gmm": share_2 * total,
            "bearing_1_share": share_1,
            "bearing_2_share": share_2,
            "share_limited": allocation.limited,
            "centre_of_mass_z_mm": centre,
            "bearing_1_z_mm": None if bearings is None else bearings[0],
            "bearing_2_z_mm": None if bearings is None else bearings[1],
            "total_ozin": from_gmm(total, "oz*in"),
            "of_drive": drive_mass is not None,
            "static_and_couple": None
            if pair is None
            else {
                "static_gmm": pair.static_gmm,
                "couple_gmm": pair.couple_gmm,
                "case": pair.case,
                "needed": pair.needed,
            },
            "sources": list(_sources(grade_mm_per_s, allocation, pair)),
        }
        if radius_mm is not None:
            answer["radius_mm"] = radius_mm
            answer["total_g_at_radius"] = grams_at_radius_g(total, radius_mm=radius_mm)
        if show_work:
            answer["work"] = list(
                _work(grade_mm_per_s, mass_kg, speed_rpm, bearings, centre, allocation, total)
            )
        say_json(answer)
        return
    what = "crankshaft" if drive_mass is None else "crankshaft drive"
    say(f"G {grade_mm_per_s:g}, {what} {mass_kg:g} kg, greatest service speed {speed_rpm:g} rpm\n")
    names = ("bearing 1", "bearing 2")
    rows = [("in total", "", total, ""), *_bearing_rows(names, bearings, allocation, total)]
    for name, place, amount, share in rows:
        line = (
            f"{name:<10} {place:<13} {format_unbalance(amount, 'g*mm', digits=1):>14}"
            f"  {format_unbalance(amount, 'oz*in', digits=3):>14}"
        )
        if radius_mm is not None:
            grams = grams_at_radius_g(amount, radius_mm=radius_mm)
            line += f"  {grams:8.2f} g at {radius_mm:g} mm"
        say(f"{line}  {share}".rstrip())
    say(f"\n{_said_of_shares(bearings, centre, centre_of_mass_z is None, allocation)}")
    if pair is not None:
        say("\n" + "\n".join(_pair_lines(pair)))
    if drive_mass is None and _of_drives(grade_mm_per_s):
        say(
            "\nThe standard's row for crankshafts means the crankshaft drive: the crankshaft with what turns with it "
            "(flywheel, clutch,\npulley, damper, the rotating part of the rods). Where that is what the builder's grade is "
            "for, give its mass: `--drive-mass`\n(in a job: drive_mass under [tolerance]); a heavier rotor may keep more."
        )
    say("\n" + "\n".join(f"source: {text}" for text in _sources(grade_mm_per_s, allocation, pair)))
    if show_work:
        say()
        for text in _work(grade_mm_per_s, mass_kg, speed_rpm, bearings, centre, allocation, total):
            say(text)


def _mass_g(mass: str | None, drive_mass: str | None) -> float:
    """Return the mass that counts [g]: the drive's where it is given, which is no less than the crankshaft's."""
    own = None if mass is None else parse_mass_g(mass, name="--mass", above=0.0)
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


def _static_and_couple(
    total_gmm: float,
    bearings: tuple[float, float] | None,
    plane_1_z: str | None,
    plane_2_z: str | None,
) -> StaticAndCouple | None:
    if plane_1_z is None and plane_2_z is None:
        return None
    if plane_1_z is None or plane_2_z is None or bearings is None:
        raise InputError(
            "static and couple limits need both planes and both bearings",
            hint="--plane-1-z, --plane-2-z, --bearing-1-z and --bearing-2-z",
        )
    planes = (parse_length_mm(plane_1_z, name="--plane-1-z"), parse_length_mm(plane_2_z, name="--plane-2-z"))
    return static_and_couple(total_gmm, planes_z_mm=planes, bearings_z_mm=bearings)


def _pair_lines(pair: StaticAndCouple) -> list[str]:
    why = {
        (
            True,
            "between",
        ): "the planes are closer than a third of the bearings' distance: state the tolerance like this",
        (True, "overhung"): "both planes are outside the bearings: state the tolerance like this",
        (False, "between"): "the planes are far enough apart: limits at the bearings are the usual way",
    }[pair.needed, pair.case]
    rows = [("static", pair.static_gmm), ("couple, in each plane", pair.couple_gmm)]
    lines = [
        f"{name:<24} {format_unbalance(amount, 'g*mm', digits=1):>14}  {format_unbalance(amount, 'oz*in', digits=3):>14}"
        for name, amount in rows
    ]
    return [
        *lines,
        f"{why}; formulas from memory, to be checked against the standard",
        f'in a job: [tolerance] static = "{pair.static_gmm:.1f} g*mm", couple = "{pair.couple_gmm:.1f} g*mm"',
    ]


def _of_drives(grade_mm_per_s: float) -> bool:
    """Return whether the table's row of a grade, or the next one, is of crank drives."""
    row = standard_grade(grade_mm_per_s) or next_standard_grade(grade_mm_per_s)
    return row is not None and "crank drive" in row.machinery


def _sources(grade_mm_per_s: float, allocation: Allocation, pair: StaticAndCouple | None) -> tuple[str, ...]:
    """Return where the figures come from, and which of them are from memory."""
    row = standard_grade(grade_mm_per_s)
    sources = ["U_per = 1000 G m/omega and the grades: ISO 21940-11, table 1, in a public reproduction"]
    if row is not None and row.mark == "memory":
        sources.append(f"what G {row.grade_mm_per_s:g} is for: partly from memory")
    if _of_drives(grade_mm_per_s):
        sources.append("what belongs to a crankshaft drive: from memory of a footnote of the older standard")
    if not allocation.inboard:
        sources.append("limits 0.3..1.3 of rotors with the centre of mass outside the bearings: from memory")
    else:
        sources.append(
            "limits 0.3..0.7 of the shares: Bloch & Geitner, ch. 6, p. 307; the lever rule's clause in the standard: "
            "from memory"
        )
    if pair is not None:
        sources.append(
            "when static and couple limits are wanted: Bloch & Geitner, ch. 6, p. 307; their formulas: from memory"
        )
    return tuple(sources)


def _shares(
    bearing_1_z: str | None, bearing_2_z: str | None, centre_of_mass_z: str | None
) -> tuple[tuple[float, float] | None, float | None, Allocation]:
    """Return bearings [mm], centre of mass [mm] and the shares; half and half when no place is given."""
    if bearing_1_z is None and bearing_2_z is None and centre_of_mass_z is None:
        return None, None, Allocation(levers=(0.5, 0.5), shares=(0.5, 0.5), inboard=True)
    if bearing_1_z is None or bearing_2_z is None:
        raise InputError(
            "given only some of --bearing-1-z, --bearing-2-z, --centre-of-mass-z; the shares need both bearings",
            hint="give both bearings, or none of the three for half and half",
        )
    first = parse_length_mm(bearing_1_z, name="--bearing-1-z")
    second = parse_length_mm(bearing_2_z, name="--bearing-2-z")
    if first == second:
        raise InputError(
            f"given both bearings at z = {first:g} mm; they must be apart",
            hint="measure both from the same zero point",
        )
    if centre_of_mass_z is None:
        centre = 0.5 * (first + second)
    else:
        centre = parse_length_mm(centre_of_mass_z, name="--centre-of-mass-z")
    return (first, second), centre, allocate((first, second), centre_of_mass_z_mm=centre)


def _notes(grade_mm_per_s: float, mass: str, mass_g: float, speed_rpm: float) -> list[str]:
    """Return what is questioned in words, none of it an error."""
    notes = []
    if mass_g < _LIGHT_G:
        question = ""
        # "25" and "25 g" are kilograms that lost their unit; "0.5 kg" was meant as it stands
        if mass_g >= 1.0 and re.fullmatch(r"[0-9.\s]+(g|grams?)?", mass.casefold().strip()):
            question = f", did you mean {mass_g:g} kg? (bare numbers are grams; write --mass '{mass_g:g} kg')"
        notes.append(f"{mass_g:g} g is very light for a crankshaft{question}")
    if speed_rpm < _SLOW_RPM:
        notes.append(
            f"{speed_rpm:g} rpm is slow for an engine: the greatest service speed counts, "
            "not the balancing machine's"
        )
    if standard_grade(grade_mm_per_s) is None:
        finer = [row for row in BALANCE_GRADES if row.grade_mm_per_s < grade_mm_per_s]
        coarser: BalanceGrade | None = next_standard_grade(grade_mm_per_s)
        near = [f"G {row.grade_mm_per_s:g}" for row in (coarser, finer[0] if finer else None) if row]
        notes.append(f"G {grade_mm_per_s:g} is no standard grade; the nearest are {' and '.join(near)}")
    return notes


def _bearing_rows(
    names: tuple[str, str], bearings: tuple[float, float] | None, allocation: Allocation, total_gmm: float
) -> list[tuple[str, str, float, str]]:
    """Return name, place, amount [g*mm] and share of the two bearings."""
    rows = []
    for i in (0, 1):
        place = "" if bearings is None else f"z = {bearings[i]:g} mm"
        share = allocation.shares[i]
        rows.append((names[i], place, share * total_gmm, f"{100.0 * share:.0f} %"))
    return rows


def _said_of_shares(
    bearings: tuple[float, float] | None, centre: float | None, assumed: bool, allocation: Allocation
) -> str:
    if bearings is None:
        return "half at each bearing: the bearings were not given, so the centre of mass is taken midway"
    text = f"shared by the lever rule about the centre of mass at z = {centre:g} mm"
    if assumed:
        text += " (not given: the middle of the bearings)"
    if not allocation.inboard:
        text += ", which lies outside the bearings: each share is kept within 0.3..1.3 of the total"
    elif allocation.limited:
        text += "; each share is kept within 0.3..0.7 of the total"
    return text


def _work(
    grade_mm_per_s: float,
    mass_kg: float,
    speed_rpm: float,
    bearings: tuple[float, float] | None,
    centre: float | None,
    allocation: Allocation,
    total_gmm: float,
) -> tuple[str, ...]:
    lines = residual_work(grade_mm_per_s, mass_kg=mass_kg, speed_rpm=speed_rpm)
    if bearings is None or centre is None:
        return (*lines, f"each bearing: {total_gmm:.1f} / 2 = {0.5 * total_gmm:.1f} g*mm")
    shares = allocation_work(
        allocation,
        names=("bearing 1", "bearing 2"),
        places_z_mm=bearings,
        centre_of_mass_z_mm=centre,
        total_gmm=total_gmm,
    )
    ounces = f"1 oz*in = 720.078 g*mm: {total_gmm:.1f} / 720.078 = {from_gmm(total_gmm, 'oz*in'):.3f} oz*in"
    return (*lines, *shares, ounces)


def _print_list(*, as_json: bool) -> None:
    """Print the table of grades, coarsest first."""
    if as_json:
        rows = [
            {
                "grade_mm_per_s": row.grade_mm_per_s,
                "machinery": row.machinery,
                "default_margin": row.margin,
                "mark": row.mark,
            }
            for row in BALANCE_GRADES
        ]
        say_json({"grades": rows})
        return
    say("balance grades of ISO 21940-11 (G in mm/s; machinery in our own short words)\n")
    for row in BALANCE_GRADES:
        star = " *" if row.mark == "memory" else ""
        words = textwrap.wrap(f"{row.machinery}{star}", width=70)
        say("\n         ".join([f"G {row.grade_mm_per_s:<6g} {words[0]}", *words[1:]]))
    say("\n* partly from memory; have the bought standard at hand for a contract")
