"""The planner's own plane geometry against a general-purpose geometry library (shapely)."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.affinity import rotate

from planner.correction.candidates.obstacles import (
    ConvexPiece,
    deepest_keeping_wall,
    hull_distance_mm,
    keeps_wall_to,
)
from planner.correction.candidates.sections import (
    Sections,
    disc_sections,
    join,
    ray_section,
    rim_hole_sections,
    separation_deg,
)

RIM = 84.0


def rim_hole(diameter: float, depth: float) -> Sections:
    return rim_hole_sections(
        rim_radius_mm=RIM,
        diameter_mm=np.array([diameter]),
        depth_shoulder_mm=np.array([depth]),
        cone_mm=np.array([diameter / 2.0 / math.tan(math.radians(59.0))]),
    )


def disc(radius: float, diameter: float) -> Sections:
    return disc_sections(radius_mm=np.array([radius]), diameter_mm=np.array([diameter]))


def shapely_wall(first: Sections, second: Sections, angle_deg: float) -> float:
    one = shapely.MultiPoint(first.hull_xy_mm()[0]).convex_hull
    two = shapely.MultiPoint(second.hull_xy_mm()[0]).convex_hull
    apart = one.distance(rotate(two, angle_deg, origin=(0.0, 0.0)))
    return float(apart - first.grow_mm[0] - second.grow_mm[0])


cuts = st.one_of(
    st.builds(rim_hole, st.floats(6.0, 25.0), st.floats(4.0, 40.0)),
    st.builds(disc, st.floats(30.0, 72.0), st.floats(6.0, 26.0)),
)
shapes = st.one_of(cuts, st.just(ray_section(RIM)))  # two flanks meet in the axis: never asked for


@settings(derandomize=True, max_examples=150, deadline=None)
@given(first=shapes, second=cuts, wall=st.floats(0.5, 6.0))
def test_separation_is_where_the_library_finds_the_wall(
    first: Sections, second: Sections, wall: float
) -> None:
    needed = float(separation_deg(first, second, wall)[0])
    assert needed == pytest.approx(float(separation_deg(second, first, wall)[0]), abs=1e-9)
    if needed == 0.0:
        assert shapely_wall(first, second, 0.0) >= wall - 1e-9
    elif needed < 179.0:
        assert shapely_wall(first, second, needed) == pytest.approx(wall, abs=1e-6)
        assert shapely_wall(first, second, needed) >= wall - 1e-9
    for angle in np.linspace(needed, 180.0, 9):
        assert shapely_wall(first, second, float(angle)) >= wall - 1e-9


def test_two_rim_holes_need_the_angles_that_a_drawing_gives() -> None:
    # Two 19 x 40 holes at R = 85, wall 3: 27.6 degrees; two 16 x 20: 16.7 (own study, from drawn sections)
    def pair(diameter: float, depth: float) -> float:
        one = rim_hole_sections(
            rim_radius_mm=85.0,
            diameter_mm=np.array([diameter]),
            depth_shoulder_mm=np.array([depth]),
            cone_mm=np.array([diameter / 2.0 / math.tan(math.radians(59.0))]),
        )
        return float(separation_deg(one, one, 3.0)[0])

    assert pair(19.0, 40.0) == pytest.approx(27.6, abs=0.05)
    assert pair(16.0, 20.0) == pytest.approx(16.7, abs=0.05)


def test_a_table_of_pairs_equals_single_pairs() -> None:
    several = join([rim_hole(10.0, 12.0), rim_hole(16.0, 30.0), disc(50.0, 20.0)])
    table = separation_deg(several.take((slice(None), None)), several.take((None, slice(None))), 3.0)
    for i in range(3):
        for j in range(3):
            one = separation_deg(several.take(slice(i, i + 1)), several.take(slice(j, j + 1)), 3.0)
            assert table[i, j] == pytest.approx(float(one[0]), abs=1e-12)


tenths = st.integers(-600, 600).map(lambda n: n / 10.0)
corner = st.tuples(tenths, tenths)


@settings(derandomize=True, max_examples=150, deadline=None)
@given(points=st.lists(corner, min_size=1, max_size=6), angle=st.floats(-180.0, 180.0), hole=cuts)
def test_hull_distance_is_the_librarys(
    points: list[tuple[float, float]], angle: float, hole: Sections
) -> None:
    hull = shapely.MultiPoint(points).convex_hull
    corners = np.array(hull.exterior.coords[:-1] if hull.geom_type == "Polygon" else hull.coords)
    own = hole.hull_xy_mm()[0] @ np.array(
        [
            [math.cos(math.radians(angle)), math.sin(math.radians(angle))],
            [-math.sin(math.radians(angle)), math.cos(math.radians(angle))],
        ]
    )
    found = float(hull_distance_mm(own[None, :, :], corners)[0])
    wanted = float(shapely.MultiPoint(own).convex_hull.distance(hull))
    assert found == pytest.approx(wanted, abs=1e-6)
    for needed in (1.0, 5.0, 20.0):
        if abs(wanted - needed) > 1e-6:
            told = hull_distance_mm(own[None, :, :], corners, np.array([needed]))[0]
            assert bool(told >= needed) == (wanted >= needed)


@pytest.mark.parametrize("diameter", [1.0, 4.0, 12.0])
def test_a_disc_keeps_its_wall_where_the_library_says(diameter: float) -> None:
    """A large sector about the ray: small discs deep inside it are as far from its corners as others outside are."""
    corners = np.array([[20.0, -14.0], [78.0, -30.0], [78.0, 30.0], [20.0, 14.0]])
    piece = ConvexPiece(corners, 0.0, 3.0)
    angles = np.radians(np.arange(-90.0, 90.5, 1.5))
    for radius in (30.0, 55.0, 80.0):
        keeps = keeps_wall_to(disc(radius, diameter), angles, piece)[0]
        centres = [shapely.Point(radius * math.cos(at), radius * math.sin(at)) for at in angles]
        apart = np.array([float(shapely.Polygon(corners).distance(centre)) for centre in centres])
        expected = apart - 0.5 * diameter >= 3.0
        clear = np.abs(apart - 0.5 * diameter - 3.0) > 1e-4
        assert (keeps == expected)[clear].all()
        assert expected.any()
        assert not expected.all()


def test_wall_to_a_piece_counts_both_growths() -> None:
    piece = ConvexPiece(np.array([[60.0, 0.0]]), 4.0, 3.0)
    slug = disc(60.0, 10.0)
    angles = np.radians(np.arange(-40.0, 41.0))
    keeps = keeps_wall_to(slug, angles, piece)[0]
    expected = 2.0 * 60.0 * np.sin(np.abs(angles) / 2.0) - 5.0 - 4.0 >= 3.0
    assert (keeps == expected).all()
    assert keeps.any()
    assert not keeps.all()


def test_bisection_over_depths_tells_what_measuring_each_depth_tells() -> None:
    """Keep-outs and the straight edge of a half disc, every depth measured against the deepest found by halves."""
    radius = np.array([40.0, 70.0])
    piece = ConvexPiece(
        np.array([[radius[0], 5.0], [radius[1], 9.0], [radius[1], -2.0], [radius[0], -3.0]]), 0.0, 3.0
    )
    depths = np.arange(0.5, 45.0, 0.5)
    chain = rim_hole_sections(
        rim_radius_mm=85.0,
        diameter_mm=np.full(depths.size, 14.0),
        depth_shoulder_mm=depths,
        cone_mm=np.full(depths.size, 4.2),
    )
    at = np.radians(np.arange(-60.0, 60.0, 1.0))
    every = keeps_wall_to(chain, at, piece)
    last = deepest_keeping_wall(chain, at, piece, np.full(at.size, depths.size - 1))
    assert 0 < int((last < depths.size - 1).sum()) < at.size
    assert (every == (np.arange(depths.size)[:, None] <= last[None, :])).all()
