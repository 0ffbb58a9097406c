"""Deepening the same hole: which hole it is, and which cuts are passes in one hole.

The hole before and the hole after share their axis, their diameter and their point, so the metal between them is the
exact difference of the two solids, whatever the drill's point looks like on the way.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable
from typing import Any

from planner.cuts.cut import Cut, Shop
from planner.rotor.crankshaft import FILLS, Counterweight, ExistingHole
from planner.rotor.vectors import difference_deg

PLACE_MM = 1e-4
PLACE_DEG = 1e-4
"""Within these a cut is at a hole's own place [mm, deg]: job files keep a millionth of a degree."""


def can_be_deepened(hole: ExistingHole, *, shop: Shop) -> bool:
    """Return whether a hole can be drilled deeper with the shop's drills: open, blind, and with the shop's point.

    A hole with another point would lose another amount than the difference of two holes of the shop's.
    """
    return (
        hole.filled_density_g_per_cm3 is None
        and not hole.through
        and hole.depth_shoulder_mm is not None
        and abs(hole.point_angle_deg - shop.point_angle_deg) < 1e-9
    )


def can_be_enlarged(hole: ExistingHole, *, shop: Shop) -> bool:
    """Return whether a hole can be drilled out wider: what can be deepened, or an open through face hole."""
    through = hole.through and hole.kind == "face hole" and hole.filled_density_g_per_cm3 is None
    return through or can_be_deepened(hole, shop=shop)


def cut_in_hole(hole: ExistingHole, counterweight: str, **sizes: Any) -> Cut:
    """Return a cut of a hole's own kind where the hole is; ``sizes`` are the cut's own (see `Cut`)."""
    place = ("kind", "angle_deg", "radius_mm", "face", "from_middle_mm", "beside_mm", "tilt_deg")
    return Cut(counterweight=counterweight, **{name: getattr(hole, name) for name in place}, **sizes)


def hole_to_deepen(cut: Cut, counterweight: Counterweight, *, shop: Shop) -> int | None:
    """Return which of a counterweight's existing holes a deepening deepens, None if there is none like it.

    Parameters
    ----------
    cut : Cut
        A cut with ``from_depth_mm``.
    counterweight : Counterweight
        The one it is in.
    shop : Shop
        Gives hole oversize and point angle.
    """
    if cut.through and cut.enlarges:
        return _through_hole(cut, counterweight)
    if cut.from_depth_mm is None or cut.kind not in ("rim hole", "face hole") or cut.through:
        return None
    for index, hole in enumerate(counterweight.existing):
        if (
            hole.kind == cut.kind
            and can_be_deepened(hole, shop=shop)
            and abs(difference_deg(hole.angle_deg, cut.angle_deg)) <= PLACE_DEG
            and abs(hole.diameter_mm - _diameter_before_mm(cut, shop)) <= PLACE_MM
            and abs((hole.depth_shoulder_mm or 0.0) - cut.from_depth_mm) <= PLACE_MM
            and abs((hole.radius_mm or 0.0) - (cut.radius_mm or 0.0)) <= PLACE_MM
            and (hole.kind == "rim hole" or hole.face == cut.face)
            and _same_axis(hole, cut)
        ):
            return index
    return None


def _through_hole(cut: Cut, counterweight: Counterweight) -> int | None:
    """Return which through face hole a cut drills out wider."""
    for index, hole in enumerate(counterweight.existing):
        if (
            hole.kind == cut.kind == "face hole"
            and hole.through
            and hole.filled_density_g_per_cm3 is None
            and abs(difference_deg(hole.angle_deg, cut.angle_deg)) <= PLACE_DEG
            and abs(hole.diameter_mm - (cut.from_diameter_mm or 0.0)) <= PLACE_MM
            and abs((hole.radius_mm or 0.0) - (cut.radius_mm or 0.0)) <= PLACE_MM
        ):
            return index
    return None


def without_deepened(counterweight: Counterweight, cuts: Iterable[Cut], *, shop: Shop) -> Counterweight:
    """Return the counterweight without the holes that these cuts deepen: each is in its own hole's way no more."""
    gone = {
        hole_to_deepen(cut, counterweight, shop=shop)
        for cut in cuts
        if cut.counterweight == counterweight.name
    } - {None}
    if not gone:
        return counterweight
    kept = tuple(hole for index, hole in enumerate(counterweight.existing) if index not in gone)
    return dataclasses.replace(counterweight, existing=kept)


def same_hole(one: Cut, other: Cut) -> bool:
    """Return whether two cuts are in one hole: same place, drill and face, whatever their depths."""
    return (
        one.kind == other.kind
        and one.kind in ("rim hole", "face hole")
        and one.counterweight == other.counterweight
        and one.through == other.through
        and abs(difference_deg(one.angle_deg, other.angle_deg)) <= PLACE_DEG
        and (abs(one.diameter_mm - other.diameter_mm) <= PLACE_MM or one.enlarges or other.enlarges)
        and abs((one.radius_mm or 0.0) - (other.radius_mm or 0.0)) <= PLACE_MM
        and (one.kind == "rim hole" or one.face == other.face)
        and _same_axis(one, other)
    )


def _diameter_before_mm(cut: Cut, shop: Shop) -> float:
    """Return how wide the hole is that a cut deepens or enlarges [mm]."""
    return cut.diameter_mm + shop.hole_oversize_mm if cut.from_diameter_mm is None else cut.from_diameter_mm


def _same_axis(one: Cut | ExistingHole, other: Cut) -> bool:
    """Whether two rim holes meet the rim at the same place along the shaft and go the same way."""
    return (
        abs(one.from_middle_mm - other.from_middle_mm) <= PLACE_MM
        and abs(one.beside_mm - other.beside_mm) <= PLACE_MM
        and abs(one.tilt_deg - other.tilt_deg) <= PLACE_DEG
    )


def fills_hole(fill: Cut, hole: Cut) -> bool:
    """Return whether a cut fills the face hole that another one made."""
    return (
        fill.kind in FILLS
        and hole.kind == "face hole"
        and fill.counterweight == hole.counterweight
        and abs(difference_deg(fill.angle_deg, hole.angle_deg)) <= PLACE_DEG
        and abs((fill.radius_mm or 0.0) - (hole.radius_mm or 0.0)) <= PLACE_MM
    )
