"""Kernels of the cuts: against slow integration, at their borders, and what they refuse."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.special import ellipe, ellipk

from planner.cuts.face_hole import disc_inside_rim, face_hole, face_hole_depth_mm
from planner.cuts.rim_hole import (
    edge_sag_mm,
    mean_sag_mm,
    rim_hole,
    rim_hole_depth_mm,
    rim_hole_first_moment_mm4,
    rim_hole_greatest_depth_mm,
    rim_hole_volume_mm3,
)
from planner.cuts.shallow_rim_hole import shallow_volume_and_moment
from planner.cuts.slug import axial_slug, axial_slug_length_mm, filled_hole, radial_slug
from planner.cuts.solid import Solid, checked_point_angle
from planner.errors import InputError
from planner.rotor.crankshaft import cone_height_mm


@pytest.mark.parametrize(
    ("outer", "diameter"), [(90.0, 14.0), (60.0, 30.0), (50.0, 62.0), (50.0, 64.0), (50.0, 99.0)]
)
def test_mean_sag_is_the_elliptic_integral(outer: float, diameter: float) -> None:
    """Volume form with scipy's K and E: ``(4R/3)[(R^2+a^2)E - (R^2-a^2)K]`` is the integral of the rim's height."""
    a, m = diameter / 2.0, (diameter / 2.0 / outer) ** 2
    column = 4.0 * outer / 3.0 * ((outer**2 + a**2) * ellipe(m) - (outer**2 - a**2) * ellipk(m))
    sag = float(mean_sag_mm(outer_radius_mm=outer, diameter_mm=diameter))
    assert math.pi * a**2 * (outer - sag) == pytest.approx(column, rel=1e-12)


@pytest.mark.parametrize(("ratio", "terms", "within"), [(0.3, 3, 1.7e-9), (0.3, 1, 2.4e-5)])
def test_the_short_series_of_the_sums_shown_is_good_enough(ratio: float, terms: int, within: float) -> None:
    """The three terms shown by --show-work change a hole as deep as wide by less than 1.7e-9 at d/R = 0.3."""
    a, R = ratio / 2.0, 1.0
    series = [a**2 / (8 * R), a**4 / (64 * R**3), 5 * a**6 / (1024 * R**5)]
    exact = float(mean_sag_mm(outer_radius_mm=R, diameter_mm=2 * a))
    assert abs(sum(series[:terms]) - exact) / (2 * a) < within * 1.2


@pytest.mark.parametrize(
    ("depth", "point"),
    [(0.5, 118.0), (0.05, 118.0), (-3.0, 118.0), (0.5, 180.0), (1e-4, 180.0), (0.01, 176.0)],
)
def test_shallow_hole_against_adaptive_quadrature(depth: float, point: float) -> None:
    """scipy's adaptive quadrature over clipped columns in plain coordinates, another route than the kernel's."""
    R, a = 70.0, 11.0
    c = cone_height_mm(diameter_mm=2 * a, point_angle_deg=point)

    def column(y: float, z: float) -> tuple[float, float]:
        top = math.sqrt(R**2 - y**2)
        bottom = R - depth - c * (1.0 - math.hypot(y, z) / a)
        return max(top - bottom, 0.0), 0.5 * max(top**2 - bottom**2, 0.0)

    def reach(y: float) -> float:
        """Where the column at y is used up along z."""
        limit = math.sqrt(max(a**2 - y**2, 0.0))
        if c == 0.0:
            return limit if column(y, 0.0)[0] > 0.0 else 0.0
        s = a * (1.0 - (R - depth - math.sqrt(R**2 - y**2)) / c)
        return min(limit, math.sqrt(max(s**2 - y**2, 0.0))) if s > abs(y) else 0.0

    def strip(y: float, which: int) -> float:
        top = reach(y)
        return (
            quad(lambda z: column(y, z)[which], 0.0, top, epsabs=1e-13, epsrel=1e-13)[0] if top > 0 else 0.0
        )

    kink = math.sqrt(depth * (2 * R - depth)) if depth > 0 else 0.0
    edges = [0.0, min(kink, a), a] if kink > 0.0 else [0.0, a]
    expected = []
    for which in (0, 1):
        parts = [
            quad(strip, low, high, args=(which,), epsabs=1e-12, epsrel=1e-11, limit=200)[0]
            for low, high in pairwise(edges)
            if high > low
        ]
        expected.append(4.0 * sum(parts))
    found = shallow_volume_and_moment(
        outer_radius_mm=R, diameter_mm=2 * a, depth_shoulder_mm=depth, cone_height_mm=c
    )
    assert found == pytest.approx(expected, rel=1e-7)


@pytest.mark.parametrize("point", [90.0, 118.0, 150.0, 180.0])
@pytest.mark.parametrize("diameter", [8.0, 22.0, 40.0])
def test_shallow_and_deep_meet_at_the_border(point: float, diameter: float) -> None:
    R = 70.0
    border = float(edge_sag_mm(outer_radius_mm=R, diameter_mm=diameter))
    c = cone_height_mm(diameter_mm=diameter, point_angle_deg=point)
    deep = rim_hole(outer_radius_mm=R, diameter_mm=diameter, depth_shoulder_mm=border, point_angle_deg=point)
    shallow = shallow_volume_and_moment(
        outer_radius_mm=R, diameter_mm=diameter, depth_shoulder_mm=border, cone_height_mm=c
    )
    assert shallow == pytest.approx((deep.volume_mm3, deep.first_moment_mm4), rel=1e-12)
    # and the general integral serves deep holes as well
    below = rim_hole(outer_radius_mm=R, diameter_mm=diameter, depth_shoulder_mm=10.0, point_angle_deg=point)
    general = shallow_volume_and_moment(
        outer_radius_mm=R, diameter_mm=diameter, depth_shoulder_mm=10.0, cone_height_mm=c
    )
    assert general == pytest.approx((below.volume_mm3, below.first_moment_mm4), rel=1e-12)


def test_arrays_broadcast_and_equal_single_holes() -> None:
    depths, drills = np.array([[0.4], [12.0], [30.0]]), np.array([10.0, 14.0, 22.0, 25.4])
    moments = rim_hole_first_moment_mm4(outer_radius_mm=85.0, diameter_mm=drills, depth_shoulder_mm=depths)
    volumes = rim_hole_volume_mm3(outer_radius_mm=85.0, diameter_mm=drills, depth_shoulder_mm=depths)
    assert moments.shape == volumes.shape == (3, 4)
    for i, depth in enumerate(depths[:, 0]):
        for j, drill in enumerate(drills):
            one = rim_hole(outer_radius_mm=85.0, diameter_mm=float(drill), depth_shoulder_mm=float(depth))
            assert (volumes[i, j], moments[i, j]) == (one.volume_mm3, one.first_moment_mm4)
    back = rim_hole_depth_mm(first_moment_mm4=moments, outer_radius_mm=85.0, diameter_mm=drills)
    assert back == pytest.approx(np.broadcast_to(depths, (3, 4)), abs=1e-9)


def test_the_greatest_rim_hole_reaches_the_axis_and_no_further() -> None:
    deepest = rim_hole_greatest_depth_mm(outer_radius_mm=90.0, diameter_mm=14.0)
    most = rim_hole(outer_radius_mm=90.0, diameter_mm=14.0, depth_shoulder_mm=deepest).first_moment_mm4
    back = rim_hole_depth_mm(first_moment_mm4=most, outer_radius_mm=90.0, diameter_mm=14.0)
    assert float(back) == pytest.approx(deepest, abs=1e-6)
    with pytest.raises(InputError, match=r"can't be reached .* the greatest is .* mm4 at 85\.79 mm"):
        rim_hole_depth_mm(first_moment_mm4=most * 1.001, outer_radius_mm=90.0, diameter_mm=14.0)


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"outer_radius_mm": math.nan}, "outer radius is nan mm, it must be a number above 0"),
        ({"outer_radius_mm": -90.0}, "outer radius is -90 mm"),
        ({"diameter_mm": 0.0}, "diameter is 0 mm, it must be a number above 0"),
        ({"diameter_mm": math.inf}, "diameter is inf mm"),
        ({"diameter_mm": 180.0}, "diameter 180 mm is not smaller than the rim's own, 180 mm"),
        ({"depth_shoulder_mm": math.nan}, "depth is not a number"),
        ({"depth_shoulder_mm": -4.3}, "the drill does not touch the rim"),
        ({"depth_shoulder_mm": 0.0, "point_angle_deg": 180.0}, "the drill does not touch the rim"),
        ({"depth_shoulder_mm": 86.0}, r"puts the tip at 90\.21 mm, beyond the shaft axis at 90 mm"),
        ({"point_angle_deg": 5.0}, "point angle is 5 degrees, allowed are 10 to 180"),
        ({"point_angle_deg": math.nan}, "point angle is nan degrees"),
        ({"diameter_mm": 100.0, "point_angle_deg": 20.0}, "the drill's point is 283.56 mm high"),
    ],
)
def test_rim_hole_refuses(changed: dict[str, float], message: str) -> None:
    numbers = {"outer_radius_mm": 90.0, "diameter_mm": 14.0, "depth_shoulder_mm": 20.0, **changed}
    with pytest.raises(InputError, match=message):
        rim_hole(**numbers)


def test_an_array_error_names_the_bad_element() -> None:
    with pytest.raises(InputError, match="diameter is -3 mm"):
        rim_hole_volume_mm3(outer_radius_mm=90.0, diameter_mm=[14.0, -3.0], depth_shoulder_mm=20.0)
    with pytest.raises(InputError, match="point angle is 200 degrees"):
        rim_hole_volume_mm3(
            outer_radius_mm=90.0, diameter_mm=14.0, depth_shoulder_mm=20.0, point_angle_deg=[118.0, 200.0]
        )


def test_lens_by_plain_integration() -> None:
    """Area and moment of the overlap of two discs, by scipy's quadrature of chords."""
    r, a, R = 86.0, 7.0, 90.0

    def chord(x: float) -> float:
        return 2.0 * math.sqrt(max(min(a**2 - (x - r) ** 2, R**2 - x**2), 0.0))

    meet = (r**2 + R**2 - a**2) / (2 * r)
    pieces = [(r - a, meet), (meet, R)]
    area = sum(quad(chord, *piece, epsabs=1e-11)[0] for piece in pieces)
    moment = sum(quad(lambda x: x * chord(x), *piece, epsabs=1e-9)[0] for piece in pieces)
    assert disc_inside_rim(radius_mm=r, diameter_mm=2 * a, outer_radius_mm=R) == pytest.approx(
        (area, moment), rel=1e-9
    )
    assert disc_inside_rim(radius_mm=100.0, diameter_mm=14.0, outer_radius_mm=90.0) == (0.0, 0.0)
    whole = disc_inside_rim(radius_mm=83.0, diameter_mm=14.0, outer_radius_mm=90.0)
    nearly = disc_inside_rim(radius_mm=83.0 + 1e-9, diameter_mm=14.0, outer_radius_mm=90.0)
    assert nearly == pytest.approx(whole, rel=1e-9)


@pytest.mark.parametrize("depth", [1.0, 12.0, 20.0])
def test_blind_face_hole_closed_form(depth: float) -> None:
    d, r, c = 14.0, 70.0, cone_height_mm(diameter_mm=14.0, point_angle_deg=118.0)
    hole = face_hole(radius_mm=r, diameter_mm=d, depth_shoulder_mm=depth)
    volume = math.pi * 49.0 * (depth + c / 3.0)
    axial = (depth**2 / 2.0 + c / 3.0 * (depth + c / 4.0)) / (depth + c / 3.0)
    assert hole.volume_mm3 == pytest.approx(volume, rel=1e-13)
    assert hole.first_moment_mm4 == pytest.approx(volume * r, rel=1e-13)
    assert hole.from_face_mm == pytest.approx(axial, rel=1e-13)


def test_a_drill_point_that_comes_out_leaves_a_truncated_cone() -> None:
    """At depth beyond the thickness the blind hole is a through hole, however deep."""
    through = face_hole(radius_mm=70.0, diameter_mm=14.0, through=True, thickness_mm=24.0)
    deep = face_hole(radius_mm=70.0, diameter_mm=14.0, depth_shoulder_mm=30.0, thickness_mm=24.0)
    assert deep.volume_mm3 == pytest.approx(through.volume_mm3, rel=1e-13)
    assert deep.from_face_mm == pytest.approx(12.0, rel=1e-13)
    pierced = face_hole(radius_mm=70.0, diameter_mm=14.0, depth_shoulder_mm=22.0, thickness_mm=24.0)
    c = cone_height_mm(diameter_mm=14.0, point_angle_deg=118.0)
    gone = (22.0 + c - 24.0) / c  # the part of the cone beyond the far face, by similar triangles
    assert pierced.volume_mm3 == pytest.approx(math.pi * 49.0 * (22.0 + c / 3.0 * (1.0 - gone**3)), rel=1e-13)


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"radius_mm": math.nan}, "radius is nan mm"),
        ({"diameter_mm": -1.0}, "diameter is -1 mm"),
        ({"radius_mm": 7.0}, "a 14 mm hole at radius 7 mm reaches the shaft axis"),
        ({"outer_radius_mm": 60.0}, "a 14 mm hole at radius 70 mm lies outside the rim at 60 mm"),
        ({"outer_radius_mm": -1.0}, "outer radius is -1 mm"),
        ({"thickness_mm": 0.0}, "thickness is 0 mm"),
        ({"depth_shoulder_mm": None}, "a blind face hole needs a depth"),
        ({"depth_shoulder_mm": math.nan}, "depth is not a number"),
        ({"depth_shoulder_mm": -5.0}, "the drill does not touch the face"),
        ({"depth_shoulder_mm": None, "through": True}, "a through hole needs the thickness"),
        ({"point_angle_deg": 181.0}, "point angle is 181 degrees"),
    ],
)
def test_face_hole_refuses(changed: dict[str, float], message: str) -> None:
    numbers = {"radius_mm": 70.0, "diameter_mm": 14.0, "depth_shoulder_mm": 10.0, **changed}
    with pytest.raises(InputError, match=message):
        face_hole(**numbers)  # type: ignore[arg-type]


def test_face_hole_says_what_is_the_greatest() -> None:
    most = face_hole(radius_mm=70.0, diameter_mm=14.0, through=True, thickness_mm=24.0).first_moment_mm4
    assert face_hole_depth_mm(
        first_moment_mm4=most * (1 - 1e-9), radius_mm=70.0, diameter_mm=14.0, thickness_mm=24.0
    ) == pytest.approx(24.0, abs=0.02)
    with pytest.raises(InputError, match=r"the greatest is 258616 mm4 at 24\.00 mm, all the way through"):
        face_hole_depth_mm(first_moment_mm4=most * 1.001, radius_mm=70.0, diameter_mm=14.0, thickness_mm=24.0)


def test_an_empty_solid_has_no_centroid_to_divide_by() -> None:
    assert Solid(volume_mm3=0.0, first_moment_mm4=0.0).centroid_radius_mm == 0.0


def test_part_length_slug_leaves_the_cone_empty() -> None:
    """Net = slug - bore with its cone, written out."""
    slug = axial_slug(radius_mm=70.0, diameter_mm=20.0, length_mm=15.0, through=False)
    c = cone_height_mm(diameter_mm=20.0, point_angle_deg=118.0)
    heavy, steel = 17.5 * math.pi * 100.0 * 15.0 / 1000.0, 7.85 * math.pi * 100.0 * (15.0 + c / 3.0) / 1000.0
    densities = {"density_g_per_cm3": 7.85, "slug_density_g_per_cm3": 17.5}
    assert slug.removed_g(7.85) == pytest.approx(steel, rel=1e-13)
    assert slug.net_mass_g(**densities) == pytest.approx(heavy - steel, rel=1e-13)
    assert slug.net_unbalance_gmm(**densities) == pytest.approx(70.0 * (heavy - steel), rel=1e-13)
    depth_sum = heavy * 7.5 - 7.85 * math.pi * 0.1 * (112.5 + c / 3.0 * (15.0 + c / 4.0))
    assert slug.net_from_face_mm(**densities) == pytest.approx(depth_sum / (heavy - steel), rel=1e-12)


def test_a_slug_of_the_same_metal_changes_nothing_and_has_no_place() -> None:
    slug = axial_slug(radius_mm=70.0, diameter_mm=20.0, length_mm=15.0, through=True)
    assert slug.net_unbalance_gmm(density_g_per_cm3=7.85, slug_density_g_per_cm3=7.85) == 0.0
    assert slug.net_from_face_mm(density_g_per_cm3=7.85, slug_density_g_per_cm3=7.85) is None


def test_filling_removes_nothing() -> None:
    fill = filled_hole(radius_mm=70.0, diameter_mm=20.0, length_mm=15.0)
    assert fill.removed_g(7.85) == 0.0
    assert fill.net_unbalance_gmm(density_g_per_cm3=7.85, slug_density_g_per_cm3=17.5) == pytest.approx(
        17.5e-3 * math.pi * 100.0 * 15.0 * 70.0, rel=1e-13
    )
    assert fill.net_from_face_mm(density_g_per_cm3=7.85, slug_density_g_per_cm3=17.5) == pytest.approx(7.5)


@pytest.mark.parametrize("thickness", [None, 40.0, 25.0])
@pytest.mark.parametrize("through", [True, False])
def test_slug_length_for_a_net_unbalance(thickness: float | None, through: bool) -> None:
    for long in (5.0, 15.0, 22.0):  # at 22 mm in 25 mm the bore's point comes out
        slug = axial_slug(
            radius_mm=70.0, diameter_mm=20.0, length_mm=long, through=through, thickness_mm=thickness
        )
        wanted = slug.net_unbalance_gmm(density_g_per_cm3=7.85, slug_density_g_per_cm3=17.5)
        found = axial_slug_length_mm(
            unbalance_gmm=wanted,
            radius_mm=70.0,
            diameter_mm=20.0,
            density_g_per_cm3=7.85,
            slug_density_g_per_cm3=17.5,
            through=through,
            thickness_mm=thickness,
        )
        assert found == pytest.approx(long, abs=1e-9)


def test_slugs_refuse() -> None:
    place = {"radius_mm": 70.0, "diameter_mm": 20.0}
    with pytest.raises(InputError, match="a slug 30 mm long does not fit a counterweight 25 mm thick"):
        axial_slug(**place, length_mm=30.0, through=False, thickness_mm=25.0)
    with pytest.raises(InputError, match="length is 0 mm"):
        filled_hole(**place, length_mm=0.0)
    wanted = {"unbalance_gmm": 5000.0, "density_g_per_cm3": 7.85, "through": True}
    with pytest.raises(InputError, match=r"a slug of 7 g/cm3 in metal of 7.85 g/cm3 adds nothing"):
        axial_slug_length_mm(**place, **wanted, slug_density_g_per_cm3=7.0)
    with pytest.raises(
        InputError, match=r"the greatest is 4244\.3 g\*mm at length 20 mm, the full thickness"
    ):
        axial_slug_length_mm(**place, **wanted, slug_density_g_per_cm3=17.5, thickness_mm=20.0)
    with pytest.raises(InputError, match="a slug 30 mm long stands proud of the rim in a hole 30 mm deep"):
        radial_slug(outer_radius_mm=90.0, diameter_mm=14.0, depth_shoulder_mm=30.0, length_mm=30.0)


def test_point_angles_from_10_to_180_are_allowed_both_included() -> None:
    for angle in (10.0, 180.0):
        assert float(checked_point_angle(angle)) == angle
    for angle in (9.99, 180.01, math.nan):
        with pytest.raises(InputError, match="allowed are 10 to 180"):
            checked_point_angle(angle)


def test_one_impossible_hole_among_many_is_refused() -> None:
    """A table of holes is refused for the one that can't be: wider than the rim, or its point longer than the radius."""
    with pytest.raises(InputError, match="not smaller than the rim's own"):
        rim_hole_volume_mm3(outer_radius_mm=20.0, diameter_mm=np.array([10.0, 40.0]), depth_shoulder_mm=5.0)
    # 39 mm at 60 degrees: 33.8 mm of point
    with pytest.raises(InputError, match=r"the drill's point is 33\.77 mm high"):
        rim_hole_volume_mm3(
            outer_radius_mm=20.0,
            diameter_mm=np.array([10.0, 39.0]),
            depth_shoulder_mm=5.0,
            point_angle_deg=60.0,
        )


@pytest.mark.parametrize(
    ("depth", "says"), [(math.nan, "depth is not a number"), (-9.0, "does not touch the rim")]
)
def test_one_impossible_depth_among_many_is_refused(depth: float, says: str) -> None:
    with pytest.raises(InputError, match=says):
        rim_hole_volume_mm3(outer_radius_mm=80.0, diameter_mm=10.0, depth_shoulder_mm=np.array([12.0, depth]))


def test_a_drill_that_does_not_reach_the_rim_takes_nothing() -> None:
    for depth in (-4.0, -5.0):
        assert shallow_volume_and_moment(
            outer_radius_mm=88.0, diameter_mm=14.0, depth_shoulder_mm=depth, cone_height_mm=4.0
        ) == (0.0, 0.0)
    # three tenths of a millimetre of point: a cone of that height, its base 0.3 * 7 / 4 mm
    volume, moment = shallow_volume_and_moment(
        outer_radius_mm=88.0, diameter_mm=14.0, depth_shoulder_mm=-3.7, cone_height_mm=4.0
    )
    cone = math.pi * (0.3 * 7.0 / 4.0) ** 2 * 0.3 / 3.0
    assert volume == pytest.approx(cone, rel=0.02)
    assert moment == pytest.approx(cone * (88.0 - 0.3 / 4.0), rel=0.02)


@pytest.mark.parametrize("density", [7.85, 7.0])
def test_a_slug_no_denser_than_its_metal_adds_nothing(density: float) -> None:
    with pytest.raises(InputError, match="adds nothing"):
        axial_slug_length_mm(
            unbalance_gmm=100.0,
            radius_mm=70.0,
            diameter_mm=20.0,
            density_g_per_cm3=7.85,
            slug_density_g_per_cm3=density,
            through=True,
            point_angle_deg=118.0,
        )


def test_a_slug_a_little_denser_adds_a_little() -> None:
    """Steel of 7.85 in iron of 7.15: 0.7 g/cm3 * pi * 10^2 * L * 70 mm = 100 g*mm at 6.5 mm."""
    length = axial_slug_length_mm(
        unbalance_gmm=100.0,
        radius_mm=70.0,
        diameter_mm=20.0,
        density_g_per_cm3=7.15,
        slug_density_g_per_cm3=7.85,
        through=True,
        point_angle_deg=118.0,
    )
    assert length == pytest.approx(100.0 / (0.7e-3 * math.pi * 100.0 * 70.0), rel=1e-9)
