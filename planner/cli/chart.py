"""`bobplan chart`: one page of depth against unbalance per drill, to tape to the machine; needs no job file."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from planner.cli.console import GOOD, leave, say, say_json
from planner.cli.options import DensityOption, DepthToOption, JsonOption, MaterialOption, PointAngleOption
from planner.cli.sheet import OpenOption, PaperOption, open_file, paper_for
from planner.errors import InputError

_EXAMPLE = 'bobplan chart --radius "3.25 in" --drills "1/2 in,5/8 in" -o chart.pdf'


def chart(
    radius: Annotated[
        str | None, typer.Option(help="Radius of the counterweights' rim: '3.25 in', 88.")
    ] = None,
    drills: Annotated[
        str | None, typer.Option(help="Drills, with commas between: '1/2 in,5/8 in', '12,14,16'.")
    ] = None,
    output: Annotated[Path, typer.Option("-o", "--output", help="Where to: .pdf, .png or .svg.")] = Path(
        "chart.pdf"
    ),
    units: Annotated[
        str | None,
        typer.Option(help="Unit of all lengths, in or mm. Left out: as --radius and --drills are typed."),
    ] = None,
    depth_unit: Annotated[str | None, typer.Option(help="Unit of the stop, instead of --units.")] = None,
    unbalance_unit: Annotated[
        str | None, typer.Option(help="Unit of the unbalance. Left out: oz*in with inches, else g*mm.")
    ] = None,
    greatest_depth: Annotated[
        str | None, typer.Option(help="Where the chart ends. Left out: 45 mm or 1 3/4 in.")
    ] = None,
    density: DensityOption = None,
    material: MaterialOption = None,
    point_angle: PointAngleOption = "118",
    depth_to: DepthToOption = "shoulder",
    rim: Annotated[
        str | None, typer.Option(help="Form of the rim where it is not plain: 'bevelled width=4 slope=45'.")
    ] = None,
    thickness: Annotated[str | None, typer.Option(help="Thickness of the counterweights, for --rim.")] = None,
    paper: PaperOption = None,
    open_it: OpenOption = False,
    as_json: JsonOption = False,
) -> None:
    """Write a drilling chart: depth on the stop against unbalance and grams at the rim, a curve and columns per drill."""
    from planner.cli.cut_inputs import any_inches, depth_to_of, metal_of
    from planner.cuts.solid import checked_point_angle
    from planner.jobfile.plausible import refuse_beyond_reason
    from planner.present.drawings.chart import Chart, chart_rows
    from planner.present.pages.chart import chart_content
    from planner.present.to_paper import PAPER_ENDINGS, check_sheet_file, save_paper
    from planner.quantity import UnitSystem, parse_angle_deg, parse_length_mm
    from planner.rotor.drills import parse_drill_mm

    check_sheet_file(output, endings=PAPER_ENDINGS)
    if radius is None or drills is None:
        missing = "--radius" if radius is None else "--drills"
        raise InputError(f"{missing} is missing", hint=f"for example: {_EXAMPLE}")
    sizes = [each.strip() for each in drills.split(",") if each.strip()]
    inches = any_inches(radius, *sizes)
    unit = units or ("in" if inches else "mm")
    # a bare number is in --units
    radius_mm = parse_length_mm(radius, name="--radius", default_unit=unit, above=0.0)
    shown = UnitSystem(
        length=depth_unit or unit,
        unbalance=unbalance_unit or ("oz*in" if UnitSystem(length=unit).in_inches else "g*mm"),
    )
    deepest = greatest_depth or ("1 3/4 in" if shown.in_inches else "45 mm")
    metal = metal_of(density, material)
    if (rim is None) != (thickness is None):
        raise InputError(
            "--rim and --thickness go together",
            hint="for example: --rim 'bevelled width=4 slope=45' --thickness 24",
        )
    form = None
    if rim is not None and thickness is not None:
        from planner.cli.rim_form import rim_form_of

        thick = parse_length_mm(thickness, name="--thickness", default_unit=unit, above=0.0)
        form = rim_form_of(rim, outer_radius_mm=radius_mm, thickness_mm=thick)
    asked = Chart(
        radius_mm=radius_mm,
        drills_mm=tuple(
            sorted({parse_drill_mm(each, UnitSystem(length=unit), name="--drills") for each in sizes})
        ),
        density_g_per_cm3=metal.density_g_per_cm3,
        metal=metal.words[:1].upper() + metal.words[1:],
        units=shown,
        point_angle_deg=float(checked_point_angle(parse_angle_deg(point_angle, name="--point-angle"))),
        depth_to=depth_to_of(depth_to),
        rim=form,
        greatest_stop_mm=parse_length_mm(
            deepest, name="--greatest-depth", default_unit=depth_unit or unit, above=0.0
        ),
    )
    for name, what, value in (
        ("counterweight_radius", "--radius", asked.radius_mm),
        ("hole_depth", "--greatest-depth", asked.greatest_stop_mm),
        *(("drill", "--drills", drill) for drill in asked.drills_mm),
    ):
        refuse_beyond_reason(name, value, what=what, units=shown)
    size = paper_for(paper, inches=shown.in_inches)
    save_paper("chart", chart_content(asked), output, paper=size, title="Drilling chart")
    if as_json:
        say_json(
            {
                "file": str(output),
                "radius_mm": asked.radius_mm,
                "drills_mm": list(asked.drills_mm),
                "density_g_per_cm3": asked.density_g_per_cm3,
                "point_angle_deg": asked.point_angle_deg,
                "depth_to": asked.depth_to,
                "rows": chart_rows(asked),
            }
        )
    else:
        say(f"chart written: {output}")
    if open_it:
        open_file(output)
    leave(GOOD)
