"""Drill points: tip length, volume and centroid of the cone.

Sources: 0.300 d at 118 degrees, 0.207 d at 135 degrees and 0.150 in for a 1/2 in drill of 118 degrees are figures of
public drill-point tables; the other columns are recomputed from elementary geometry (cone volume pi d^2 L/12, centroid
a quarter of the height from the base) and rounded to the digits shown.
"""

from __future__ import annotations

import pytest

from planner.cuts.face_hole import face_hole
from planner.rotor.crankshaft import cone_height_mm

# point angle [deg], tip length / d, equal-volume depth / d, volume / d^3, centroid past the shoulder / d
TABLE = [
    (118.0, 0.3004, 0.1001, 0.07865, 0.0751),
    (120.0, 0.2887, 0.0962, 0.07557, 0.0722),
    (130.0, 0.2332, 0.0777, 0.06104, 0.0583),
    (135.0, 0.2071, 0.0690, 0.05422, 0.0518),
    (140.0, 0.1820, 0.0607, 0.04764, 0.0455),
]


@pytest.mark.parametrize(("angle", "published"), [(118.0, 0.300), (135.0, 0.207)])
def test_published_tip_length(angle: float, published: float) -> None:
    assert cone_height_mm(diameter_mm=1.0, point_angle_deg=angle) == pytest.approx(published, abs=5e-4)


def test_published_half_inch_drill() -> None:
    assert cone_height_mm(diameter_mm=12.7, point_angle_deg=118.0) / 25.4 == pytest.approx(0.150, abs=5e-4)


def test_a_flat_bottom_has_no_tip() -> None:
    assert cone_height_mm(diameter_mm=14.0, point_angle_deg=180.0) == 0.0


@pytest.mark.parametrize(("angle", "tip", "equal_depth", "volume", "centroid"), TABLE)
def test_cone(angle: float, tip: float, equal_depth: float, volume: float, centroid: float) -> None:
    # recomputed from the geometry of a cone
    d = 14.0
    cone = face_hole(radius_mm=70.0, diameter_mm=d, depth_shoulder_mm=0.0, point_angle_deg=angle)
    assert cone_height_mm(diameter_mm=d, point_angle_deg=angle) / d == pytest.approx(tip, abs=5e-5)
    assert cone.volume_mm3 / d**3 == pytest.approx(volume, abs=5e-6)
    assert cone.from_face_mm is not None
    assert cone.from_face_mm / d == pytest.approx(centroid, abs=6e-5)
    disc = face_hole(radius_mm=70.0, diameter_mm=d, depth_shoulder_mm=1.0, point_angle_deg=180.0)
    assert cone.volume_mm3 / disc.volume_mm3 / d == pytest.approx(equal_depth, abs=5e-5)
