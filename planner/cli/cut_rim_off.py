"""``bobplan cut turn``, ``flat`` and ``bevel``: metal taken off the rim otherwise than by a drill, both ways."""

from __future__ import annotations

from typing import Annotated

import typer

from planner.cli.cut_inputs import any_inches, metal_of, needed_mm, optional_mm, tell, wanted_gmm
from planner.cli.options import (
    DensityOption,
    JsonOption,
    MaterialOption,
    RimRadiusOption,
    ThicknessOption,
    WorkOption,
)
from planner.cli.rim_form import rim_body
from planner.errors import InputError
from planner.quantity import METRIC, parse_angle_deg
from planner.rotor.crankshaft import Face

_TURN = "bobplan cut turn --outer-radius 88 --thickness 24 --sector 60 --depth 1.5"
_FLAT = "bobplan cut flat --outer-radius 88 --thickness 24 --depth 4"
_BEVEL = "bobplan cut bevel --outer-radius 88 --thickness 24 --width 4 --sector 90"

RimText = Annotated[
    str | None,
    typer.Option("--rim", help="Form of the rim as it is: 'bevelled width=4 slope=45' (see `profile`)."),
]
Depth = Annotated[str | None, typer.Option(help="How far off the radius; the answer is the unbalance.")]
Unbalance = Annotated[
    str | None, typer.Option(help="How much, '2.5 oz-in'; the answer is what was left out.")
]
Sector = Annotated[str | None, typer.Option(help="Angle of the sector, all of it [deg].")]


def turn(
    outer_radius: RimRadiusOption = None,
    thickness: ThicknessOption = None,
    sector: Sector = None,
    depth: Depth = None,
    unbalance: Unbalance = None,
    rim: RimText = None,
    density: DensityOption = None,
    material: MaterialOption = None,
    show_work: WorkOption = False,
    as_json: JsonOption = False,
) -> None:
    """Show what turning or milling the rim down over a sector takes off, or how deep or how wide it must be."""
    from planner.steps.rim_cuts import turned_cut

    if sum(value is not None for value in (sector, depth, unbalance)) != 2:
        raise InputError(
            "two of --sector, --depth and --unbalance are needed; the third is the answer",
            hint=f"for example: {_TURN}",
        )
    cut = turned_cut(
        form=rim_body(outer_radius, thickness, rim, example=_TURN),
        off_mm=optional_mm(depth, name="--depth"),
        sector_deg=METRIC.given(sector, "angle", name="--sector"),
        wanted_gmm=wanted_gmm(unbalance),
        metal=metal_of(density, material),
    )
    tell(cut, in_inches=any_inches(outer_radius, thickness, depth), show_work=show_work, as_json=as_json)


def flat(
    outer_radius: RimRadiusOption = None,
    thickness: ThicknessOption = None,
    depth: Depth = None,
    unbalance: Unbalance = None,
    rim: RimText = None,
    density: DensityOption = None,
    material: MaterialOption = None,
    show_work: WorkOption = False,
    as_json: JsonOption = False,
) -> None:
    """Show what a flat milled across the rim takes off, or how deep it must be."""
    from planner.steps.rim_cuts import flat_cut

    if (depth is None) == (unbalance is None):
        raise InputError("one of --depth and --unbalance is needed", hint=f"for example: {_FLAT}")
    cut = flat_cut(
        form=rim_body(outer_radius, thickness, rim, example=_FLAT),
        off_mm=optional_mm(depth, name="--depth"),
        wanted_gmm=wanted_gmm(unbalance),
        metal=metal_of(density, material),
    )
    tell(cut, in_inches=any_inches(outer_radius, thickness, depth), show_work=show_work, as_json=as_json)


def bevel(
    outer_radius: RimRadiusOption = None,
    thickness: ThicknessOption = None,
    width: Annotated[str | None, typer.Option(help="How far the bevel reaches in from the face.")] = None,
    slope: Annotated[str, typer.Option(help="The radius falls by the tangent of this [deg].")] = "45",
    sector: Sector = None,
    face: Annotated[str, typer.Option(help="Which edge: front or rear.")] = "front",
    density: DensityOption = None,
    material: MaterialOption = None,
    show_work: WorkOption = False,
    as_json: JsonOption = False,
) -> None:
    """Show what bevelling one edge of the rim over a sector takes off."""
    from planner.steps.rim_cuts import bevel_cut

    if face not in ("front", "rear"):
        raise InputError(f"--face: given `{face}`; front or rear is allowed")
    form = rim_body(outer_radius, thickness, None, example=_BEVEL)
    if sector is None:
        raise InputError("--sector is missing", hint=f"for example: {_BEVEL}")
    edge: Face = "front" if face == "front" else "rear"
    cut = bevel_cut(
        form=form,
        width_mm=needed_mm(width, name="--width", example=_BEVEL),
        slope_deg=parse_angle_deg(slope, name="--slope"),
        sector_deg=parse_angle_deg(sector, name="--sector"),
        face=edge,
        metal=metal_of(density, material),
    )
    tell(cut, in_inches=any_inches(outer_radius, thickness, width), show_work=show_work, as_json=as_json)
