"""``bobplan cut``: depth and unbalance of one cut, without a job file; amounts are positive."""

from __future__ import annotations

from typing import Annotated

import typer

from planner.cli.cut_inputs import (
    CutAnswer,
    Metal,
    any_inches,
    density_warning,
    depth_to_of,
    metal_of,
    needed_mm,
    one_of_two,
    optional_mm,
    size_words,
    unbalance_words,
    wanted_gmm,
)
from planner.cli.cut_slug import slug
from planner.cli.cut_work import face_lines, lens_lines, result_lines, rim_lines
from planner.cuts.face_hole import face_hole, face_hole_depth_mm
from planner.cuts.rim_hole import edge_sag_mm, rim_hole, rim_hole_depth_mm, rim_hole_greatest_depth_mm
from planner.cuts.solid import Solid, checked_point_angle
from planner.errors import InputError
from planner.quantity import parse_angle_deg, parse_length_mm
from planner.rotor.crankshaft import cone_height_mm

_RIM_EXAMPLE = 'bobplan cut rim --outer-radius "90 mm" --diameter 14 --depth 20'
_FACE_EXAMPLE = "bobplan cut face --radius 72 --diameter 16 --depth 18"
_ONLY_POINT = "only the drill's point enters the metal, not yet its full diameter"

cut_app = typer.Typer(
    help="Depth and unbalance of one cut, without a job file. Bare numbers are mm, g, g*mm, g/cm3, degrees.",
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
)
cut_app.command("slug")(slug)

_Diameter = Annotated[str | None, typer.Option(help="Diameter of the hole: 14, '9/16 in'.")]
_Depth = Annotated[str | None, typer.Option(help="How deep; the answer is the unbalance.")]
_Unbalance = Annotated[str | None, typer.Option(help="How much, '0.5 oz-in'; the answer is the depth.")]
_DepthTo = Annotated[str, typer.Option(help="What --depth counts to: shoulder or tip.")]
_PointAngle = Annotated[str, typer.Option(help="The drill's point angle [deg]; 180 is a flat bottom.")]
_Density = Annotated[str | None, typer.Option(help="Density of the counterweight [g/cm3].")]
_Material = Annotated[str | None, typer.Option(help="Or its material: 'forged steel', 'nodular iron'.")]
_ShowWork = Annotated[bool, typer.Option("--show-work", help="Print each formula with the numbers put in.")]
_Json = Annotated[bool, typer.Option("--json", help="Print one JSON object.")]


@cut_app.command("rim")
def rim(
    outer_radius: Annotated[str | None, typer.Option(help="Radius of the counterweight's rim.")] = None,
    diameter: _Diameter = None,
    depth: _Depth = None,
    unbalance: _Unbalance = None,
    depth_to: _DepthTo = "shoulder",
    point_angle: _PointAngle = "118",
    density: _Density = None,
    material: _Material = None,
    show_work: _ShowWork = False,
    as_json: _Json = False,
) -> None:
    """Show what a hole drilled from the outer diameter toward the shaft takes off, or how deep it must be."""
    one_of_two(depth, unbalance, names=("--depth", "--unbalance"))
    counted_to = depth_to_of(depth_to)
    R = needed_mm(outer_radius, name="--outer-radius", example=_RIM_EXAMPLE)
    d = needed_mm(diameter, name="--diameter", example=_RIM_EXAMPLE)
    point = float(checked_point_angle(parse_angle_deg(point_angle, name="--point-angle")))
    metal = metal_of(density, material)
    cone = cone_height_mm(diameter_mm=d, point_angle_deg=point)
    wanted = None if unbalance is None else wanted_gmm(unbalance)
    if wanted is None:
        shoulder = _shoulder_mm(depth, counted_to, cone)
    else:
        deepest = rim_hole_greatest_depth_mm(outer_radius_mm=R, diameter_mm=d, point_angle_deg=point)
        most = rim_hole(
            outer_radius_mm=R, diameter_mm=d, depth_shoulder_mm=deepest, point_angle_deg=point
        ).unbalance_gmm(metal.density_g_per_cm3)
        if wanted > most:
            raise InputError(
                f"--unbalance: {unbalance_words(wanted)} can't be reached with one {d:g} mm rim hole; the greatest "
                f"is {unbalance_words(most)} at depth {deepest:.2f} mm to the shoulder, where the tip reaches the "
                "shaft axis",
                hint="take a larger drill or more than one hole",
            )
        shoulder = float(
            rim_hole_depth_mm(
                first_moment_mm4=wanted / metal.density_g_per_cm3 * 1000.0,
                outer_radius_mm=R,
                diameter_mm=d,
                point_angle_deg=point,
            )
        )
    solid = rim_hole(outer_radius_mm=R, diameter_mm=d, depth_shoulder_mm=shoulder, point_angle_deg=point)
    inches = any_inches(outer_radius, diameter, depth)
    answer = CutAnswer(
        title=f"rim hole: {size_words(d, in_inches=inches)} drill, {point:g} degree point, "
        f"rim at {size_words(R, in_inches=inches)}, {metal.words}",
        in_inches=inches,
        warnings=density_warning(metal.density_g_per_cm3),
    )
    _add_depths(answer, shoulder, cone, counted_to, asked=wanted is not None)
    if 0.0 < shoulder < float(edge_sag_mm(outer_radius_mm=R, diameter_mm=d)):
        answer.notes.append(
            "the hole is so shallow that the full diameter is not yet all around in the metal"
        )
    _add_solid(answer, solid, metal)
    answer.data = {
        "cut": "rim hole",
        "outer_radius_mm": R,
        "diameter_mm": d,
        "point_angle_deg": point,
        "density_g_per_cm3": metal.density_g_per_cm3,
        **answer.data,
        "depth_shoulder_mm": shoulder,
        "depth_tip_mm": shoulder + cone,
    }
    answer.work = rim_lines(
        outer_radius_mm=R,
        diameter_mm=d,
        depth_shoulder_mm=shoulder,
        point_angle_deg=point,
        density_g_per_cm3=metal.density_g_per_cm3,
        volume_mm3=solid.volume_mm3,
        first_moment_mm4=solid.first_moment_mm4,
        wanted_gmm=wanted,
    )
    answer.show(show_work=show_work, as_json=as_json)


@cut_app.command("face")
def face(
    radius: Annotated[str | None, typer.Option(help="Radius of the hole's axis from the shaft axis.")] = None,
    diameter: _Diameter = None,
    depth: _Depth = None,
    unbalance: _Unbalance = None,
    through: Annotated[bool, typer.Option("--through", help="A through hole; needs --thickness.")] = False,
    thickness: Annotated[str | None, typer.Option(help="Thickness of the counterweight.")] = None,
    outer_radius: Annotated[
        str | None, typer.Option(help="Radius of the rim: a hole that breaks out counts only inside it.")
    ] = None,
    depth_to: _DepthTo = "shoulder",
    point_angle: _PointAngle = "118",
    density: _Density = None,
    material: _Material = None,
    show_work: _ShowWork = False,
    as_json: _Json = False,
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
    counted_to = depth_to_of(depth_to)
    r = needed_mm(radius, name="--radius", example=_FACE_EXAMPLE)
    d = needed_mm(diameter, name="--diameter", example=_FACE_EXAMPLE)
    t, R = optional_mm(thickness, name="--thickness"), optional_mm(outer_radius, name="--outer-radius")
    if through and t is None:
        raise InputError(
            "--through needs --thickness", hint=f"for example: {_FACE_EXAMPLE[:-11]} --through --thickness 24"
        )
    point = float(checked_point_angle(parse_angle_deg(point_angle, name="--point-angle")))
    metal = metal_of(density, material)
    cone = 0.0 if through else cone_height_mm(diameter_mm=d, point_angle_deg=point)
    wanted = None if unbalance is None else wanted_gmm(unbalance)
    shoulder: float | None = None
    if wanted is not None:
        _check_face_reach(wanted, metal, radius_mm=r, diameter_mm=d, thickness_mm=t, outer_radius_mm=R)
        shoulder = face_hole_depth_mm(
            first_moment_mm4=wanted / metal.density_g_per_cm3 * 1000.0,
            radius_mm=r,
            diameter_mm=d,
            thickness_mm=t,
            point_angle_deg=point,
            outer_radius_mm=R,
        )
    elif not through:
        shoulder = _shoulder_mm(depth, counted_to, cone)
        if t is not None and shoulder > t:
            raise InputError(
                f"--depth: {shoulder:g} mm to the shoulder is more than the thickness, {t:g} mm",
                hint="say --through for a through hole",
            )
    solid = face_hole(
        radius_mm=r,
        diameter_mm=d,
        depth_shoulder_mm=shoulder,
        through=through,
        thickness_mm=t,
        point_angle_deg=point,
        outer_radius_mm=R,
    )
    breaks_out = R is not None and r + d / 2.0 > R
    comes_out = shoulder is not None and t is not None and shoulder + cone > t + 1e-9
    inches = any_inches(radius, diameter, depth, thickness, outer_radius)
    answer = CutAnswer(
        title=f"face hole: {size_words(d, in_inches=inches)} at radius {size_words(r, in_inches=inches)}"
        f"{', through' if through else ''}, {metal.words}",
        in_inches=inches,
        warnings=density_warning(metal.density_g_per_cm3),
    )
    if breaks_out and R is not None:
        answer.warnings.append(
            f"the hole breaks out through the rim: its outer edge is at {r + d / 2.0:g} mm, the rim at {R:g} mm; "
            "only what lies inside is counted"
        )
    if comes_out:
        answer.warnings.append("the drill's point comes out of the far face")
    if shoulder is None:
        answer.rows.append(("depth", f"{answer.length(t or 0.0)}, through"))
    else:
        _add_depths(answer, shoulder, cone, counted_to, asked=wanted is not None)
    _add_solid(answer, solid, metal)
    answer.rows.append(("centroid inside the face", answer.length(solid.from_face_mm or 0.0)))
    answer.data = {
        "cut": "face hole",
        "radius_mm": r,
        "diameter_mm": d,
        "thickness_mm": t,
        "through": through,
        "breaks_out": breaks_out,
        "point_angle_deg": point,
        "density_g_per_cm3": metal.density_g_per_cm3,
        **answer.data,
        "centroid_from_face_mm": solid.from_face_mm,
        "depth_shoulder_mm": shoulder,
        "depth_tip_mm": None if shoulder is None else shoulder + cone,
    }
    if through and breaks_out and R is not None and t is not None:
        answer.work = lens_lines(
            radius_mm=r, diameter_mm=d, outer_radius_mm=R, thickness_mm=t
        ) + result_lines(
            density_g_per_cm3=metal.density_g_per_cm3,
            volume_mm3=solid.volume_mm3,
            first_moment_mm4=solid.first_moment_mm4,
        )
    else:
        answer.work = face_lines(
            radius_mm=r,
            diameter_mm=d,
            depth_shoulder_mm=shoulder,
            thickness_mm=t,
            point_angle_deg=point,
            density_g_per_cm3=metal.density_g_per_cm3,
            volume_mm3=solid.volume_mm3,
            first_moment_mm4=solid.first_moment_mm4,
            whole=not breaks_out and not comes_out,
            wanted_gmm=wanted,
        )
    answer.show(show_work=show_work, as_json=as_json)


def _shoulder_mm(depth: str | None, counted_to: str, cone_mm: float) -> float:
    given = parse_length_mm(depth or "", name="--depth", above=0.0)
    return given - (cone_mm if counted_to == "tip" else 0.0)


def _check_face_reach(
    wanted_gmm: float,
    metal: Metal,
    *,
    radius_mm: float,
    diameter_mm: float,
    thickness_mm: float | None,
    outer_radius_mm: float | None,
) -> None:
    if thickness_mm is None:
        return
    most = face_hole(
        radius_mm=radius_mm,
        diameter_mm=diameter_mm,
        through=True,
        thickness_mm=thickness_mm,
        outer_radius_mm=outer_radius_mm,
    ).unbalance_gmm(metal.density_g_per_cm3)
    if wanted_gmm > most:
        raise InputError(
            f"--unbalance: {unbalance_words(wanted_gmm)} can't be reached with one {diameter_mm:g} mm face hole; the "
            f"greatest is {unbalance_words(most)} at depth {thickness_mm:g} mm, all the way through",
            hint="take a larger drill, a larger radius or more than one hole",
        )


def _add_depths(
    answer: CutAnswer, shoulder_mm: float, cone_mm: float, counted_to: str, *, asked: bool
) -> None:
    """Add the rows of the two depths; the one on the stop is marked when it was asked for."""
    marks = {"shoulder": "", "tip": ""}
    if asked:
        marks[counted_to] = "   <- the stop"
    for label, value in (("shoulder", shoulder_mm), ("tip", shoulder_mm + cone_mm)):
        answer.rows.append((f"depth to {label}", answer.length(value) + marks[label]))
    if shoulder_mm <= 0.0:
        answer.notes.append(_ONLY_POINT)


def _add_solid(answer: CutAnswer, solid: Solid, metal: Metal) -> None:
    mass, amount = solid.mass_g(metal.density_g_per_cm3), solid.unbalance_gmm(metal.density_g_per_cm3)
    answer.rows += [
        ("volume", f"{solid.volume_mm3:.1f} mm3"),
        ("mass taken off", f"{mass:.2f} g"),
        ("centroid radius", answer.length(solid.centroid_radius_mm)),
        ("unbalance taken off", unbalance_words(amount)),
    ]
    answer.data.update(
        volume_mm3=solid.volume_mm3,
        mass_g=mass,
        centroid_radius_mm=solid.centroid_radius_mm,
        unbalance_gmm=amount,
    )
