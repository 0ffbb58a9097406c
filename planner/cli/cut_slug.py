"""``bobplan cut slug``: what a slug of heavy metal adds, and whether a press fit would hold it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

import typer

from planner.cli.cut_inputs import (
    CutAnswer,
    Metal,
    any_inches,
    density_warning,
    metal_of,
    needed_mm,
    one_of_two,
    optional_mm,
    size_words,
    unbalance_words,
    wanted_gmm,
)
from planner.cli.cut_slug_hold import add_retention
from planner.cli.cut_slug_work import length_lines, net_lines, pocket_lines, radial_pocket_lines
from planner.cli.cut_work import cone_lines
from planner.cuts.retention import DRY_FRICTION
from planner.cuts.slug import (
    RADIAL_SLUG_WARNING,
    SluggedHole,
    axial_slug,
    axial_slug_length_mm,
    checked_slug_length,
    filled_hole,
    radial_slug,
)
from planner.cuts.solid import checked_point_angle
from planner.errors import InputError
from planner.quantity import parse_angle_deg, parse_density_g_per_cm3, parse_length_mm
from planner.rotor.crankshaft import cone_height_mm
from planner.rotor.materials import HEAVY_ALLOYS, Material, slug_class

Bore = Literal["through", "blind", "existing", "radial"]

_EXAMPLE = "bobplan cut slug --radius 72 --diameter 20 --length 25"
_ASSUMED_CLASS = "ASTM B777 class 2"
_SLUG_CAUTION = (
    "heavy-metal dust is harmful: no dry grinding, no compressed air; bore parallel to the shaft, hold the slug by "
    "more than friction"
)


@dataclass(frozen=True, kw_only=True)
class _Place:
    """Where the slug sits and in what: lengths [mm], the way the hole is made."""

    bore: Bore
    diameter_mm: float
    length_mm: float
    radius_mm: float
    hole: SluggedHole
    depth_shoulder_mm: float | None
    wanted_gmm: float | None
    thickness_mm: float | None
    outer_radius_mm: float | None


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
    density: Annotated[str | None, typer.Option(help="Density of the counterweight [g/cm3].")] = None,
    material: Annotated[str | None, typer.Option(help="Or its material: 'forged steel'.")] = None,
    slug_density: Annotated[str | None, typer.Option(help="Density of the slug [g/cm3].")] = None,
    slug_class: Annotated[str | None, typer.Option(help="Or its class: 'ASTM B777 class 2'.")] = None,
    speed: Annotated[str | None, typer.Option(help="Highest speed of the engine [rpm].")] = None,
    fit: Annotated[str | None, typer.Option(help="Press fit on the diameter, needs --speed.")] = None,
    temperature_rise: Annotated[str, typer.Option(help="How much warmer the engine runs [K].")] = "100",
    friction: Annotated[str, typer.Option(help="Coefficient of friction of the fit.")] = str(DRY_FRICTION),
    show_work: Annotated[
        bool, typer.Option("--show-work", help="Print each formula with the numbers put in.")
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
) -> None:
    """Show what a slug of heavy metal adds, net of the metal bored away, or how long it must be."""
    one_of_two(length, unbalance, names=("--length", "--unbalance"))
    bore = _bore_of(blind=blind, existing=existing, radial=radial)
    metal, heavy, alloy = metal_of(density, material), *_slug_metal(slug_density, slug_class)
    point = float(checked_point_angle(parse_angle_deg(point_angle, name="--point-angle")))
    if bore == "radial":
        place = _radial_place(radius, diameter, length, outer_radius, depth, thickness, point)
    else:
        if depth is not None:
            raise InputError(
                "--depth belongs to --radial; an axial slug's bore is as deep as the slug is long",
                hint="leave --depth away, or say --radial",
            )
        place = _axial_place(
            bore, radius, diameter, length, unbalance, thickness, outer_radius, point, metal, heavy
        )
    inches = any_inches(radius, diameter, length, thickness, depth, outer_radius)
    answer = CutAnswer(
        title=f"slug: {size_words(place.diameter_mm, in_inches=inches)} x "
        f"{size_words(place.length_mm, in_inches=inches)} of {heavy:g} g/cm3 "
        f"at radius {size_words(place.radius_mm, in_inches=inches)} in {metal.words}",
        in_inches=inches,
        warnings=density_warning(metal.density_g_per_cm3),
    )
    answer.cautions.append(_SLUG_CAUTION)
    if bore == "radial":
        answer.warnings.append(RADIAL_SLUG_WARNING)
    if slug_density is None and slug_class is None:
        answer.notes.append(
            f"slug density taken as {_ASSUMED_CLASS}, {heavy:g} g/cm3; weighing the slug is better"
        )
    _add_masses(answer, place, metal, heavy, point)
    add_retention(
        answer,
        metal=metal,
        slug=alloy,
        slug_mass_g=place.hole.slug.mass_g(heavy),
        diameter_mm=place.diameter_mm,
        length_mm=place.length_mm,
        radius_mm=place.radius_mm,
        outer_radius_mm=None if bore == "radial" else place.outer_radius_mm,
        speed=speed,
        fit=fit,
        temperature_rise=temperature_rise,
        friction=friction,
    )
    answer.show(show_work=show_work, as_json=as_json)


def _bore_of(*, blind: bool, existing: bool, radial: bool) -> Bore:
    said = [
        name for name, value in (("--blind", blind), ("--existing", existing), ("--radial", radial)) if value
    ]
    if len(said) > 1:
        raise InputError(f"{' and '.join(said)} are given, allowed is one of them", hint="which hole is it?")
    return "blind" if blind else "existing" if existing else "radial" if radial else "through"


def _slug_metal(density: str | None, name: str | None) -> tuple[float, Material | None]:
    """Return the slug's density [g/cm3] and, where it is known, its material."""
    if density is not None and name is not None:
        raise InputError(
            "both --slug-density and --slug-class are given, allowed is one of them",
            hint="a weighed slug is better than a table's figure",
        )
    if density is not None:
        value = parse_density_g_per_cm3(density, name="--slug-density", above=0.0)
        lowest, highest = HEAVY_ALLOYS[0], HEAVY_ALLOYS[-1]
        like_alloy = lowest.density_low_g_per_cm3 - 0.5 <= value <= highest.density_high_g_per_cm3 + 0.5
        return value, HEAVY_ALLOYS[1] if like_alloy else None
    found = slug_class(name if name is not None else _ASSUMED_CLASS)
    return found.density_g_per_cm3, found


def _axial_place(
    bore: Bore,
    radius: str | None,
    diameter: str | None,
    length: str | None,
    unbalance: str | None,
    thickness: str | None,
    outer_radius: str | None,
    point_angle_deg: float,
    metal: Metal,
    heavy: float,
) -> _Place:
    r = needed_mm(radius, name="--radius", example=_EXAMPLE)
    d = needed_mm(diameter, name="--diameter", example=_EXAMPLE)
    t, R = optional_mm(thickness, name="--thickness"), optional_mm(outer_radius, name="--outer-radius")
    if R is not None and r + d / 2.0 >= R:
        raise InputError(
            f"the slug's outer edge is at {r + d / 2.0:g} mm, the rim at {R:g} mm: nothing would hold it",
            hint="move it inward or take a smaller one",
        )
    wanted = None if unbalance is None else wanted_gmm(unbalance)
    if wanted is not None:
        long = axial_slug_length_mm(
            unbalance_gmm=wanted,
            radius_mm=r,
            diameter_mm=d,
            density_g_per_cm3=metal.density_g_per_cm3,
            slug_density_g_per_cm3=heavy,
            through=bore == "through" and t is None,
            point_angle_deg=point_angle_deg,
            thickness_mm=t,
            existing=bore == "existing",
        )
    else:
        long = parse_length_mm(length or "", name="--length", above=0.0)
    checked_slug_length(length_mm=long, thickness_mm=t)
    if bore == "through" and t is not None and long < t - 1e-9:
        bore = "blind"
    if bore == "existing":
        hole = filled_hole(radius_mm=r, diameter_mm=d, length_mm=long)
    else:
        hole = axial_slug(
            radius_mm=r,
            diameter_mm=d,
            length_mm=long,
            through=bore == "through",
            thickness_mm=t,
            point_angle_deg=point_angle_deg,
        )
    return _Place(
        bore=bore,
        diameter_mm=d,
        length_mm=long,
        radius_mm=r,
        hole=hole,
        depth_shoulder_mm=long if bore == "blind" else None,
        wanted_gmm=wanted,
        thickness_mm=t,
        outer_radius_mm=R,
    )


def _radial_place(
    radius: str | None,
    diameter: str | None,
    length: str | None,
    outer_radius: str | None,
    depth: str | None,
    thickness: str | None,
    point_angle_deg: float,
) -> _Place:
    example = "bobplan cut slug --radial --outer-radius 90 --diameter 14 --depth 30 --length 25"
    if radius is not None or length is None:
        raise InputError(
            "a radial slug needs --outer-radius, --diameter, --depth and --length, and no --radius or --unbalance",
            hint=f"for example: {example}",
        )
    R = needed_mm(outer_radius, name="--outer-radius", example=example)
    d = needed_mm(diameter, name="--diameter", example=example)
    h = needed_mm(depth, name="--depth", example=example)
    long = parse_length_mm(length, name="--length", above=0.0)
    hole = radial_slug(
        outer_radius_mm=R,
        diameter_mm=d,
        depth_shoulder_mm=h,
        length_mm=long,
        point_angle_deg=point_angle_deg,
    )
    return _Place(
        bore="radial",
        diameter_mm=d,
        length_mm=long,
        radius_mm=R - h + long / 2.0,
        hole=hole,
        depth_shoulder_mm=h,
        wanted_gmm=None,
        thickness_mm=optional_mm(thickness, name="--thickness"),
        outer_radius_mm=R,
    )


def _add_masses(answer: CutAnswer, place: _Place, metal: Metal, heavy: float, point_angle_deg: float) -> None:
    parent = metal.density_g_per_cm3
    slug_g, removed = place.hole.slug.mass_g(heavy), place.hole.removed_g(parent)
    net = place.hole.net_mass_g(density_g_per_cm3=parent, slug_density_g_per_cm3=heavy)
    amount = place.hole.net_unbalance_gmm(density_g_per_cm3=parent, slug_density_g_per_cm3=heavy)
    cone = cone_height_mm(diameter_mm=place.diameter_mm, point_angle_deg=point_angle_deg)
    words = {
        "through": "through bore, filled from face to face",
        "blind": "blind bore to the slug's length, the drill's cone stays empty",
        "existing": "an existing hole: nothing is bored",
        "radial": "rim hole, the slug on its shoulder, the drill's cone stays empty",
    }[place.bore]
    answer.rows += [("bore", words), ("length of slug", answer.length(place.length_mm))]
    tip = None
    if place.depth_shoulder_mm is not None:
        tip = place.depth_shoulder_mm + cone
        answer.rows += [
            ("bore to shoulder", answer.length(place.depth_shoulder_mm)),
            ("bore to tip", answer.length(tip)),
        ]
        if place.bore == "blind" and place.thickness_mm is not None and tip > place.thickness_mm + 1e-9:
            answer.warnings.append("the drill's point comes out of the far face")
    answer.rows += [
        ("bored away", f"{removed:.2f} g"),
        ("slug", f"{slug_g:.2f} g"),
        ("net mass added", f"{net:.2f} g"),
        ("net unbalance added", unbalance_words(amount)),
    ]
    if amount <= 0.0:
        answer.warnings.append("less goes in than comes out: the counterweight gets lighter")
    answer.data = {
        "cut": "fill" if place.bore == "existing" else "slug",
        "bore": place.bore,
        "radius_mm": place.radius_mm,
        "diameter_mm": place.diameter_mm,
        "length_mm": place.length_mm,
        "density_g_per_cm3": parent,
        "slug_density_g_per_cm3": heavy,
        "removed_g": removed,
        "slug_g": slug_g,
        "net_g": net,
        "unbalance_gmm": amount,
        "depth_shoulder_mm": place.depth_shoulder_mm,
        "depth_tip_mm": tip,
    }
    answer.work = _work(place, metal, heavy, point_angle_deg)


def _work(place: _Place, metal: Metal, heavy: float, point_angle_deg: float) -> list[str]:
    parent, d, long = metal.density_g_per_cm3, place.diameter_mm, place.length_mm
    pocket = place.hole.pocket
    volume = 0.0 if pocket is None else pocket.volume_mm3
    moment = 0.0 if pocket is None else pocket.first_moment_mm4
    cone = cone_height_mm(diameter_mm=d, point_angle_deg=point_angle_deg)
    whole = place.bore != "blind" or place.thickness_mm is None or long + cone <= place.thickness_mm + 1e-9
    lines = [f"a = d / 2 = {d:.8g} / 2 = {d / 2.0:.8g}"]
    if place.bore == "blind":
        lines += cone_lines(diameter_mm=d, point_angle_deg=point_angle_deg)
    if place.wanted_gmm is not None and whole:
        lines += length_lines(
            wanted_gmm=place.wanted_gmm,
            diameter_mm=d,
            length_mm=long,
            radius_mm=place.radius_mm,
            point_angle_deg=point_angle_deg if place.bore == "blind" else None,
            parent_density_g_per_cm3=0.0 if pocket is None else parent,
            slug_density_g_per_cm3=heavy,
        )
    if place.bore == "radial":
        lines += radial_pocket_lines(
            outer_radius_mm=place.outer_radius_mm or 0.0,
            diameter_mm=d,
            depth_shoulder_mm=place.depth_shoulder_mm or 0.0,
            length_mm=long,
            point_angle_deg=point_angle_deg,
            density_g_per_cm3=parent,
            volume_mm3=volume,
            first_moment_mm4=moment,
        )
    else:
        lines += pocket_lines(
            bore=place.bore,
            diameter_mm=d,
            length_mm=long,
            radius_mm=place.radius_mm,
            point_angle_deg=point_angle_deg,
            volume_mm3=volume,
            whole=whole,
        )
    return lines + net_lines(
        diameter_mm=d,
        length_mm=long,
        slug_radius_mm=place.radius_mm,
        density_g_per_cm3=parent,
        slug_density_g_per_cm3=heavy,
        pocket_volume_mm3=volume,
        pocket_first_moment_mm4=moment,
    )
