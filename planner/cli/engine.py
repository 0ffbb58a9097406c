"""`bobplan engine`: what the layout leaves unbalanced whatever the bob, and what fraction to take."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from planner.cli.console import ANSWER_IS_NO, leave, note, tell
from planner.cli.options import (
    JobArgument,
    JsonOption,
    WorkOption,
    number,
    open_job,
    plot_file,
    print_pictures,
)
from planner.errors import InputError

if TYPE_CHECKING:
    from planner.steps.engine_forces import EngineAnswer


def engine(
    job: JobArgument = None,
    layout: Annotated[
        str | None,
        typer.Option(
            help="A layout of the catalogue (--list): without JOB alone, with JOB instead of the job's own."
        ),
    ] = None,
    list_layouts: Annotated[
        bool, typer.Option("--list", help="The catalogue of layouts with what each leaves.")
    ] = False,
    rotation: Annotated[
        str | None, typer.Option(help="The way it turns, cw or ccw, as seen from the front.")
    ] = None,
    firing_order: Annotated[str | None, typer.Option(help="For example 1-3-4-2.")] = None,
    two_stroke: Annotated[
        bool, typer.Option("--two-stroke", help="Every cylinder fires every turn.")
    ] = False,
    speed: Annotated[
        str | None, typer.Option(help="Speed of the engine [rpm]; else the service speed.")
    ] = None,
    reciprocating_mass: Annotated[
        str | None, typer.Option(help="Of one cylinder; else from [parts].")
    ] = None,
    radius: Annotated[str | None, typer.Option(help="Throw radius, half the stroke (without JOB).")] = None,
    rod_length: Annotated[str | None, typer.Option(help="Rod length, centre to centre.")] = None,
    ratio: Annotated[str | None, typer.Option(help="Rod length over throw radius.")] = None,
    spacing: Annotated[
        str | None, typer.Option(help="Distance of neighbouring throws (without JOB).")
    ] = None,
    rods_apart: Annotated[str | None, typer.Option(help="Distance of the two rods of one pin.")] = None,
    fraction: Annotated[float | None, typer.Option(help="What this fraction would cost.")] = None,
    weights: Annotated[
        str | None, typer.Option(help="Weights of the axes along:across, for example 2:1.")
    ] = None,
    reference_axis: Annotated[
        str | None, typer.Option(help="Direction of the axis [deg], as bank angles count.")
    ] = None,
    plot: Annotated[
        Path | None,
        typer.Option(help="Draw force and couple over a turn: .png, .svg or .pdf.", callback=plot_file),
    ] = None,
    as_json: JsonOption = False,
    show_work: WorkOption = False,
) -> None:
    """Show what an engine leaves unbalanced whatever the bob: primary, secondary, force and couple; which fraction."""
    if list_layouts:
        _show_list(as_json=as_json)
        return
    from planner.present.pages.engine import engine_document
    from planner.present.pages.engine_json import engine_json, engine_working
    from planner.quantity import METRIC
    from planner.steps.engine import EngineWishes
    from planner.steps.engine_forces import engine_answer

    opened = None if layout is not None and job is None else open_job(job, writing=False)
    units = METRIC if opened is None else opened.units
    wishes = EngineWishes(
        radius_mm=units.given(radius, "length", name="--radius", above=0.0),
        rod_length_mm=units.given(rod_length, "length", name="--rod-length", above=0.0),
        spacing_mm=units.given(spacing, "length", name="--spacing", above=0.0),
        rods_apart_mm=units.given(rods_apart, "length", name="--rods-apart", above=0.0),
        layout=layout,
        rotation=rotation,
        firing_order=_order(firing_order),
        revolutions=1 if two_stroke else 2,
        reciprocating_g=units.given(reciprocating_mass, "mass", name="--reciprocating-mass", above=0.0),
        rod_ratio=None if ratio is None else _ratio(ratio),
        speed_rpm=units.given(speed, "speed", name="--speed", above=0.0),
        fraction=fraction,
        weights=(1.0, 1.0) if weights is None else _weights(weights),
        reference_axis_deg=units.given(
            reference_axis, "angle", name="--reference-axis", least=-360.0, most=360.0
        ),
    )
    answer = engine_answer(opened, wishes)
    tell(answer, engine_json, engine_document, working=engine_working if show_work else None, as_json=as_json)
    if plot is not None:
        _draw(answer, plot)
        note(f"drawn: {plot}")
    if answer.firing_fault is not None:
        leave(ANSWER_IS_NO)


def _draw(answer: EngineAnswer, path: Path) -> None:
    """Draw into a picture, or onto a page that a printer has."""
    if path.suffix.lower() != ".pdf":
        from planner.present.drawings.engine import engine_figure
        from planner.present.drawings.save import save_figure

        save_figure(engine_figure(answer), path)
        return
    from planner.present.pages.engine_picture import engine_pictures

    print_pictures("engine", engine_pictures(answer), path, answer.job)


def _show_list(*, as_json: bool) -> None:
    from planner.present.pages.engine import layouts_document
    from planner.present.pages.engine_json import layouts_data

    rows = layouts_data()
    tell(rows, lambda rows: {"layouts": rows}, layouts_document, as_json=as_json)


def _ratio(text: str) -> float:
    ratio = number(text, what="--ratio")
    if not 1.1 <= ratio <= 100.0:
        raise InputError(
            f"--ratio: given `{text}`, allowed 1.1 to 100",
            hint="rod length, centre to centre, over half the stroke; 3 to 4 is usual",
        )
    return ratio


def _order(text: str | None) -> tuple[str, ...]:
    if text is None:
        return ()
    names = tuple(each for each in text.replace(",", "-").replace(" ", "-").split("-") if each)
    if not names:
        raise InputError(f"--firing-order: given `{text}`", hint="for example `--firing-order 1-3-4-2`")
    return names


def _weights(text: str) -> tuple[float, float]:
    along, colon, across = text.partition(":")
    if not colon:
        raise InputError(
            f"--weights: given `{text}`, two numbers are needed",
            hint="along:across, for example `--weights 2:1`",
        )
    return number(along, what="--weights, along"), number(across, what="--weights, across")
