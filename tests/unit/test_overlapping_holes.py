"""Two rim holes that meet, counted grain by grain: a route of its own.  Sizes invented."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from planner.cuts.overlap import RimHolePlace, two_rim_holes

from geometry_profiles.rims import bevelled, cylindrical
from planner.cuts.rim_hole import rim_hole

PLAIN = cylindrical(outer_radius_mm=88.0, thickness_mm=24.0)
BEVELLED = bevelled(outer_radius_mm=88.0, thickness_mm=24.0, front_width_mm=6.0)
GRAIN = 0.25


def hole(
    angle_deg: float, diameter_mm: float, depth_mm: float, from_middle_mm: float, point_angle_deg: float
) -> RimHolePlace:
    return RimHolePlace(
        angle_deg=angle_deg,
        diameter_mm=diameter_mm,
        depth_shoulder_mm=depth_mm,
        from_middle_mm=from_middle_mm,
        point_angle_deg=point_angle_deg,
    )


@pytest.mark.parametrize(
    ("form", "first", "second"),
    [
        # flat bottoms, 6 degrees apart: cylinders of 14 and 12 mm that cross on their way in
        (PLAIN, hole(-3.0, 14.0, 24.0, 1.0, 180.0), hole(3.0, 12.0, 18.0, -3.0, 180.0)),
        (BEVELLED, hole(-3.0, 14.0, 24.0, 1.0, 180.0), hole(3.0, 12.0, 18.0, -3.0, 180.0)),
        # drill points, one into the side of the other, across the zero
        (PLAIN, hole(358.0, 14.0, 24.0, 1.0, 118.0), hole(4.0, 12.0, 18.0, -3.0, 118.0)),
        # one ray, one behind the other along the shaft
        (BEVELLED, hole(30.0, 12.0, 15.0, -2.0, 180.0), hole(30.0, 10.0, 22.0, 2.5, 180.0)),
    ],
)
def test_metal_counted_once(form, first: RimHolePlace, second: RimHolePlace) -> None:
    """Grains of a quarter of a millimetre about the ray midway between the holes; what lies in both counts once and is shared."""
    middle = first.angle_deg + 0.5 * math.remainder(second.angle_deg - first.angle_deg, 360.0)
    x, y, s = np.meshgrid(
        np.arange(56.125, 88.25, GRAIN), np.arange(-13.875, 14.0, GRAIN), np.arange(-11.875, 12.0, GRAIN), indexing="ij"
    )  # fmt: skip
    metal = x * x + y * y <= form.radius_mm(0.0) ** 2
    if form is BEVELLED:  # 6 mm at 45 degrees in front
        metal &= np.hypot(x, y) <= 88.0 - np.maximum(-6.0 - s, 0.0)

    def inside(hole: RimHolePlace) -> np.ndarray:
        turn = math.radians(hole.angle_deg - middle)
        along, across = x * math.cos(turn) + y * math.sin(turn), y * math.cos(turn) - x * math.sin(turn)
        off = np.hypot(across, s - hole.from_middle_mm)
        rim = 88.0
        if form is BEVELLED:
            rim -= max(-6.0 - hole.from_middle_mm, 0.0)
        a = 0.5 * hole.diameter_mm
        cone = (
            0.0
            if hole.point_angle_deg == 180.0
            else (a - off) / math.tan(math.radians(hole.point_angle_deg / 2))
        )
        return (off <= a) & (along >= rim - hole.depth_shoulder_mm - cone) & metal  # fmt: skip

    one, other = inside(first), inside(second)
    together, shared = two_rim_holes(form, first, second)
    for found, grains in ((together, one | other), (shared, one & other)):
        count = GRAIN**3
        volume = grains.sum() * count
        assert volume > 100.0
        assert found.volume_mm3 == pytest.approx(volume, rel=4e-3)
        for value, weight in (
            (found.radial_mm4, x),
            (found.tangential_mm4, y),
            (found.radial_s_mm5, x * s),
            (found.tangential_s_mm5, y * s),
            (found.along_mm4, s),
        ):
            expected = float((weight * grains).sum()) * count
            # against the greatest that it could be, because some are the rest of two sides
            most = float((np.abs(weight) * grains).sum()) * count
            assert value == pytest.approx(expected, abs=1e-2 * most)


@pytest.mark.parametrize(
    "second",
    [
        # beside one another along the shaft, just not touching; touching in a line; far apart around the rim
        hole(2.0, 8.0, 15.0, 4.1, 118.0),
        hole(0.0, 8.0, 15.0, 4.0, 118.0),
        hole(60.0, 8.0, 15.0, -4.0, 118.0),
    ],
)
def test_holes_that_do_not_meet_share_nothing(second: RimHolePlace) -> None:
    """Together they take what each takes alone, each pulling along its own ray."""
    first = hole(0.0, 8.0, 20.0, -4.0, 118.0)
    together, shared = two_rim_holes(PLAIN, first, second)
    assert max(map(abs, dataclasses.astuple(shared))) < 1e-6
    alone = [
        rim_hole(outer_radius_mm=88.0, diameter_mm=8.0, depth_shoulder_mm=each.depth_shoulder_mm)
        for each in (first, second)
    ]
    assert together.volume_mm3 == pytest.approx(sum(each.volume_mm3 for each in alone), rel=1e-9)
    half = math.radians(second.angle_deg / 2.0)
    across = (alone[1].first_moment_mm4 - alone[0].first_moment_mm4) * math.sin(half)
    along = (alone[1].first_moment_mm4 + alone[0].first_moment_mm4) * math.cos(half)
    assert (together.radial_mm4, together.tangential_mm4) == pytest.approx((along, across), rel=1e-9)
