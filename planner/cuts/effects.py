"""The one place where a cut record becomes grams and gram-millimetres."""

from __future__ import annotations

import cmath
import dataclasses
import math
from typing import Any

from planner.cuts.cut import Cut, CutEffect, Shop
from planner.cuts.face_hole import face_hole
from planner.cuts.rim_form_hole import HoleMoments, rim_form_hole, rim_hole_breaking_out
from planner.cuts.rim_hole import rim_hole
from planner.cuts.rim_off import rim_cut_moments
from planner.cuts.slug import SluggedHole, axial_slug, checked_slug_length, filled_hole
from planner.cuts.solid import Solid
from planner.errors import InputError
from planner.rotor.crankshaft import FILLS, Counterweight, Face


def effect_of(cut: Cut, *, counterweight: Counterweight, density_g_per_cm3: float, shop: Shop) -> CutEffect:
    """Return what a cut does to the rotor.

    Parameters
    ----------
    cut : Cut
        The cut; what it needs depends on its kind (see `Cut`).
    counterweight : Counterweight
        The counterweight it is made in: gives z, thickness and rim.
    density_g_per_cm3 : float
        Density of the counterweight's metal [g/cm3].
    shop : Shop
        Gives hole oversize, point angle and the slugs' density.

    Returns
    -------
    CutEffect
        Signed: removed is negative, added positive.

    Raises
    ------
    InputError
        If the cut lacks a size that its kind needs, a size is impossible, a rim hole is wider than the
        counterweight is thick or there is no rim, a slug reaches the rim or is longer than the thickness, or a
        deepening is of another kind or not deeper than the hole is.

    Notes
    -----
    Holes have the drill's diameter plus ``hole_oversize_mm``, and a cone of the shop's point angle on that
    wider diameter; slug bores have the slug's diameter.  A rim hole acts at the counterweight's z (its
    middle), a blind face hole or slug nearer to the face it was made from; the front face is at
    ``z - thickness/2``.  A slug that fills the full thickness is a through slug, a shorter one sits flush
    with ``face`` on the shoulder of a blind bore whose cone stays empty.  A deepening does what the hole after does
    less what the hole before did: mass, moment and moment times z.  Walls and what else must fit are not judged
    here.
    """
    if cut.deepens:
        after = dataclasses.replace(cut, from_depth_mm=None, from_diameter_mm=None)
        before = after
        if not (cut.kind == "face hole" and cut.through and cut.from_depth_mm is None):
            before = dataclasses.replace(after, depth_shoulder_mm=_checked_from(cut))
        if cut.from_diameter_mm is not None:
            before = dataclasses.replace(before, diameter_mm=cut.from_diameter_mm - shop.hole_oversize_mm)
        return _difference(
            *(
                effect_of(each, counterweight=counterweight, density_g_per_cm3=density_g_per_cm3, shop=shop)
                for each in (before, after)
            )
        )
    if cut.on_rim:
        return _off_rim(cut, counterweight, density_g_per_cm3)
    if cut.kind == "rim hole" and breaks_out(cut, counterweight, shop):
        return _breaking_out(cut, counterweight, density_g_per_cm3, shop)
    if cut.kind == "rim hole" and is_formed(cut, counterweight):
        return _formed(cut, counterweight, density_g_per_cm3, shop)
    if cut.kind == "rim hole":
        return _removed(_rim_solid(cut, counterweight, shop), cut, counterweight, density_g_per_cm3)
    if cut.kind == "face hole":
        return _removed(_face_solid(cut, counterweight, shop), cut, counterweight, density_g_per_cm3)
    return _added(_slugged(cut, counterweight, shop), cut, counterweight, density_g_per_cm3, shop)


def is_formed(cut: Cut, counterweight: Counterweight) -> bool:
    """Return whether a rim hole is other than a plain one square to the middle of a plain rim."""
    return counterweight.rim is not None or any((cut.from_middle_mm, cut.beside_mm, cut.tilt_deg))


def breaks_out(cut: Cut, counterweight: Counterweight, shop: Shop) -> bool:
    """Return whether a rim hole comes out at a face or a flank where the counterweight allows that."""
    if not counterweight.break_outs or counterweight.outline.rim_radius_mm is None:
        return False
    if cut.beside_mm or cut.tilt_deg or cut.depth_shoulder_mm is None:
        return False
    half = 0.5 * (cut.diameter_mm + shop.hole_oversize_mm)
    if abs(cut.from_middle_mm) + half > 0.5 * counterweight.thickness_mm:
        return True
    deepest = counterweight.rim_form().greatest_radius_mm - cut.depth_shoulder_mm
    flanks = counterweight.flanks_beside_deg(cut.angle_deg)
    return any(deepest * math.sin(math.radians(abs(each))) < half for each in flanks)


def _breaking_out(cut: Cut, counterweight: Counterweight, density_g_per_cm3: float, shop: Shop) -> CutEffect:
    flanks = counterweight.flanks_beside_deg(cut.angle_deg)
    hole = rim_hole_breaking_out(**_hole_sizes(cut, counterweight, shop), flanks_deg=flanks)
    turned_deg = hole.turned_deg if abs(hole.turned_deg) > 1e-9 else 0.0
    return _columns_gone(hole, counterweight, density_g_per_cm3, turned_deg)


def _formed(cut: Cut, counterweight: Counterweight, density_g_per_cm3: float, shop: Shop) -> CutEffect:
    _checked_rim(cut, counterweight, shop)
    sizes = _hole_sizes(cut, counterweight, shop)
    hole = rim_form_hole(**sizes, beside_mm=cut.beside_mm, tilt_deg=cut.tilt_deg)
    return _columns_gone(hole, counterweight, density_g_per_cm3, hole.turned_deg if cut.beside_mm else 0.0)


def _hole_sizes(cut: Cut, counterweight: Counterweight, shop: Shop) -> dict[str, Any]:
    """Return what every hole in a rim of any form is made with."""
    return {
        "form": counterweight.rim_form(),
        "diameter_mm": cut.diameter_mm + shop.hole_oversize_mm,
        "depth_shoulder_mm": _needed(cut.depth_shoulder_mm, cut, "depth"),
        "point_angle_deg": shop.point_angle_deg,
        "from_middle_mm": cut.from_middle_mm,
    }


def _columns_gone(
    hole: HoleMoments, counterweight: Counterweight, density_g_per_cm3: float, turned_deg: float
) -> CutEffect:
    metal = density_g_per_cm3 / 1000.0
    return CutEffect(
        mass_g=-metal * hole.volume_mm3,
        unbalance_gmm=-metal * hole.first_moment_mm4,
        z_mm=counterweight.z_mm + hole.from_middle_mm,
        turned_deg=turned_deg,
    )


def _off_rim(cut: Cut, counterweight: Counterweight, density_g_per_cm3: float) -> CutEffect:
    if counterweight.outline.rim_radius_mm is None:
        raise InputError(
            f"counterweight {counterweight.name} has no rim for a {cut.kind}",
            hint="only outlines with a rim arc can be turned or milled from outside",
        )
    moments = rim_cut_moments(
        cut.kind,
        form=counterweight.rim_form(),
        off_mm=_needed(cut.depth_shoulder_mm, cut, "depth"),
        sector_deg=None if cut.kind == "flat" else _needed(cut.sector_deg, cut, "sector"),
        slope_deg=cut.slope_deg,
        face=cut.face,
    )
    metal = density_g_per_cm3 / 1000.0
    return CutEffect(
        mass_g=-metal * moments.volume_mm3,
        unbalance_gmm=-metal * moments.radial_mm4,
        z_mm=counterweight.z_mm + (moments.radial_s_mm5 / moments.radial_mm4 if moments.radial_mm4 else 0.0),
    )


def _checked_from(cut: Cut) -> float:
    if cut.kind not in ("rim hole", "face hole") or cut.through:
        what = "through hole" if cut.through else cut.kind
        raise InputError(
            f"a {what} in counterweight {cut.counterweight} can't be made deeper",
            hint="only a rim hole or a blind face hole can be drilled deeper",
        )
    if cut.from_depth_mm is None:
        raise InputError(
            f"the {cut.kind} in counterweight {cut.counterweight} has no depth before it was enlarged",
            hint="give how deep the hole was",
        )
    start, end = cut.from_depth_mm, _needed(cut.depth_shoulder_mm, cut, "depth")
    if cut.from_diameter_mm is not None:
        if start > end + 1e-9:
            raise InputError(
                f"the hole in counterweight {cut.counterweight} is {start:g} mm deep already, enlarged it can't end at {end:g}",
                hint="give the number that stands on the stop for the whole hole",
            )
    elif not start < end:
        raise InputError(
            f"the hole in counterweight {cut.counterweight} is {start:g} mm deep to the shoulder already, "
            f"{end:g} mm is no deeper",
            hint="give the number that stands on the stop for the whole hole, not only what is added",
        )
    return start


def _difference(before: CutEffect, after: CutEffect) -> CutEffect:
    if after.turned_deg != before.turned_deg:
        return _turned_difference(before, after)
    unbalance = after.unbalance_gmm - before.unbalance_gmm
    moment_z = after.unbalance_gmm * after.z_mm - before.unbalance_gmm * before.z_mm
    return CutEffect(
        mass_g=after.mass_g - before.mass_g,
        unbalance_gmm=unbalance,
        # equal places stay what they are, without the division's dust
        z_mm=after.z_mm if after.z_mm == before.z_mm or unbalance == 0.0 else moment_z / unbalance,
        turned_deg=after.turned_deg,
    )


def _turned_difference(before: CutEffect, after: CutEffect) -> CutEffect:
    """Return the difference of two holes beside the radius, whose resultants point apart."""
    vector = after.vector_gmm(0.0) - before.vector_gmm(0.0)
    moment_z = after.vector_gmm(0.0) * after.z_mm - before.vector_gmm(0.0) * before.z_mm
    amount = abs(vector)
    # removed is negative: the amount counts against the vector's way
    return CutEffect(
        mass_g=after.mass_g - before.mass_g,
        unbalance_gmm=-amount,
        z_mm=(moment_z * vector.conjugate()).real / amount**2 if amount else after.z_mm,
        turned_deg=math.degrees(cmath.phase(-vector)),
    )


def _rim_solid(cut: Cut, counterweight: Counterweight, shop: Shop) -> Solid:
    rim = _checked_rim(cut, counterweight, shop)
    return rim_hole(
        outer_radius_mm=rim,
        diameter_mm=cut.diameter_mm + shop.hole_oversize_mm,
        depth_shoulder_mm=_needed(cut.depth_shoulder_mm, cut, "depth"),
        point_angle_deg=shop.point_angle_deg,
    )


def _checked_rim(cut: Cut, counterweight: Counterweight, shop: Shop) -> float:
    """Return the rim's radius [mm]; InputError where there is none, or the hole is wider than the counterweight."""
    rim = counterweight.outline.rim_radius_mm
    if rim is None:
        raise InputError(
            f"counterweight {counterweight.name} has no rim for a rim hole",
            hint="only outlines with a rim arc can be drilled from outside; take a face hole",
        )
    diameter = cut.diameter_mm + shop.hole_oversize_mm
    if diameter > counterweight.thickness_mm:
        raise InputError(
            f"a {diameter:g} mm rim hole is wider than counterweight {counterweight.name} is thick, "
            f"{counterweight.thickness_mm:g} mm",
            hint="take a smaller drill",
        )
    return rim


def _face_solid(cut: Cut, counterweight: Counterweight, shop: Shop) -> Solid:
    return face_hole(
        radius_mm=_needed(cut.radius_mm, cut, "radius"),
        diameter_mm=cut.diameter_mm + shop.hole_oversize_mm,
        depth_shoulder_mm=None if cut.through else _needed(cut.depth_shoulder_mm, cut, "depth"),
        through=cut.through,
        thickness_mm=counterweight.thickness_mm,
        point_angle_deg=shop.point_angle_deg,
        outer_radius_mm=counterweight.outline.rim_radius_mm,
    )


def _slugged(cut: Cut, counterweight: Counterweight, shop: Shop) -> SluggedHole:
    radius = _needed(cut.radius_mm, cut, "radius")
    thickness = counterweight.thickness_mm
    length = thickness if cut.through and cut.length_mm is None else _needed(cut.length_mm, cut, "length")
    length = checked_slug_length(length_mm=length, thickness_mm=thickness)
    rim = counterweight.outline.rim_radius_mm
    if rim is not None and radius + cut.diameter_mm / 2.0 > rim:
        raise InputError(
            f"a {cut.diameter_mm:g} mm slug at radius {radius:g} mm reaches the rim of counterweight "
            f"{counterweight.name} at {rim:g} mm: nothing would hold it",
            hint="move it inward",
        )
    if cut.kind in FILLS:
        return filled_hole(radius_mm=radius, diameter_mm=cut.diameter_mm, length_mm=length)
    if cut.through and abs(length - thickness) > 1e-9:
        raise InputError(
            f"a slug {length:g} mm long does not fill the {thickness:g} mm of counterweight {counterweight.name}",
            hint="a through slug fills the full thickness; say which face a shorter one is put in from",
        )
    return axial_slug(
        radius_mm=radius,
        diameter_mm=cut.diameter_mm,
        length_mm=length,
        through=cut.through,
        thickness_mm=thickness,
        point_angle_deg=shop.point_angle_deg,
    )


def _removed(solid: Solid, cut: Cut, counterweight: Counterweight, density_g_per_cm3: float) -> CutEffect:
    return CutEffect(
        mass_g=-solid.mass_g(density_g_per_cm3),
        unbalance_gmm=-solid.unbalance_gmm(density_g_per_cm3),
        z_mm=_z_mm(counterweight, cut.face, solid.from_face_mm),
    )


def _added(
    hole: SluggedHole, cut: Cut, counterweight: Counterweight, density_g_per_cm3: float, shop: Shop
) -> CutEffect:
    plug = cut.kind == "plug"
    heavy = shop.plug_density_g_per_cm3 if plug else shop.slug_density_g_per_cm3
    densities = {"density_g_per_cm3": density_g_per_cm3, "slug_density_g_per_cm3": heavy}
    return CutEffect(
        mass_g=hole.net_mass_g(**densities),
        unbalance_gmm=hole.net_unbalance_gmm(**densities),
        z_mm=_z_mm(counterweight, cut.face, hole.net_from_face_mm(**densities)),
        # a plug is steel, no heavy metal
        slug_mass_g=None if plug else hole.slug.mass_g(heavy),
        bored_mass_g=None if hole.pocket is None else -hole.removed_g(density_g_per_cm3),
    )


def _z_mm(counterweight: Counterweight, face: Face, from_face_mm: float | None) -> float:
    if from_face_mm is None:
        return counterweight.z_mm
    inward = from_face_mm - counterweight.thickness_mm / 2.0
    return counterweight.z_mm + (inward if face == "front" else -inward)


def _needed(value: float | None, cut: Cut, what: str) -> float:
    if value is None:
        raise InputError(
            f"the {cut.kind} in counterweight {cut.counterweight} has no {what}", hint=f"give its {what}"
        )
    return value
