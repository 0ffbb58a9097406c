"""Cuts in a rim that a plain hole's formulas do not know: formed rims, other places, break-outs, turning, flats, bevels."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from geometry_profiles.rims import RimForm
from planner.cuts.rim_form_hole import (
    HoleMoments,
    rim_form_hole,
    rim_form_hole_depth_mm,
    rim_hole_breaking_out,
)
from planner.cuts.rim_off import (
    edge_bevel,
    flat,
    flat_off_mm,
    rim_turned,
    rim_turned_off_mm,
    rim_turned_sector_deg,
)
from planner.errors import InputError
from planner.rotor.crankshaft import Face, cone_height_mm
from planner.steps.one_cut import Draft, Metal, OneCut

SECTOR_NOTE = "the ends of the sector are radial walls; a cutter leaves its own radius there, which takes off a little more"


def formed_rim_cut(
    *,
    form: RimForm,
    diameter_mm: float,
    depth_mm: float | None,
    wanted_gmm: float | None,
    counted_to: str,
    point_angle_deg: float,
    from_middle_mm: float,
    beside_mm: float,
    tilt_deg: float,
    flanks_deg: Sequence[float],
    allow_break_out: bool,
    metal: Metal,
) -> OneCut:
    """Return what a hole in a rim of any form takes off, or how deep it must be; sizes as of `rim_form_hole`.

    Raises
    ------
    InputError
        If the hole comes out somewhere and that is not allowed (the place is named), or its sizes can't be.
    """
    d, density = diameter_mm, metal.density_g_per_cm3
    cone = cone_height_mm(diameter_mm=d, point_angle_deg=point_angle_deg)
    drill: dict[str, Any] = {"diameter_mm": d, "point_angle_deg": point_angle_deg}
    aslant: dict[str, Any] = {"beside_mm": beside_mm, "tilt_deg": tilt_deg}
    hole = {"form": form, **drill, "from_middle_mm": from_middle_mm}
    if wanted_gmm is None:
        shoulder = (depth_mm or 0.0) - (cone if counted_to == "tip" else 0.0)
    else:
        wanted_mm4 = wanted_gmm / density * 1000.0
        shoulder = rim_form_hole_depth_mm(first_moment_mm4=wanted_mm4, **hole, **aslant)
    outs = break_outs(
        form, diameter_mm=d, depth_shoulder_mm=shoulder, from_middle_mm=from_middle_mm, flanks_deg=flanks_deg
    )
    if outs and not allow_break_out:
        raise InputError(
            f"the hole comes out {' and '.join(outs)}",
            hint="take a smaller drill or another place; --allow-break-out reckons it",
        )
    if outs and (beside_mm or tilt_deg):
        raise InputError(
            "a hole beside the radius or tilted that comes out is not worked out",
            hint="leave --beside and --tilt out",
        )
    if outs and wanted_gmm is not None:
        raise InputError("the depth of a hole that comes out is not worked out", hint="give --depth")
    if outs:
        found = rim_hole_breaking_out(**hole, depth_shoulder_mm=shoulder, flanks_deg=tuple(flanks_deg))
    else:
        found = rim_form_hole(**hole, **aslant, depth_shoulder_mm=shoulder)
    draft = Draft(metal=metal)
    draft.length("depth to shoulder", shoulder)
    draft.length("depth to tip", shoulder + cone)
    draft.data = {
        "cut": "rim hole",
        **drill,
        "depth_shoulder_mm": shoulder,
        "depth_tip_mm": shoulder + cone,
        "from_middle_mm": from_middle_mm,
        **aslant,
        "breaks_out": outs,
    }
    draft.working = [
        "M = sum over the columns of the hole from the rim to its bottom, along the ray and across it, by quadrature",
        f"  along {found.radial_mm4:.8g} mm4, across {found.tangential_mm4:.8g} mm4, together {found.first_moment_mm4:.8g} mm4",
    ]
    draft.warnings += [f"the hole comes out {out}; only metal is counted" for out in outs]
    return _done(draft, f"rim hole: {d:g} mm drill", found, form)


def break_outs(
    form: RimForm,
    *,
    diameter_mm: float,
    depth_shoulder_mm: float,
    from_middle_mm: float,
    flanks_deg: Sequence[float],
) -> list[str]:
    """Return where a hole comes out and by how much, in words; flanks are radial, degrees from the hole's ray."""
    found, d = [], diameter_mm
    for name, room in (
        ("front face", from_middle_mm - 0.5 * d - form.breaks_mm[0]),
        ("rear face", form.breaks_mm[-1] - from_middle_mm - 0.5 * d),
    ):
        if room < -1e-9:
            found.append(f"at the {name}, by {-room:.2f} mm")
    inward = form.greatest_radius_mm - max(depth_shoulder_mm, 0.0)
    for flank in flanks_deg:
        # the edge of the shoulder is nearest to a ray from the axis
        room = inward * math.sin(math.radians(abs(flank))) - 0.5 * d * math.cos(math.radians(flank))
        if room < -1e-9:
            found.append(f"at the flank {flank:+g} degrees from it, by {-room:.2f} mm")
    return found


def turned_cut(
    *,
    form: RimForm,
    off_mm: float | None,
    sector_deg: float | None,
    wanted_gmm: float | None,
    metal: Metal,
) -> OneCut:
    """Return what turning a rim down over a sector takes off, how deep or how wide it must be: one of three is None.

    Raises
    ------
    InputError
        If it can't be reached, or the sizes can't be.
    """
    wanted = (wanted_gmm or 0.0) / metal.density_g_per_cm3 * 1000.0
    if off_mm is None:
        off_mm = rim_turned_off_mm(form=form, first_moment_mm4=wanted, sector_deg=sector_deg or 0.0)
    if sector_deg is None:
        sector_deg = rim_turned_sector_deg(form=form, first_moment_mm4=wanted, off_mm=off_mm)
    found = rim_turned(form=form, off_mm=off_mm, sector_deg=sector_deg)
    R = form.greatest_radius_mm
    plain = (
        2.0 / 3.0 * math.sin(math.radians(0.5 * sector_deg)) * (R**3 - (R - off_mm) ** 3) * form.thickness_mm
    )
    draft = Draft(metal=metal, notes=[SECTOR_NOTE])
    draft.length("off the radius", off_mm)
    draft.says("sector", f"{sector_deg:.2f} degrees")
    draft.length("along the rim", math.radians(sector_deg) * R)
    draft.data = {"cut": "rim turning", "off_mm": off_mm, "sector_deg": sector_deg}
    draft.working = [
        "M = 2/3 * sin(sector / 2) * (R^3 - r^3) * t      (a plain rim; r = R - depth)",
        f"  = 2/3 * sin({0.5 * sector_deg:.6g}) * ({R:.6g}^3 - {R - off_mm:.6g}^3) * {form.thickness_mm:.6g} = "
        f"{plain:.6g} mm4",
    ]
    return _done(draft, f"rim turned down over {sector_deg:.4g} degrees", found, form)


def flat_cut(*, form: RimForm, off_mm: float | None, wanted_gmm: float | None, metal: Metal) -> OneCut:
    """Return what a flat across the rim takes off, or how deep it must be (``off_mm`` None).

    Raises
    ------
    InputError
        If it can't be reached, or the sizes can't be.
    """
    if off_mm is None:
        off_mm = flat_off_mm(
            form=form, first_moment_mm4=(wanted_gmm or 0.0) / metal.density_g_per_cm3 * 1000.0
        )
    found = flat(form=form, off_mm=off_mm)
    R, q = form.greatest_radius_mm, form.greatest_radius_mm - off_mm
    wide = 2.0 * math.sqrt(max(R * R - q * q, 0.0))
    plain = 2.0 / 3.0 * max(R * R - q * q, 0.0) ** 1.5 * form.thickness_mm
    draft = Draft(metal=metal)
    draft.length("below the rim", off_mm)
    draft.length("width of the flat", wide)
    draft.data = {"cut": "flat", "off_mm": off_mm, "width_mm": wide}
    draft.working = [
        "M = 2/3 * (R^2 - q^2)^(3/2) * t      (a plain rim; q = R - depth)",
        f"  = 2/3 * ({R:.6g}^2 - {q:.6g}^2)^1.5 * {form.thickness_mm:.6g} = {plain:.6g} mm4",
    ]
    return _done(draft, "flat across the rim", found, form)


def bevel_cut(
    *, form: RimForm, width_mm: float, slope_deg: float, sector_deg: float, face: Face, metal: Metal
) -> OneCut:
    """Return what bevelling one edge over a sector takes off.

    Raises
    ------
    InputError
        If the sizes can't be.
    """
    found = edge_bevel(form=form, width_mm=width_mm, slope_deg=slope_deg, sector_deg=sector_deg, face=face)
    draft = Draft(metal=metal, notes=[SECTOR_NOTE])
    draft.length("width", width_mm)
    draft.length("off the radius at the face", width_mm * math.tan(math.radians(slope_deg)))
    sizes = {"width_mm": width_mm, "slope_deg": slope_deg, "sector_deg": sector_deg, "face": face}
    draft.data = {"cut": "bevel", **sizes}
    draft.working = [
        "M = sum along the bevel's width of 2/3 * sin(sector / 2) * (R^3 - (R - x * tan(slope))^3)"
    ]
    return _done(draft, f"bevel on the {face} edge over {sector_deg:g} degrees", found, form)


def _done(draft: Draft, what: str, found: HoleMoments, form: RimForm) -> OneCut:
    """Return the answer with what every cut of a rim says added: mass, unbalance, where it acts."""
    metal = draft.metal
    density = metal.density_g_per_cm3
    mass, amount = found.volume_mm3 * density / 1000.0, found.first_moment_mm4 * density / 1000.0
    draft.says("mass taken off", f"{mass:.2f} g")
    draft.unbalance("unbalance taken off", amount)
    draft.length("centroid radius", found.centroid_radius_mm)
    if abs(found.from_middle_mm) > 1e-6:
        along = f"{found.from_middle_mm:+.3f} mm from the middle (+ toward the rear)"
        draft.says("acts along the shaft", along)
    if abs(found.turned_deg) > 1e-9:
        draft.says("direction", f"{found.turned_deg:+.3f} degrees from the cut's ray (+ counter-clockwise)")
    if form.name != "cylindrical":
        draft.working.append(f"summed over the {form.name} rim: M = {found.first_moment_mm4:.8g} mm4")
    draft.working.append(
        f"unbalance = density / 1000 * M = {density:g} / 1000 * {found.first_moment_mm4:.8g} = {amount:.8g} g*mm"
    )
    draft.data |= {
        "outer_radius_mm": form.greatest_radius_mm,
        "thickness_mm": form.thickness_mm,
        "rim": form.name,
        "density_g_per_cm3": density,
        "volume_mm3": found.volume_mm3,
        "mass_g": mass,
        "unbalance_gmm": amount,
        "turned_deg": found.turned_deg,
        "acts_from_middle_mm": found.from_middle_mm,
        "centroid_radius_mm": found.centroid_radius_mm,
    }
    return draft.done(
        f"{what}, {form.name} rim at {form.greatest_radius_mm:g} mm, {form.thickness_mm:g} mm thick, {metal.words}"
    )
