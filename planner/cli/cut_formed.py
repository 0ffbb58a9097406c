"""``bobplan cut rim`` where the rim, the hole's place or its way is not plain, or where it comes out."""

from __future__ import annotations

from planner.cli.cut_inputs import (
    any_inches,
    metal_of,
    needed_mm,
    optional_mm,
    point_angle_of,
    tell,
    wanted_gmm,
)
from planner.cli.rim_form import rim_body
from planner.quantity import parse_angle_deg, parse_length_mm

_EXAMPLE = (
    'bobplan cut rim --outer-radius 90 --thickness 25 --rim "bevelled width=4 slope=45" --from-middle 4.5 '
    "--diameter 14 --depth 20"
)


def formed_rim(
    *,
    outer_radius: str | None,
    diameter: str | None,
    depth: str | None,
    unbalance: str | None,
    counted_to: str,
    point_angle: str,
    rim: str | None,
    thickness: str | None,
    from_middle: str | None,
    beside: str | None,
    tilt: str | None,
    flank: str | None,
    allow_break_out: bool,
    density: str | None,
    material: str | None,
    show_work: bool,
    as_json: bool,
) -> None:
    """Print what a hole takes off that a plain rim's formulas do not know, or how deep it must be."""
    from planner.steps.rim_cuts import formed_rim_cut

    cut = formed_rim_cut(
        form=rim_body(outer_radius, thickness, rim, example=_EXAMPLE),
        diameter_mm=needed_mm(diameter, name="--diameter", example=_EXAMPLE),
        depth_mm=optional_mm(depth, name="--depth"),
        wanted_gmm=None if unbalance is None else wanted_gmm(unbalance),
        counted_to=counted_to,
        point_angle_deg=point_angle_of(point_angle),
        from_middle_mm=0.0 if from_middle is None else parse_length_mm(from_middle, name="--from-middle"),
        beside_mm=0.0 if beside is None else parse_length_mm(beside, name="--beside"),
        tilt_deg=0.0 if tilt is None else parse_angle_deg(tilt, name="--tilt"),
        flanks_deg=() if flank is None else (parse_angle_deg(flank, name="--flank"),),
        allow_break_out=allow_break_out,
        metal=metal_of(density, material),
    )
    tell(cut, in_inches=any_inches(outer_radius, diameter, depth), show_work=show_work, as_json=as_json)
