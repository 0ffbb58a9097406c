"""A counterweight weighed from its outline, a traced one, and the list of generic ones."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from planner.present.document import Block, Document, Values, block, document, lines, table
from planner.present.to_json import chosen
from planner.quantity import from_g, from_gmm

if TYPE_CHECKING:
    from geometry_profiles.catalogue import GenericProfile
    from geometry_profiles.tracing import Tracing
    from planner.rotor.weighing import WeighedCounterweight


def profile_document(weighed: WeighedCounterweight, tracing: Tracing | None = None) -> Document:
    """Return what a counterweight weighs, and how well a traced fan fits."""
    area, outline = weighed.area, weighed.outline
    amount_gmm = abs(weighed.unbalance_gmm)
    rows = (
        ("area", f"{area.area_mm2:.1f} mm2", ""),
        ("volume", f"{weighed.volume_mm3 / 1000.0:.2f} cm3", ""),
        ("mass", f"{weighed.mass_g:.1f} g", f"{from_g(weighed.mass_g, 'lb'):.3f} lb"),
        ("centroid", f"{abs(weighed.centroid_mm):.2f} mm from the shaft axis", ""),
        ("unbalance", f"{amount_gmm:.0f} g*mm", f"{from_gmm(amount_gmm, 'oz*in'):.2f} oz*in"),
        ("second moment, y^2", f"{area.second_moment_x_mm4:.5g} mm4", "about the centre line"),
        ("second moment, x^2", f"{area.second_moment_y_mm4:.5g} mm4", "about the line across it"),
        ("polar moment", f"{area.polar_moment_mm4:.5g} mm4", "about the shaft axis"),
        ("moment of inertia", f"{weighed.polar_mass_moment_gmm2 / 1e9:.4g} kg*m2", "about the shaft axis"),
    )
    inside = (
        f", outside the inner radius of {outline.inner_radius_mm:g} mm" if outline.inner_radius_mm > 0 else ""
    )
    rim = "" if weighed.rim is None else f", {weighed.rim.name} rim"
    left_out = "holes, fillets and chamfers" if weighed.rim is None else "holes and fillets"
    return document(
        lines(
            f"{outline.name}{rim}, {weighed.thickness_mm:g} mm thick, density {weighed.density_g_per_cm3:g} g/cm3{inside}"
        ),
        Values(rows=tuple((name, f"{value}   ({also})" if also else value) for name, value, also in rows)),
        lines(f"{left_out} left out; the unbalance is what this counterweight alone makes"),
        _traced(tracing) if tracing is not None else None,
    )


def _traced(tracing: Tracing) -> Block:
    """Return how well a traced fan fits, and what to write into a job file."""
    worst, outline = tracing.worst, tracing.outline
    radial = tracing.flanks == "radial"
    sizes = {
        "outer_radius": f"{tracing.rim_radius_mm:.2f}",
        "half_angle": f"{tracing.half_angle_deg:.2f}",
        **({} if radial else {"flank_angle": f"{tracing.flank_angle_deg:.2f}"}),
        "inner_radius": f"{outline.inner_radius_mm:g}",
    }
    shape = "fan" if radial else "flanked fan"
    given = ", ".join(f"{name} = {size}" for name, size in sizes.items())
    return block(
        f"traced from {len(tracing.points)} points, {tracing.flanks} flanks:",
        Values(
            rows=(
                ("rim radius", _give(tracing.rim_radius_mm, tracing.rim_radius_error_mm, " mm")),
                ("half angle", _give(tracing.half_angle_deg, tracing.half_angle_error_deg, "°")),
                (
                    "centre line",
                    f"at {_give(tracing.centre_line_deg % 360.0, tracing.centre_line_error_deg, '°')} of the measuring axes",
                ),
            ),
            level=1,
        ),
        lines(
            f"the points lie {tracing.rms_mm:.2f} mm off it (root mean square), at most {abs(worst.off_mm):.2f} mm, at "
            f"({worst.x_mm:g}, {worst.y_mm:g}) on the {worst.kind}",
            f'in a job file: `outline = {{ shape = "{shape}", {given} }}`',
            level=1,
        ),
    )


def _give(value: float, error: float | None, unit: str) -> str:
    return f"{value:.2f}{unit}" if error is None else f"{value:.2f}{unit} ± {error:.2f}{unit}"


def profiles_document(weighed: Sequence[tuple[GenericProfile, WeighedCounterweight]]) -> Document:
    """Return the generic profiles with what they weigh."""
    rows = [
        (each.name, f"{found.mass_g:.0f} g", f"{abs(found.unbalance_gmm):.0f} g*mm", each.words)
        for each, found in weighed
    ]
    return document(
        block(
            "Generic profiles (invented sizes of no engine in particular; steel, 7.85 g/cm3):",
            table(("",) * 4, rows, level=1),
            lines(
                "`bobplan profile --generic NAME` weighs one, `--plot FILE` draws it, `--dxf FILE` writes it as a drawing;",
                'in a job file: `outline = { shape = "generic", profile = "NAME" }`',
            ),
        )
    )


def profiles_json(weighed: Sequence[tuple[GenericProfile, WeighedCounterweight]]) -> dict[str, Any]:
    """Return the generic profiles for a program."""
    return {
        "profiles": [
            {
                **chosen(each, "name words shape"),
                "rim": each.rim_form or "plain",
                "thickness_mm": each.thickness_mm,
                "mass_g": found.mass_g,
                "unbalance_gmm": abs(found.unbalance_gmm),
            }
            for each, found in weighed
        ]
    }


def profile_json(weighed: WeighedCounterweight, tracing: Tracing | None = None) -> dict[str, Any]:
    """Return what a counterweight weighs for a program."""
    sizes = "outline.rim_radius_mm outline.inner_radius_mm thickness_mm density_g_per_cm3"
    weight = "area.area_mm2 volume_mm3 mass_g body.centroid_radius_mm"
    centroid = "centroid_x_mm=centroid_mm.real centroid_y_mm=centroid_mm.imag from_middle_mm"
    moments = (
        "area.second_moment_x_mm4 area.second_moment_y_mm4 area.product_moment_mm4 area.polar_moment_mm4 "
        "polar_mass_moment_gmm2"
    )
    return {
        "shape": weighed.outline.name,
        "rim": "plain" if weighed.rim is None else weighed.rim.name,
        **chosen(weighed, f"{sizes} {weight} {centroid}"),
        "unbalance_gmm": abs(weighed.unbalance_gmm),
        "unbalance_ozin": from_gmm(abs(weighed.unbalance_gmm), "oz*in"),
        **chosen(weighed, moments),
    } | ({} if tracing is None else {"tracing": _tracing_json(tracing)})


def _tracing_json(tracing: Tracing) -> dict[str, Any]:
    fan = "flanks rim_radius_mm half_angle_deg flank_angle_deg centre_line_deg"
    errors = "rim_radius_error_mm half_angle_error_deg centre_line_error_deg rms_mm"
    points = [chosen(point, "on=kind x_mm y_mm off_mm") for point in tracing.points]
    return {**chosen(tracing, f"{fan} {errors}"), "points": points}
