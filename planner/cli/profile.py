"""``bobplan profile``: a counterweight drawn and weighed, without a job file."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from planner.cli.console import say, say_json
from planner.errors import InputError
from planner.quantity import (
    from_g,
    from_gmm,
    parse_angle_deg,
    parse_density_g_per_cm3,
    parse_length_mm,
)

if TYPE_CHECKING:
    from geometry_profiles.outline import Outline
    from planner.rotor.weighing import WeighedCounterweight

# what each shape needs (True) or may have (False), by option
_SHAPES: dict[str, dict[str, bool]] = {
    "fan": {"--outer-radius": True, "--half-angle": True, "--inner-radius": True},
    "trimmed fan": {
        "--outer-radius": True,
        "--half-angle": True,
        "--inner-radius": True,
        "--half-width": True,
    },
    "half disc": {"--outer-radius": True, "--inner-radius": True, "--flat-offset": False},
    "disc": {"--outer-radius": True, "--inner-radius": True},
    "points": {"--points": True, "--inner-radius": True, "--rim-radius": False},
}
_PARAMETERS = {
    "--outer-radius": "outer_radius_mm",
    "--inner-radius": "inner_radius_mm",
    "--half-angle": "half_angle_deg",
    "--half-width": "half_width_mm",
    "--flat-offset": "flat_offset_mm",
    "--rim-radius": "rim_radius_mm",
}


def profile(
    shape: Annotated[str, typer.Option(help="fan, 'trimmed fan', 'half disc', disc or points.")] = "fan",
    outer_radius: Annotated[
        str | None, typer.Option(help="Rim, from the shaft axis; bare numbers are mm ('3.5 in' reads too).")
    ] = None,
    half_angle: Annotated[
        str | None, typer.Option(help="Fan: from the centre line to a flank, in degrees.")
    ] = None,
    inner_radius: Annotated[
        str | None, typer.Option(help="Where the crankshaft's body begins; nothing inside is weighed.")
    ] = None,
    half_width: Annotated[
        str | None, typer.Option(help="Trimmed fan: from the centre line to a side cut parallel to it.")
    ] = None,
    flat_offset: Annotated[
        str | None, typer.Option(help="Half disc: from the shaft axis to the flat, along the centre line.")
    ] = None,
    points: Annotated[
        str | None,
        typer.Option(help="Corners 'x,y; x,y; ...' round the counterweight, centre line along +x."),
    ] = None,
    rim_radius: Annotated[
        str | None, typer.Option(help="Points: radius of the rim, where edges on it count as its arc.")
    ] = None,
    thickness: Annotated[str | None, typer.Option(help="Along the shaft.")] = None,
    density: Annotated[str, typer.Option(help="Bare numbers are g/cm3; forged steel is 7.85.")] = "7.85",
    plot: Annotated[Path | None, typer.Option(help="Also draw it to this file: .png, .svg or .pdf.")] = None,
    show_work: Annotated[
        bool, typer.Option("--show-work", help="Print the formulas with the numbers put in.")
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
) -> None:
    """Weigh a counterweight from its outline: area, mass, centroid, unbalance about the shaft axis."""
    given = {
        "--outer-radius": outer_radius,
        "--half-angle": half_angle,
        "--inner-radius": inner_radius,
        "--half-width": half_width,
        "--flat-offset": flat_offset,
        "--points": points,
        "--rim-radius": rim_radius,
    }
    if plot is not None:
        from planner.present.drawings.profile import check_plot_file

        check_plot_file(plot)
    if thickness is None:
        raise InputError(
            "not given: --thickness; a mass needs the thickness along the shaft",
            hint="for example --thickness 24 or --thickness '15/16 in'",
        )
    thickness_mm = parse_length_mm(thickness, name="--thickness", above=0.0)
    density_g_per_cm3 = parse_density_g_per_cm3(density, name="--density", above=0.0)
    outline = _outline(shape, {name: value for name, value in given.items() if value is not None})

    from planner.rotor.weighing import weigh, weighing_work

    weighed = weigh(outline, thickness_mm=thickness_mm, density_g_per_cm3=density_g_per_cm3)
    if plot is not None:
        from planner.present.drawings.profile import save_profile

        save_profile(weighed, plot)
    if as_json:
        answer = _as_data(weighed)
        if plot is not None:
            answer["plot"] = str(plot)
        if show_work:
            answer["work"] = list(weighing_work(weighed))
        say_json(answer)
        return
    for line in _text(weighed):
        say(line)
    if show_work:
        say("")
        for line in weighing_work(weighed):
            say(line)
    if plot is not None:
        say(f"\ndrawn to `{plot}`")


def _outline(shape: str, given: dict[str, str]) -> Outline:
    """Return the outline of a shape from its options as typed.

    Raises
    ------
    InputError
        If the shape is unknown, an option is missing or does not belong to it, or the sizes can't be.
    """
    from geometry_profiles import shapes
    from geometry_profiles.outline import OutlineError

    name = " ".join(shape.replace("-", " ").replace("_", " ").split()).casefold()
    if name not in _SHAPES:
        known = ", ".join(f"`{each}`" for each in _SHAPES)
        raise InputError(f"given --shape `{shape}`; {known} are allowed", hint="use one of these names")
    options = _SHAPES[name]
    strange = [option for option in given if option not in options]
    if strange:
        raise InputError(
            f"given {', '.join(strange)}; a {name} has no such size",
            hint=f"its options are {', '.join(options)}",
        )
    missing = [option for option, needed in options.items() if needed and option not in given]
    if missing:
        raise InputError(
            f"not given: {', '.join(missing)}; a {name} needs {'it' if len(missing) == 1 else 'them'}",
            hint=f"its options are {', '.join(options)}",
        )
    sizes: dict[str, Any] = {}
    for option, text in given.items():
        if option == "--half-angle":
            sizes[_PARAMETERS[option]] = parse_angle_deg(text, name=option)
        elif option != "--points":
            sizes[_PARAMETERS[option]] = parse_length_mm(text, name=option)
    try:
        if name == "points":
            return shapes.points(_corners(given["--points"]), **sizes)
        makers: dict[str, Callable[..., Outline]] = {
            "fan": shapes.fan,
            "trimmed fan": shapes.trimmed_fan,
            "half disc": shapes.half_disc,
            "disc": shapes.disc,
        }
        return makers[name](**sizes)
    except OutlineError as error:
        raise InputError(str(error), hint="measure again from the shaft axis, in the units typed") from error


def _corners(text: str) -> list[tuple[float, float]]:
    """Return the corners of ``x,y; x,y; ...`` [mm].

    Raises
    ------
    InputError
        If a corner is not two lengths.
    """
    corners = []
    for index, corner in enumerate(filter(str.strip, text.split(";")), start=1):
        parts = corner.split(",")
        if len(parts) != 2:
            raise InputError(
                f"given corner {index} `{corner.strip()}` of --points; two lengths with a comma are allowed",
                hint="for example --points '30,-40; 80,-30; 80,30; 30,40'",
            )
        x, y = (parse_length_mm(part.strip(), name=f"--points, corner {index}") for part in parts)
        corners.append((x, y))
    return corners


def _as_data(weighed: WeighedCounterweight) -> dict[str, Any]:
    """Return the answer as plain data."""
    area, outline = weighed.area, weighed.outline
    return {
        "shape": outline.name,
        "rim_radius_mm": outline.rim_radius_mm,
        "inner_radius_mm": outline.inner_radius_mm,
        "thickness_mm": weighed.thickness_mm,
        "density_g_per_cm3": weighed.density_g_per_cm3,
        "area_mm2": area.area_mm2,
        "volume_mm3": weighed.volume_mm3,
        "mass_g": weighed.mass_g,
        "centroid_radius_mm": area.centroid_radius_mm,
        "centroid_x_mm": area.centroid_x_mm,
        "centroid_y_mm": area.centroid_y_mm,
        "unbalance_gmm": abs(weighed.unbalance_gmm),
        "unbalance_ozin": from_gmm(abs(weighed.unbalance_gmm), "oz*in"),
        "second_moment_x_mm4": area.second_moment_x_mm4,
        "second_moment_y_mm4": area.second_moment_y_mm4,
        "product_moment_mm4": area.product_moment_mm4,
        "polar_moment_mm4": area.polar_moment_mm4,
        "polar_mass_moment_gmm2": weighed.polar_mass_moment_gmm2,
    }


def _text(weighed: WeighedCounterweight) -> list[str]:
    """Return the answer as lines for a terminal."""
    area, outline = weighed.area, weighed.outline
    amount_gmm = abs(weighed.unbalance_gmm)
    rows = [
        ("area", f"{area.area_mm2:.1f} mm2", ""),
        ("volume", f"{weighed.volume_mm3 / 1000.0:.2f} cm3", ""),
        ("mass", f"{weighed.mass_g:.1f} g", f"{from_g(weighed.mass_g, 'lb'):.3f} lb"),
        ("centroid", f"{area.centroid_radius_mm:.2f} mm from the shaft axis", ""),
        ("unbalance", f"{amount_gmm:.0f} g*mm", f"{from_gmm(amount_gmm, 'oz*in'):.2f} oz*in"),
        ("second moment, y^2", f"{area.second_moment_x_mm4:.5g} mm4", "about the centre line"),
        ("second moment, x^2", f"{area.second_moment_y_mm4:.5g} mm4", "about the line across it"),
        ("polar moment", f"{area.polar_moment_mm4:.5g} mm4", "about the shaft axis"),
        ("moment of inertia", f"{weighed.polar_mass_moment_gmm2 / 1e9:.4g} kg*m2", "about the shaft axis"),
    ]
    inside = (
        f", outside the inner radius of {outline.inner_radius_mm:g} mm" if outline.inner_radius_mm > 0 else ""
    )
    return [
        f"{outline.name}, {weighed.thickness_mm:g} mm thick, density {weighed.density_g_per_cm3:g} g/cm3{inside}",
        "",
        *(f"{name:<20}{value}{f'   ({also})' if also else ''}" for name, value, also in rows),
        "",
        "holes, fillets and chamfers left out; the unbalance is what this counterweight alone makes",
    ]
