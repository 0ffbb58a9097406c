"""``bobplan cut``: depth and unbalance of one cut, without a job file; amounts are positive."""

from __future__ import annotations

from typing import Annotated

import typer

from planner.cli.cut_inputs import (
    any_inches,
    depth_to_of,
    metal_of,
    needed_mm,
    one_of_two,
    optional_mm,
    point_angle_of,
    tell,
    wanted_gmm,
)
from planner.cli.cut_rim_off import bevel, flat, turn
from planner.cli.cut_slug import slug
from planner.cli.options import (
    DensityOption,
    DepthToOption,
    JsonOption,
    MaterialOption,
    PointAngleOption,
    RimRadiusOption,
    ThicknessOption,
    WorkOption,
)
from planner.cli.rim_form import rim_body
from planner.errors import InputError
from planner.quantity import METRIC, parse_angle_deg

_RIM_EXAMPLE = 'bobplan cut rim --outer-radius "90 mm" --diameter 14 --depth 20'
_FORMED_EXAMPLE = (
    'bobplan cut rim --outer-radius 90 --thickness 25 --rim "bevelled width=4 slope=45" --from-middle 4.5 '
    "--diameter 14 --depth 20"
)
_FACE_EXAMPLE = "bobplan cut face --radius 72 --diameter 16 --depth 18"

cut_app = typer.Typer(
    help="Work out depth and unbalance of one cut, without a job file. Bare numbers are mm, g, g*mm, g/cm3, degrees.",
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)
cut_app.command("slug")(slug)
cut_app.command("turn")(turn)
cut_app.command("flat")(flat)
cut_app.command("bevel")(bevel)

_Diameter = Annotated[str | None, typer.Option(help="Diameter of the hole: 14, '9/16 in'.")]
_Depth = Annotated[str | None, typer.Option(help="How deep; the answer is the unbalance.")]
_Unbalance = Annotated[str | None, typer.Option(help="How much, '0.5 oz*in'; the answer is the depth.")]


@cut_app.command("rim")
def rim(
    outer_radius: RimRadiusOption = None,
    diameter: _Diameter = None,
    depth: _Depth = None,
    unbalance: _Unbalance = None,
    depth_to: DepthToOption = "shoulder",
    point_angle: PointAngleOption = "118",
    rim_form: Annotated[
        str | None,
        typer.Option(
            "--rim", help="Form of the rim: 'bevelled width=4 slope=45' (see `profile`); needs --thickness."
        ),
    ] = None,
    thickness: Annotated[
        str | None,
        typer.Option(help="Thickness of the counterweight, for a rim or a place that is not plain."),
    ] = None,
    from_middle: Annotated[
        str | None, typer.Option(help="Where along the shaft, from the middle toward the rear.")
    ] = None,
    beside: Annotated[
        str | None, typer.Option(help="How far the axis passes beside the shaft axis, counter-clockwise.")
    ] = None,
    tilt: Annotated[
        str | None, typer.Option(help="Tilt of the drill along the shaft [deg]; + sends the tip to the rear.")
    ] = None,
    flank: Annotated[
        str | None,
        typer.Option(
            help="A flank through the shaft axis, degrees from the hole's ray (+ counter-clockwise)."
        ),
    ] = None,
    allow_break_out: Annotated[
        bool, typer.Option("--allow-break-out", help="Reckon a hole that comes out at a face or a flank.")
    ] = False,
    density: DensityOption = None,
    material: MaterialOption = None,
    show_work: WorkOption = False,
    as_json: JsonOption = False,
) -> None:
    """Show what a hole drilled from the outer diameter toward the shaft takes off, or how deep it must be."""
    one_of_two(depth, unbalance, names=("--depth", "--unbalance"))
    counted_to = depth_to_of(depth_to)
    if not allow_break_out and all(each is None for each in (rim_form, from_middle, beside, tilt, flank)):
        from planner.steps.one_cut import rim_cut

        cut = rim_cut(
            outer_radius_mm=needed_mm(outer_radius, name="--outer-radius", example=_RIM_EXAMPLE),
            diameter_mm=needed_mm(diameter, name="--diameter", example=_RIM_EXAMPLE),
            point_angle_deg=point_angle_of(point_angle),
            metal=metal_of(density, material),
            wanted_gmm=wanted_gmm(unbalance),
            depth_mm=optional_mm(depth, name="--depth"),
            counted_to=counted_to,
        )
    else:
        from planner.steps.rim_cuts import formed_rim_cut

        cut = formed_rim_cut(
            form=rim_body(outer_radius, thickness, rim_form, example=_FORMED_EXAMPLE),
            diameter_mm=needed_mm(diameter, name="--diameter", example=_FORMED_EXAMPLE),
            depth_mm=optional_mm(depth, name="--depth"),
            wanted_gmm=wanted_gmm(unbalance),
            counted_to=counted_to,
            point_angle_deg=point_angle_of(point_angle),
            from_middle_mm=METRIC.given(from_middle, "length", name="--from-middle") or 0.0,
            beside_mm=METRIC.given(beside, "length", name="--beside") or 0.0,
            tilt_deg=METRIC.given(tilt, "angle", name="--tilt") or 0.0,
            flanks_deg=() if flank is None else (parse_angle_deg(flank, name="--flank"),),
            allow_break_out=allow_break_out,
            metal=metal_of(density, material),
        )
    inches = any_inches(outer_radius, diameter, depth)
    tell(cut, in_inches=inches, show_work=show_work, as_json=as_json)


@cut_app.command("face")
def face(
    radius: Annotated[str | None, typer.Option(help="Radius of the hole's axis from the shaft axis.")] = None,
    diameter: _Diameter = None,
    depth: _Depth = None,
    unbalance: _Unbalance = None,
    through: Annotated[bool, typer.Option("--through", help="A through hole; needs --thickness.")] = False,
    thickness: ThicknessOption = None,
    outer_radius: Annotated[
        str | None, typer.Option(help="Radius of the rim: a hole that breaks out counts only inside it.")
    ] = None,
    depth_to: DepthToOption = "shoulder",
    point_angle: PointAngleOption = "118",
    density: DensityOption = None,
    material: MaterialOption = None,
    show_work: WorkOption = False,
    as_json: JsonOption = False,
) -> None:
    """Show what a hole parallel to the shaft takes off, or how deep it must be."""
    if through and (depth is not None or unbalance is not None):
        other = "--depth" if depth is not None else "--unbalance"
        raise InputError(
            f"both --through and {other} are given, allowed is one of them",
            hint="a through hole is as deep as the counterweight is thick: give --thickness",
        )
    if not through:
        one_of_two(depth, unbalance, names=("--depth", "--unbalance"))
    from planner.steps.one_cut import face_cut

    counted_to = depth_to_of(depth_to)
    radius_mm = needed_mm(radius, name="--radius", example=_FACE_EXAMPLE)
    diameter_mm = needed_mm(diameter, name="--diameter", example=_FACE_EXAMPLE)
    thickness_mm = optional_mm(thickness, name="--thickness")
    if through and thickness_mm is None:
        raise InputError(
            "--through needs --thickness", hint=f"for example: {_FACE_EXAMPLE[:-11]} --through --thickness 24"
        )
    cut = face_cut(
        radius_mm=radius_mm,
        diameter_mm=diameter_mm,
        through=through,
        thickness_mm=thickness_mm,
        outer_radius_mm=optional_mm(outer_radius, name="--outer-radius"),
        point_angle_deg=point_angle_of(point_angle),
        metal=metal_of(density, material),
        wanted_gmm=wanted_gmm(unbalance),
        depth_mm=optional_mm(depth, name="--depth"),
        counted_to=counted_to,
    )
    inches = any_inches(radius, diameter, depth, thickness, outer_radius)
    tell(cut, in_inches=inches, show_work=show_work, as_json=as_json)
