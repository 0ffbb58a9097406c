"""Which sums of a cut are shown: a short formula only where it holds, else a sentence that says why there is none.

A formula works itself out and refuses a wrong value; that the right one is chosen is looked at here.  Sizes invented.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

import pytest

from planner.cuts.face_hole import face_hole
from planner.cuts.retention import slug_retention
from planner.cuts.rim_hole import rim_hole
from planner.cuts.working import cone, face_hole_working, retention_working, rim_hole_working
from planner.formula import Formula
from planner.rotor.materials import material


def names(lines: Iterable[Formula | str]) -> list[str]:
    return [each.name if isinstance(each, Formula) else each for each in lines]


def face(
    depth: float | None, *, radius: float = 60.0, whole: bool = True, wanted: float | None = None
) -> list[str]:
    solid = face_hole(
        radius_mm=radius,
        diameter_mm=14.0,
        depth_shoulder_mm=depth,
        through=depth is None,
        thickness_mm=24.0,
        outer_radius_mm=88.0,
    )
    return names(
        face_hole_working(
            radius_mm=radius,
            diameter_mm=14.0,
            depth_shoulder_mm=depth,
            thickness_mm=24.0,
            point_angle_deg=118.0,
            density_g_per_cm3=7.85,
            volume_mm3=solid.volume_mm3,
            first_moment_mm4=solid.first_moment_mm4,
            whole=whole,
            wanted_gmm=wanted,
        )
    )


END = ["mass", "U", "centroid radius"]


def test_a_blind_face_hole_is_a_cylinder_and_a_third_of_its_cone() -> None:
    assert face(10.0) == face(0.4) == ["a", "c", "depth to tip", "V", "M", *END]


def test_a_hole_that_was_sought_shows_how_its_depth_came() -> None:
    """U = 7.85e-3 * pi * 7^2 * (10 + c/3) * 60 asks for a depth of 10 mm."""
    c = 7.0 / math.tan(math.radians(59.0))
    wanted = 7.85e-3 * math.pi * 49.0 * (10.0 + c / 3.0) * 60.0
    assert face(10.0, wanted=wanted) == ["a", "c", "h", "depth to tip", "V", "M", *END]


def test_a_through_hole_has_no_point() -> None:
    assert face(None) == ["a", "V", "M", *END]


def test_where_only_the_point_enters_no_cylinder_is_shown() -> None:
    """The shoulder 1 mm above the face: a small cone is drilled, ``h + c/3`` would be far too much."""
    shown = face(-1.0)
    assert shown[:3] == ["a", "c", "depth to tip"]
    assert "only the point enters" in shown[3]
    assert "V" not in shown


def test_a_hole_that_comes_out_at_the_rim_shows_the_lens() -> None:
    shown = face(10.0, radius=84.0, whole=False, wanted=500.0)
    assert "part of the hole lies outside the metal" in shown[3]
    assert shown[4:] == END


def rim(depth: float, wanted: float | None = None) -> list[str]:
    solid = rim_hole(outer_radius_mm=50.0, diameter_mm=20.0, depth_shoulder_mm=depth)
    return names(
        rim_hole_working(
            outer_radius_mm=50.0,
            diameter_mm=20.0,
            depth_shoulder_mm=depth,
            point_angle_deg=118.0,
            density_g_per_cm3=7.85,
            volume_mm3=solid.volume_mm3,
            first_moment_mm4=solid.first_moment_mm4,
            wanted_gmm=wanted,
        )
    )


def test_a_rim_hole_whose_whole_edge_is_in_the_metal() -> None:
    """At 10 mm beside the axis a rim of 50 mm lies 50 - sqrt(2400) = 1.0102 mm lower."""
    assert rim(1.1)[1:] == ["a", "c", "depth to tip", "M", "s", "V", *END]
    solid = rim_hole(outer_radius_mm=50.0, diameter_mm=20.0, depth_shoulder_mm=12.0)
    sought = rim(12.0, wanted=7.85e-3 * solid.first_moment_mm4)
    assert sought[1:] == [
        "a", "c", "first moment wanted M", "p", "Q", "h", "depth to tip", "M", "s", "V", *END,
    ]  # fmt: skip


def test_a_rim_hole_so_shallow_that_its_edge_is_in_the_air() -> None:
    shown = rim(0.9, wanted=300.0)
    assert shown[1:4] == ["a", "c", "depth to tip"]
    assert "1.0102" in shown[4]
    assert "M" not in shown
    assert shown[-3:] == END


def test_a_flat_bottom_has_no_point() -> None:
    assert names(cone(diameter_mm=14.0, point_angle_deg=180.0)) == [
        "c = 0      (height of the drill's point; a flat bottom has none)"
    ]
    (found,) = cone(diameter_mm=14.0, point_angle_deg=118.0)
    assert isinstance(found, Formula)
    # 7 / tan 59 degrees
    assert found.value == pytest.approx(4.20602, abs=1e-5)


STEEL, HEAVY = material("forged steel"), material("ASTM B777 class 3")


@pytest.mark.parametrize(
    ("fit", "shown"),
    [
        (0.0254, ["fit lost hot", "pressure hot", "hold", "stress", "safety factor"]),
        # 19.05 * (12 - 4.5) * 1e-6 * 100 = 0.0143 mm are lost when it is 100 K warmer
        (0.0144, ["fit lost hot", "pressure hot", "hold", "stress", "safety factor"]),
        (0.0142, ["fit lost hot", "fit hot"]),
    ],
)
def test_a_press_fit_is_worked_hot_as_long_as_a_fit_is_left(fit: float, shown: list[str]) -> None:
    found = slug_retention(
        slug_mass_g=128.6,
        radius_mm=80.0,
        diameter_mm=19.05,
        length_mm=25.0,
        speed_rpm=7000.0,
        fit_mm=fit,
        boss_diameter_mm=38.0,
        boss=STEEL,
        slug=HEAVY,
    )
    lines = names(
        retention_working(
            found,
            diameter_mm=19.05,
            length_mm=25.0,
            boss_diameter_mm=38.0,
            boss=STEEL,
            slug=HEAVY,
            temperature_rise_k=100.0,
            friction=0.12,
        )
    )
    assert len(lines) == len(shown)
    assert all(line.startswith(begins) for line, begins in zip(lines, shown, strict=True))
