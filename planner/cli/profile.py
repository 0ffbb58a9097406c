"""``bobplan profile``: a counterweight drawn and weighed, without a job file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from planner.cli.console import say, say_json, show, tell
from planner.cli.options import JsonOption, WorkOption
from planner.errors import InputError
from planner.quantity import (
    parse_angle_deg,
    parse_density_g_per_cm3,
    parse_length_mm,
)

if TYPE_CHECKING:
    from geometry_profiles.catalogue import GenericProfile
    from geometry_profiles.outline import Outline
    from geometry_profiles.rims import RimForm
    from geometry_profiles.tracing import Tracing

_PARAMETERS = {
    "--outer-radius": "outer_radius_mm",
    "--inner-radius": "inner_radius_mm",
    "--half-angle": "half_angle_deg",
    "--half-width": "half_width_mm",
    "--flat-offset": "flat_offset_mm",
    "--rim-radius": "rim_radius_mm",
    "--flank-angle": "flank_angle_deg",
    "--points": "points_mm",
    "--steps": "steps",
    "--flats": "flats",
}
_OPTION = {name: option for option, name in _PARAMETERS.items()}


def profile(
    context: typer.Context,
    shape: Annotated[
        str | None,
        typer.Option(
            help="A fan, 'trimmed fan', 'flanked fan', 'stepped fan', 'half disc', disc, 'trimmed disc' or points."
        ),
    ] = None,
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
    flank_angle: Annotated[
        str | None,
        typer.Option(
            help="Flanked fan: flank against the centre line; 0 is parallel, more than the half angle undercut."
        ),
    ] = None,
    steps: Annotated[
        str | None, typer.Option(help="Stepped fan: 'radius,half angle; ...' from the rim inward.")
    ] = None,
    flats: Annotated[
        str | None, typer.Option(help="Trimmed disc: 'offset,angle; ...' of each flat, from the centre line.")
    ] = None,
    rim: Annotated[
        str | None,
        typer.Option(
            help="Form of the rim: 'bevelled width=4 slope=45', 'tapered taper=3', 'rounded rounding=5', "
            "'stepped plates=16:88,10:80'; front_width=, rear_width= and so on for one edge."
        ),
    ] = None,
    listed: Annotated[bool, typer.Option("--list", help="List the generic profiles and stop.")] = False,
    generic: Annotated[str | None, typer.Option(help="A generic profile by its name (see --list).")] = None,
    drawing: Annotated[
        Path | None, typer.Option(help="Take the outline from a .dxf drawing or a .csv with points.")
    ] = None,
    units: Annotated[str | None, typer.Option(help="Unit of the drawing: mm, cm, m, in or ft.")] = None,
    layer: Annotated[str | None, typer.Option(help="Layer of the drawing with the outline.")] = None,
    origin: Annotated[
        str | None, typer.Option(help="Where the drawing has the shaft axis, 'x,y' in its own units.")
    ] = None,
    centre_line: Annotated[
        str | None, typer.Option(help="Direction of the centre line in the drawing, in degrees.")
    ] = None,
    seen_from: Annotated[
        str, typer.Option(help="From which end of the crankshaft the drawing is seen: front or rear.")
    ] = "front",
    trace: Annotated[
        Path | None,
        typer.Option(
            help="Fit a fan to measured points: a .csv with lines 'rim,x,y' and 'flank,x,y' from the shaft axis."
        ),
    ] = None,
    whole: Annotated[
        str | None,
        typer.Option(
            metavar="JOB",
            help="Foretell the bare crankshaft of a job from its counterweights, crankpins, arms and holes.",
        ),
    ] = None,
    dxf: Annotated[Path | None, typer.Option(help="Also write the outline to this .dxf file, in mm.")] = None,
    thickness: Annotated[str | None, typer.Option(help="Along the shaft.")] = None,
    density: Annotated[str, typer.Option(help="Bare numbers are g/cm3; forged steel is 7.85.")] = "7.85",
    plot: Annotated[Path | None, typer.Option(help="Also draw it to this file: .png, .svg or .pdf.")] = None,
    show_work: WorkOption = False,
    as_json: JsonOption = False,
) -> None:
    """Weigh a counterweight from its outline: area, mass, centroid, unbalance about the shaft axis."""
    given = {option: context.params[option[2:].replace("-", "_")] for option in _PARAMETERS}
    if listed:
        _list(as_json)
        return
    if whole is not None:
        _whole(whole, as_json)
        return
    if plot is not None:
        from planner.present.drawings.profile import check_plot_file

        check_plot_file(plot)
    if dxf is not None:
        from planner.files import check_output

        check_output(dxf, endings=(".dxf",), hint=f"for example `{dxf.stem or 'profile'}.dxf`")
    typed = {name: value for name, value in given.items() if value is not None}
    _check_sources(shape, typed, generic=generic, drawing=drawing, trace=trace)
    known = None
    if generic is not None:
        known = _generic(generic)
        thickness = f"{known.thickness_mm} mm" if thickness is None else thickness
    if thickness is None:
        raise InputError(
            "not given: --thickness; a mass needs the thickness along the shaft",
            hint="for example --thickness 24 or --thickness '15/16 in'",
        )
    thickness_mm = parse_length_mm(thickness, name="--thickness", above=0.0)
    density_g_per_cm3 = parse_density_g_per_cm3(density, name="--density", above=0.0)
    tracing = None
    if known is not None:
        outline = known.outline()
    elif drawing is not None:
        outline = _drawn(drawing, typed, units, layer, origin, centre_line, seen_from)
    elif trace is not None:
        tracing = _traced(trace, typed)
        outline = tracing.outline
    else:
        outline = _outline(shape or "fan", typed)
    form = _rim(rim, outline, thickness_mm)
    if form is None and known is not None and rim is None and abs(known.thickness_mm - thickness_mm) < 1e-9:
        form = known.rim()

    from planner.formula import working_lines
    from planner.rotor.weighing import weigh, weighing_work

    weighed = weigh(outline, thickness_mm=thickness_mm, density_g_per_cm3=density_g_per_cm3, rim=form)
    if dxf is not None:
        from geometry_profiles.exchange import write_dxf

        write_dxf(dxf, outline, notes=[f"{outline.name}, {thickness_mm:g} mm thick, drawn in mm"])
    if plot is not None:
        from planner.cli.cut_inputs import any_inches
        from planner.present.drawings.profile import save_profile
        from planner.quantity import UnitSystem

        inches = any_inches(thickness, *(str(value) for value in typed.values()))
        asked = UnitSystem(length="in", unbalance="oz*in") if inches else None
        save_profile(weighed, plot, units=asked)
    from planner.present.pages.profile import profile_document, profile_json

    if as_json:
        answer = profile_json(weighed, tracing)
        if dxf is not None:
            answer["dxf"] = str(dxf)
        if plot is not None:
            answer["plot"] = str(plot)
        if show_work:
            answer["work"] = list(working_lines(weighing_work(weighed)))
        say_json(answer)
        return
    show(profile_document(weighed, tracing), working=weighing_work(weighed) if show_work else ())
    for file in (plot, dxf):
        if file is not None:
            say(f"\ndrawn to `{file}`")


def _outline(shape: str, given: dict[str, str]) -> Outline:
    """Return the outline of a shape from its options as typed.

    Raises
    ------
    InputError
        If the shape is unknown, an option is missing or does not belong to it, or the sizes can't be.
    """
    from geometry_profiles.catalogue import SHAPE_SIZES, outline_of
    from geometry_profiles.outline import OutlineError

    name = " ".join(shape.replace("-", " ").replace("_", " ").split()).casefold()
    if name not in SHAPE_SIZES:
        known = ", ".join(f"`{each}`" for each in SHAPE_SIZES)
        raise InputError(f"given --shape `{shape}`; {known} are allowed", hint="use one of these names")
    needs, may = SHAPE_SIZES[name]
    options = {_OPTION[size]: size in needs for size in (*needs, *may)}
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
        if option in ("--half-angle", "--flank-angle"):
            sizes[_PARAMETERS[option]] = parse_angle_deg(text, name=option)
        elif option in ("--steps", "--flats"):
            sizes[_PARAMETERS[option]] = _pairs(text, option)
        elif option == "--points":
            sizes[_PARAMETERS[option]] = _corners(text)
        else:
            sizes[_PARAMETERS[option]] = parse_length_mm(text, name=option)
    try:
        return outline_of(name, sizes)
    except OutlineError as error:
        raise InputError(str(error), hint="measure again from the shaft axis, in the units typed") from error


def _pairs(text: str, option: str) -> list[tuple[float, float]]:
    """Return the pairs of ``length,angle; ...`` [mm, deg] (InputError where one is not a length and an angle)."""
    pairs = []
    for index, pair in enumerate(filter(str.strip, text.split(";")), start=1):
        parts = [part.strip() for part in pair.split(",")]
        if len(parts) != 2:
            raise InputError(
                f"given `{pair.strip()}` as number {index} of {option}; a length and an angle with a comma are allowed",
                hint=f"for example {option} '60,48'",
            )
        where = f"{option}, number {index}"
        pairs.append((parse_length_mm(parts[0], name=where), parse_angle_deg(parts[1], name=where)))
    return pairs


def _check_sources(
    shape: str | None,
    typed: dict[str, str],
    *,
    generic: str | None,
    drawing: Path | None,
    trace: Path | None,
) -> None:
    """Refuse two ways of saying one outline."""
    ways = [
        name
        for name, value in (
            ("--generic", generic),
            ("--drawing", drawing),
            ("--trace", trace),
            ("--shape", shape),
        )
        if value is not None
    ]
    if len(ways) > 1:
        raise InputError(
            f"given {' and '.join(ways)}; an outline comes from one of them", hint="leave the others out"
        )
    allowed = {
        "--generic": (),
        "--drawing": ("--inner-radius", "--rim-radius"),
        "--trace": ("--inner-radius",),
    }.get(ways[0] if ways else "")
    strange = [] if allowed is None else [option for option in typed if option not in allowed]
    if strange:
        raise InputError(
            f"given {', '.join(strange)} with {ways[0]}, which says the outline itself",
            hint=f"with it go {', '.join(allowed)}" if allowed else "leave them out",
        )


def _list(as_json: bool) -> None:
    """Print the generic profiles."""
    from geometry_profiles.catalogue import generic_profiles
    from planner.present.pages.profile import profiles_document, profiles_json
    from planner.rotor.weighing import weigh

    rows = [
        (each, weigh(each.outline(), thickness_mm=each.thickness_mm, density_g_per_cm3=7.85, rim=each.rim()))
        for each in generic_profiles().values()
    ]
    tell(rows, profiles_json, profiles_document, as_json=as_json)


def _whole(job: str, as_json: bool) -> None:
    """Print what a job's crankshaft is foretold to do."""
    from planner.cli.options import open_job
    from planner.present.pages.picture import picture_document, picture_json
    from planner.steps.picture import picture_of

    tell(picture_of(open_job(job, writing=False)), picture_json, picture_document, as_json=as_json)


def _generic(name: str) -> GenericProfile:
    from geometry_profiles.catalogue import generic_profiles

    found = generic_profiles()
    plain = " ".join(name.replace("_", " ").replace("-", " ").casefold().split())
    if plain not in found:
        raise InputError(f"there is no generic profile `{name}`", hint=f"there are: {', '.join(found)}")
    return found[plain]


def _drawn(
    file: Path,
    typed: dict[str, str],
    units: str | None,
    layer: str | None,
    origin: str | None,
    centre_line: str | None,
    seen_from: str,
) -> Outline:
    """Return the outline of a drawing or of a list of points."""
    from geometry_profiles import shapes
    from geometry_profiles.exchange import (
        MM_PER,
        DrawingFrame,
        greatest_rim_mm,
        read_dxf_ring,
        read_points_csv,
    )
    from geometry_profiles.outline import OutlineError

    if "--inner-radius" not in typed:
        raise InputError(
            "not given: --inner-radius; a drawing does not say where the crankshaft's body begins",
            hint="for example --inner-radius 36",
        )
    if seen_from not in ("front", "rear"):
        raise InputError(f"given --seen-from `{seen_from}`; front or rear is allowed")
    try:
        x, y = (float(part) for part in (origin or "0,0").split(","))
    except ValueError:
        raise InputError(
            f"given --origin `{origin}`; two numbers with a comma are allowed", hint="for example '120,80'"
        ) from None
    frame = DrawingFrame(
        origin=(x, y),
        centre_line_deg=0.0 if centre_line is None else parse_angle_deg(centre_line, name="--centre-line"),
        seen_from_rear=seen_from == "rear",
    )
    try:
        if file.suffix.lower() == ".csv":
            unit = units or "mm"
            per = MM_PER.get(unit, 1.0)
            points = tuple(
                frame.inward((px / per, py / per), mm_per_unit=per)
                for px, py in read_points_csv(file, units=unit)
            )
        elif file.suffix.lower() == ".dxf":
            points = read_dxf_ring(file, units=units, layer=layer, frame=frame).points_mm
        else:
            raise InputError(f"given --drawing `{file}`; a .dxf drawing or a .csv with points is allowed")
        rim = typed.get("--rim-radius")
        radius = greatest_rim_mm(points) if rim is None else parse_length_mm(rim, name="--rim-radius")
        inner = parse_length_mm(typed["--inner-radius"], name="--inner-radius")
        return shapes.points(points, inner_radius_mm=inner, rim_radius_mm=radius)
    except OutlineError as error:
        raise InputError(
            str(error), hint="mend the drawing, or say unit, layer, origin and centre line"
        ) from error


def _traced(file: Path, typed: dict[str, str]) -> Tracing:
    """Return the fan fitted to the points of a file."""
    from geometry_profiles.outline import OutlineError
    from geometry_profiles.tracing import trace_fan
    from planner.files import read_bytes

    inner = parse_length_mm(typed.get("--inner-radius", "0"), name="--inner-radius")
    try:
        text = read_bytes(file, greatest_bytes=1_000_000).decode("utf-8-sig")
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise InputError(f"`{file}` can't be read: {reason}", hint="check its name") from None
    points: dict[str, list[tuple[float, float]]] = {"rim": [], "flank": []}
    for number, line in enumerate(text.splitlines(), start=1):
        plain = line.strip()
        if not plain or plain.startswith("#"):
            continue
        parts = [part.strip() for part in plain.replace(";", ",").split(",")]
        if parts[0].lower() in ("kind", "on", "what"):
            continue
        if len(parts) != 3 or parts[0].lower() not in points:
            raise InputError(
                f"`{file}`, line {number}: `{plain[:60]}` can't be read as a measured point",
                hint="write `rim, x, y` or `flank, x, y`, measured from the shaft axis",
            )
        x, y = (parse_length_mm(part, name=f"`{file}`, line {number}") for part in parts[1:])
        points[parts[0].lower()].append((x, y))
    try:
        return trace_fan(points["rim"], points["flank"], inner_radius_mm=inner)
    except OutlineError as error:
        raise InputError(
            str(error), hint="measure a few points on the rim and two or more on either flank"
        ) from error


def _rim(text: str | None, outline: Outline, thickness_mm: float) -> RimForm | None:
    """Return the form of the rim that a text like ``bevelled width=4 slope=45`` says; None when nothing is said."""
    if text is None:
        return None
    from planner.cli.rim_form import rim_form_of

    if outline.rim_radius_mm is None:
        raise InputError("this outline has no rim to form", hint="give --rim-radius")
    return rim_form_of(text, outer_radius_mm=outline.rim_radius_mm, thickness_mm=thickness_mm)


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
