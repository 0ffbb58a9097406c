"""`bobplan machine`: is the machine to be believed? Residual test, turn-over (index) test, scatter of readings."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Literal

import typer

from planner.cli.console import ANSWER_IS_NO, GOOD, leave, tell
from planner.cli.machine_inputs import angle, places_in_order, rows_of
from planner.cli.options import JsonOption, WorkOption, number, open_job
from planner.errors import InputError
from planner.frames import SIDES, Shown

if TYPE_CHECKING:
    from planner.jobfile.job import Job
    from planner.quantity import UnitSystem

machine_app = typer.Typer(
    help="Test the balancing machine, without a job file: what it leaves, what belongs to the tooling, how well readings repeat.",
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)

# negative numbers are numbers here, not options
_NUMBERS = {"ignore_unknown_options": True}
_Csv = Annotated[
    Path | None,
    typer.Option("--csv", help="Readings from a CSV file, a row each; a head line is passed over."),
]
_Unit = Annotated[
    str | None, typer.Option("--unit", help="Unit of bare unbalance numbers and of the answer: 'oz*in'.")
]
_OnePlane = Annotated[
    bool, typer.Option("--one-plane", help="Two numbers a reading, amount and angle, not four.")
]
_Counting = Annotated[
    str | None, typer.Option("--job", help="Take units and the machine's way of counting from this job file.")
]
_TWO, _FOUR = "amount and angle for each", "left amount, left angle, right amount, right angle for each"


@machine_app.command("residual", context_settings=_NUMBERS)
def residual(
    readings: Annotated[
        list[str] | None,
        typer.Argument(metavar="READING...", help="6, 8 or 12 amounts, in the order of growing angles."),
    ] = None,
    trial: Annotated[str | None, typer.Option(help="The trial unbalance, for example '21.3 g*in'.")] = None,
    limit: Annotated[str | None, typer.Option(help="The greatest residual allowed in this plane.")] = None,
    first_place: Annotated[float, typer.Option(help="Angle of the first place [deg].")] = 0.0,
    first_again: Annotated[str | None, typer.Option(help="The first place, read again at the end.")] = None,
    unit: _Unit = None,
    csv_file: _Csv = None,
    as_json: JsonOption = False,
    show_work: WorkOption = False,
) -> None:
    """Find the residual unbalance of one plane by a trial mass at 6, 8 or 12 places (CSV: reading, or place and reading)."""
    from planner.machine.residual_test import residual_test
    from planner.present.pages import machine

    units = _units(unit)
    rows = rows_of(
        readings or [], csv_file, widths=(1, 2), what="one amount for each of 6, 8 or 12 places is wanted"
    )
    if trial is None:
        raise InputError(
            "the trial unbalance is not given, the readings mean nothing without it",
            hint="`--trial '21.3 g*in'`: mass times radius",
        )
    if len(rows[0]) == 2:
        amounts, first_place = places_in_order(rows)
    else:
        amounts = [number(row[0], what="reading") for row in rows]
    found = residual_test(
        amounts,
        trial_gmm=units.parse(trial, "unbalance", name="--trial", above=0.0),
        first_place_deg=first_place,
        first_again=None if first_again is None else number(first_again, what="--first-again"),
    )
    limit_gmm = units.given(limit, "unbalance", name="--limit", above=0.0)
    tell(
        found,
        lambda found: machine.residual_json(found, limit_gmm=limit_gmm),
        lambda found: machine.residual_document(found, units=units, limit_gmm=limit_gmm),
        working=machine.residual_working if show_work else None,
        as_json=as_json,
    )
    leave(ANSWER_IS_NO if limit_gmm is not None and found.greatest_gmm > limit_gmm else GOOD)


@machine_app.command("index", context_settings=_NUMBERS)
def index(
    readings: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[LEFT ANGLE RIGHT ANGLE]...", help="Four numbers a position, positions in equal steps."
        ),
    ] = None,
    mark: Annotated[
        str | None,
        typer.Option(help="What the angles count from: a mark on the `tooling` or on the `crankshaft`."),
    ] = None,
    job: _Counting = None,
    name: Annotated[str, typer.Option(help="What to call the error in the job file.")] = "tooling",
    one_plane: _OnePlane = False,
    unit: _Unit = None,
    csv_file: _Csv = None,
    as_json: JsonOption = False,
    show_work: WorkOption = False,
) -> None:
    """Tell by a turn-over test what belongs to the tooling and what to the crankshaft, with the lines for [[known_errors]]."""
    from planner.machine.index_test import index_test
    from planner.present.pages import machine

    if mark not in ("tooling", "crankshaft"):
        raise InputError(
            f"--mark: {'nothing given' if mark is None else f'given `{mark}`'}; tooling or crankshaft is wanted",
            hint="does the mark that the angles count from stay with the tooling (drive, adapter), or turn with the "
            "crankshaft?",
        )
    opened = None if job is None else open_job(job, writing=False)
    sides = _vectors(readings or [], csv_file, one_plane=one_plane, unit=unit, job=opened)
    # the comparison above does not tell a type checker that a str is one of two
    of: Literal["tooling", "crankshaft"] = "tooling" if mark == "tooling" else "crankshaft"
    found = [index_test(each, mark=of) for each in sides]
    lines = machine.known_error_lines(
        found, name=name, in_frame=opened is not None, units=_units_of(unit, opened)
    )
    tell(
        found,
        lambda found: machine.index_json(found, lines=lines),
        lambda found: machine.index_document(
            found, units=_units_of(unit, opened), job=opened, known_errors=lines
        ),
        working=(lambda found: machine.index_working(found, sides)) if show_work else None,
        as_json=as_json,
    )


@machine_app.command("repeat", context_settings=_NUMBERS)
def repeat(
    readings: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[LEFT ANGLE RIGHT ANGLE]...", help="Four numbers a reading, all of the same state."
        ),
    ] = None,
    job: _Counting = None,
    one_plane: _OnePlane = False,
    unit: _Unit = None,
    csv_file: _Csv = None,
    as_json: JsonOption = False,
    show_work: WorkOption = False,
) -> None:
    """Show how readings scatter that are repeated in one state: mean, smallest circle about it, standard deviation."""
    from planner.machine.index_test import repeat_test
    from planner.present.pages import machine

    opened = None if job is None else open_job(job, writing=False)
    sides = _vectors(readings or [], csv_file, one_plane=one_plane, unit=unit, job=opened)
    found = [repeat_test(each) for each in sides]
    tell(
        found,
        machine.repeat_json,
        lambda found: machine.repeat_document(found, units=_units_of(unit, opened), job=opened),
        working=(lambda found: machine.repeat_working(found, sides)) if show_work else None,
        as_json=as_json,
    )


@machine_app.command("reduction", context_settings=_NUMBERS)
def reduction(
    readings: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[AMOUNT ANGLE]...",
            help="Amount and angle of every run of one plane, in the order of the travelling mass's places.",
        ),
    ] = None,
    stationary: Annotated[
        str | None, typer.Option(help="The stationary mass's unbalance: '300 g*mm'.")
    ] = None,
    travelling: Annotated[
        str | None, typer.Option(help="The travelling mass's; five times that if left out.")
    ] = None,
    stationary_at: Annotated[float, typer.Option(help="Place of the stationary mass [deg].")] = 0.0,
    first_place: Annotated[float, typer.Option(help="The travelling mass's first place [deg].")] = 30.0,
    step: Annotated[float, typer.Option(help="From one place to the next [deg].")] = 30.0,
    ratio: Annotated[
        float, typer.Option(help="The reduction ratio that the machine claims, percent.")
    ] = 95.0,
    unit: _Unit = None,
    csv_file: _Csv = None,
    as_json: JsonOption = False,
    show_work: WorkOption = False,
) -> None:
    """Test how much of an unbalance in one plane one correction takes out (CSV: amount and angle, or place before them)."""
    from planner.machine.reduction_test import reduction_test
    from planner.present.pages import machine
    from planner.rotor.vectors import vector_gmm

    units = _units(unit)
    rows = rows_of(readings or [], csv_file, widths=(2, 3), what=f"{_TWO} run is wanted")
    if stationary is None:
        raise InputError(
            "the stationary mass is not given, the readings mean nothing without it",
            hint="`--stationary '300 g*mm'`: mass times radius",
        )
    fixed = units.parse(stationary, "unbalance", name="--stationary", above=0.0)
    moved = units.given(travelling, "unbalance", name="--travelling", above=0.0) or 5.0 * fixed
    places = [
        angle(row[0], what="place") if len(row) == 3 else first_place + step * index
        for index, row in enumerate(rows)
    ]
    vectors = [
        vector_gmm(units.parse(row[-2], "unbalance", name="amount", least=0.0), angle(row[-1], what="angle"))
        for row in rows
    ]
    found = reduction_test(
        vectors,
        stationary_gmm=fixed,
        stationary_deg=stationary_at,
        travelling_gmm=moved,
        places_deg=places,
        claimed=ratio / 100.0,
    )
    tell(
        found,
        machine.reduction_json,
        lambda found: machine.reduction_document(found, units=units),
        working=machine.reduction_working if show_work else None,
        as_json=as_json,
    )
    leave(GOOD if found.passed else ANSWER_IS_NO)


def _units(unit: str | None) -> UnitSystem:
    from planner.quantity import UnitSystem

    return UnitSystem() if unit is None else UnitSystem(unbalance=unit)


def _units_of(unit: str | None, job: Job | None) -> UnitSystem:
    return job.units if job is not None and unit is None else _units(unit)


def _vectors(
    given: Sequence[str], csv_file: Path | None, *, one_plane: bool, unit: str | None, job: Job | None
) -> list[list[complex]]:
    """Return readings as vectors [g*mm], a list for each plane; with a job in the crankshaft frame, else as typed."""
    from planner.rotor.vectors import vector_gmm

    rows = rows_of(
        given,
        csv_file,
        widths=(2,) if one_plane else (4,),
        what=f"{_TWO if one_plane else _FOUR} reading is wanted",
    )
    units = _units_of(unit, job)
    sides: list[list[complex]] = [[] for _ in range(len(rows[0]) // 2)]
    for row in rows:
        for place, (side, vectors) in enumerate(zip(SIDES, sides, strict=False)):
            text, turned = row[2 * place], angle(row[2 * place + 1], what=f"{side} angle")
            by_mass = job is not None and job.machine.mass_at_radius
            kind: Literal["mass", "unbalance"] = "mass" if by_mass else "unbalance"
            amount = units.parse(text, kind, name=f"{side} amount", least=0.0)
            if job is not None:
                amount = job.machine.amount_gmm(amount, side=side)
                turned = job.machine.heavy_spot_deg(Shown(turned))
            vectors.append(vector_gmm(amount, turned))
    return sides
