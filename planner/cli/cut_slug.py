"""``bobplan cut slug``: what a slug of heavy metal adds, and whether a press fit would hold it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from planner.cli.cut_inputs import (
    any_inches,
    metal_of,
    needed_mm,
    not_both,
    one_of_two,
    optional_mm,
    plain_number,
    point_angle_of,
    tell,
    wanted_gmm,
)
from planner.cli.options import DensityOption, JsonOption, MaterialOption, WorkOption
from planner.cuts.retention import DRY_FRICTION
from planner.errors import InputError
from planner.quantity import METRIC, parse_length_mm, parse_speed_rpm

if TYPE_CHECKING:
    from planner.steps.one_cut import Bore, PressFit

_EXAMPLE = "bobplan cut slug --radius 72 --diameter 20 --length 25"
_RADIAL_EXAMPLE = "bobplan cut slug --radial --outer-radius 90 --diameter 14 --depth 30 --length 25"


def slug(
    radius: Annotated[str | None, typer.Option(help="Radius of the slug's axis from the shaft axis.")] = None,
    diameter: Annotated[str | None, typer.Option(help="Diameter of slug and bore: 20, '3/4 in'.")] = None,
    length: Annotated[str | None, typer.Option(help="Length of the slug.")] = None,
    unbalance: Annotated[
        str | None, typer.Option(help="Net unbalance to add; the answer is the length.")
    ] = None,
    thickness: Annotated[
        str | None, typer.Option(help="Thickness of the counterweight; a shorter slug sits in a blind bore.")
    ] = None,
    blind: Annotated[bool, typer.Option("--blind", help="Blind bore, its cone stays empty.")] = False,
    existing: Annotated[
        bool, typer.Option("--existing", help="The hole is there already: only fill it.")
    ] = False,
    radial: Annotated[
        bool, typer.Option("--radial", help="In a rim hole (with --outer-radius and --depth); never planned.")
    ] = False,
    depth: Annotated[
        str | None, typer.Option(help="Shoulder depth of the rim hole of a radial slug.")
    ] = None,
    outer_radius: Annotated[
        str | None, typer.Option(help="Radius of the rim, for the metal around the slug.")
    ] = None,
    point_angle: Annotated[str, typer.Option(help="Point angle of a blind bore's drill [deg].")] = "118",
    density: DensityOption = None,
    material: MaterialOption = None,
    slug_density: Annotated[str | None, typer.Option(help="Density of the slug [g/cm3].")] = None,
    slug_class: Annotated[str | None, typer.Option(help="Or its class: 'ASTM B777 class 2'.")] = None,
    speed: Annotated[str | None, typer.Option(help="Highest speed of the engine [rpm].")] = None,
    fit: Annotated[str | None, typer.Option(help="Press fit on the diameter, needs --speed.")] = None,
    temperature_rise: Annotated[str, typer.Option(help="How much warmer the engine runs [K].")] = "100",
    friction: Annotated[str, typer.Option(help="Coefficient of friction of the fit.")] = str(DRY_FRICTION),
    show_work: WorkOption = False,
    as_json: JsonOption = False,
) -> None:
    """Show what a slug of heavy metal adds, net of the metal bored away, or how long it must be."""
    from planner.steps.one_cut import axial_place, radial_place, slug_cut, slug_metal

    one_of_two(length, unbalance, names=("--length", "--unbalance"))
    bore = _bore_of(blind=blind, existing=existing, radial=radial)
    metal = metal_of(density, material)
    better = "a weighed slug is better than a table's figure"
    not_both(slug_density, slug_class, ("--slug-density", "--slug-class"), better)
    slug_g_per_cm3 = METRIC.given(slug_density, "density", name="--slug-density", above=0.0)
    heavy, alloy = slug_metal(slug_g_per_cm3, slug_class)
    point = point_angle_of(point_angle)
    if bore == "radial":
        if radius is not None or length is None:
            raise InputError(
                "a radial slug needs --outer-radius, --diameter, --depth and --length, and no --radius or --unbalance",
                hint=f"for example: {_RADIAL_EXAMPLE}",
            )
        place = radial_place(
            outer_radius_mm=needed_mm(outer_radius, name="--outer-radius", example=_RADIAL_EXAMPLE),
            diameter_mm=needed_mm(diameter, name="--diameter", example=_RADIAL_EXAMPLE),
            depth_mm=needed_mm(depth, name="--depth", example=_RADIAL_EXAMPLE),
            length_mm=parse_length_mm(length, name="--length", above=0.0),
            thickness_mm=optional_mm(thickness, name="--thickness"),
            point_angle_deg=point,
        )
    elif depth is not None:
        raise InputError(
            "--depth belongs to --radial; an axial slug's bore is as deep as the slug is long",
            hint="leave --depth away, or say --radial",
        )
    else:
        place = axial_place(
            bore=bore,
            radius_mm=needed_mm(radius, name="--radius", example=_EXAMPLE),
            diameter_mm=needed_mm(diameter, name="--diameter", example=_EXAMPLE),
            thickness_mm=optional_mm(thickness, name="--thickness"),
            outer_radius_mm=optional_mm(outer_radius, name="--outer-radius"),
            wanted_gmm=wanted_gmm(unbalance),
            length_mm=optional_mm(length, name="--length"),
            point_angle_deg=point,
            density_g_per_cm3=metal.density_g_per_cm3,
            slug_density_g_per_cm3=heavy,
        )
    cut = slug_cut(
        place,
        metal=metal,
        slug_density_g_per_cm3=heavy,
        alloy=alloy,
        density_assumed=slug_density is None and slug_class is None,
        point_angle_deg=point,
        fit=_fit(speed, fit, temperature_rise, friction),
    )
    inches = any_inches(radius, diameter, length, thickness, depth, outer_radius)
    tell(cut, in_inches=inches, show_work=show_work, as_json=as_json)


def _bore_of(*, blind: bool, existing: bool, radial: bool) -> Bore:
    said = [
        name for name, value in (("--blind", blind), ("--existing", existing), ("--radial", radial)) if value
    ]
    if len(said) > 1:
        raise InputError(f"{' and '.join(said)} are given, allowed is one of them", hint="which hole is it?")
    return "blind" if blind else "existing" if existing else "radial" if radial else "through"


def _fit(speed: str | None, fit: str | None, temperature_rise: str, friction: str) -> PressFit | None:
    """Return what is to hold the slug; None without a speed."""
    from planner.steps.one_cut import PressFit

    if speed is None:
        if fit is not None:
            raise InputError(
                "--fit needs --speed", hint="give the engine's highest speed, for example --speed 7000"
            )
        return None
    return PressFit(
        speed_rpm=parse_speed_rpm(speed, name="--speed", above=0.0),
        fit_mm=METRIC.given(fit, "length", name="--fit", above=0.0),
        temperature_rise_k=plain_number(temperature_rise, name="--temperature-rise"),
        friction=plain_number(friction, name="--friction", above=0.0),
    )
