"""What must hold for any hole in any outline: mirror, turn, depth, order, and a second way to measure walls."""

from __future__ import annotations

import dataclasses
import math

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from geometry_profiles import shapes
from geometry_profiles.area_properties import area_properties
from geometry_profiles.obstacles import rim_hole_obstacle
from geometry_profiles.outline import Obstacle, Outline
from geometry_profiles.placement import HoleSection, placement_faults, section_polygon

EVERYTHING_MM = 1000.0
"""A wall that nothing keeps, so that every wall is reported."""

few = settings(max_examples=60, derandomize=True, deadline=None)

FANS = st.builds(
    shapes.fan,
    outer_radius_mm=st.floats(70.0, 110.0),
    half_angle_deg=st.floats(30.0, 170.0),
    inner_radius_mm=st.floats(20.0, 45.0),
)
RIM_HOLES = st.builds(
    HoleSection,
    st.just("rim"),
    angle_deg=st.floats(-60.0, 60.0),
    diameter_mm=st.floats(6.0, 25.0),
    depth_shoulder_mm=st.floats(3.0, 30.0),
    cone_height_mm=st.floats(0.0, 7.0),
    name=st.just("rim hole"),
)
BORES = st.builds(
    HoleSection,
    st.just("face"),
    angle_deg=st.floats(-60.0, 60.0),
    diameter_mm=st.floats(6.0, 25.0),
    radius_mm=st.floats(50.0, 80.0),
    name=st.just("bore"),
)
HOLES = st.one_of(RIM_HOLES, BORES)


def walls(
    outline: Outline,
    holes: list[HoleSection],
    obstacles: tuple[Obstacle, ...] = (),
    *,
    thickness: float = 25.0,
) -> dict[tuple[str, str], float]:
    """Return every wall by its partners."""
    found = placement_faults(
        outline, thickness_mm=thickness, holes=holes, obstacles=obstacles, least_wall_mm=EVERYTHING_MM
    )
    return {(fault.hole, fault.with_what): fault.wall_mm for fault in found}


def mirrored(hole: HoleSection) -> HoleSection:
    return dataclasses.replace(hole, angle_deg=-hole.angle_deg)


def other_side(with_what: str) -> str:
    swapped = {"+": "-", "-": "+"}
    return "".join(swapped.get(sign, sign) for sign in with_what)


@few
@given(outline=FANS, first=HOLES, second=HOLES, old=st.floats(-50.0, 50.0))
def test_a_mirrored_counterweight_has_mirrored_walls(
    outline: Outline, first: HoleSection, second: HoleSection, old: float
) -> None:
    second = dataclasses.replace(second, name="second")

    def oil(sign: float) -> Obstacle:
        return Obstacle(points_mm=((50.0, sign * old), (70.0, sign * 3.0)), radius_mm=2.0, what="oil")

    here = walls(outline, [first, second], (oil(1.0),))
    there = walls(outline, [mirrored(first), mirrored(second)], (oil(-1.0),))
    assert {(hole, other_side(what)) for hole, what in here} == set(there)
    for (hole, what), wall_mm in here.items():
        assert there[hole, other_side(what)] == pytest.approx(wall_mm, abs=1e-7)


def turned(outline: Outline, angle_deg: float) -> Outline:
    def turn(point: tuple[float, float]) -> tuple[float, float]:
        at = complex(*point) * complex(math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg)))
        return at.real, at.imag

    return dataclasses.replace(
        outline,
        boundary_mm=tuple(map(turn, outline.boundary_mm)),
        flanks_mm=tuple((turn(start), turn(end)) for start, end in outline.flanks_mm),
        rim_arcs_deg=tuple((start + angle_deg, end + angle_deg) for start, end in outline.rim_arcs_deg),
    )


@few
@given(outline=FANS, first=HOLES, second=HOLES, angle=st.floats(-400.0, 400.0))
def test_turning_everything_changes_no_wall(
    outline: Outline, first: HoleSection, second: HoleSection, angle: float
) -> None:
    second = dataclasses.replace(second, name="second")

    def moved(hole: HoleSection) -> HoleSection:
        return dataclasses.replace(hole, angle_deg=hole.angle_deg + angle)

    here = walls(outline, [first, second])
    there = walls(turned(outline, angle), [moved(first), moved(second)])
    assert set(here) == set(there)
    for key, wall_mm in here.items():
        assert there[key] == pytest.approx(wall_mm, abs=1e-7)


@few
@given(outline=FANS, angle=st.floats(-400.0, 400.0))
def test_turning_an_outline_turns_its_centroid_and_keeps_its_area(outline: Outline, angle: float) -> None:
    here, there = area_properties(outline), area_properties(turned(outline, angle))
    assert there.area_mm2 == pytest.approx(here.area_mm2, rel=1e-10)
    assert there.polar_moment_mm4 == pytest.approx(here.polar_moment_mm4, rel=1e-10)
    assert there.centroid_radius_mm == pytest.approx(here.centroid_radius_mm, rel=1e-9, abs=1e-9)
    difference = math.radians(there.centroid_angle_deg - here.centroid_angle_deg - angle)
    assert math.sin(0.5 * difference) == pytest.approx(0.0, abs=1e-9)


@few
@given(outline=FANS, hole=RIM_HOLES, other=HOLES, deeper=st.floats(0.01, 20.0), at=st.floats(-60.0, 60.0))
def test_a_deeper_hole_never_has_larger_walls(
    outline: Outline, hole: HoleSection, other: HoleSection, deeper: float, at: float
) -> None:
    other = dataclasses.replace(other, name="other")
    old = rim_hole_obstacle(
        rim_radius_mm=outline.rim_radius_mm or 0.0,
        angle_deg=at,
        diameter_mm=12.0,
        depth_shoulder_mm=20.0,
        cone_height_mm=4.0,
        what="old hole",
    )
    assert hole.depth_shoulder_mm is not None
    deep = dataclasses.replace(hole, depth_shoulder_mm=hole.depth_shoulder_mm + deeper)
    before, after = walls(outline, [hole, other], (old,)), walls(outline, [deep, other], (old,))
    assert set(before) <= set(after)  # a new fault may come (the tip below the inner radius), none may go
    for key, wall_mm in before.items():
        assert after[key] <= wall_mm + 1e-9


@few
@given(outline=FANS, first=HOLES, second=HOLES)
def test_walls_agree_with_distances_of_the_drawn_sections(
    outline: Outline, first: HoleSection, second: HoleSection
) -> None:
    """Drawn circles lie up to r*(1 - cos(180/128 deg)) = 3e-4*r inside the true ones."""
    second = dataclasses.replace(second, name="second")
    found = walls(outline, [first, second])
    slack_mm = 3.1e-4 * 0.5 * (first.diameter_mm + second.diameter_mm)
    drawn = {hole.name: section_polygon(hole, outline) for hole in (first, second)}
    pairs = [((first.name, second.name), drawn[first.name], drawn[second.name])]
    for index, flank in enumerate(outline.flanks_mm):
        pairs += [
            ((name, outline.flank_name(index)), shape, shapely.LineString(flank))
            for name, shape in drawn.items()
        ]
    for key, one, another in pairs:
        distance_mm = one.distance(another)
        if distance_mm > 0.0:
            assert distance_mm - slack_mm - 1e-9 <= found[key] <= distance_mm + 1e-9
        else:
            assert found[key] <= 1e-9
            # moving the first by a little more than the overlap parts the two, in some direction
            way_mm = -found[key] + 1e-3
            assert any(
                shapely.affinity.translate(
                    one, way_mm * math.cos(math.radians(turn)), way_mm * math.sin(math.radians(turn))
                ).distance(another)
                > 0.0
                for turn in _directions(first, second, key, outline)
            )


def _directions(
    first: HoleSection, second: HoleSection, key: tuple[str, str], outline: Outline
) -> list[float]:
    """Return the directions in which two shapes may part quickest: across any edge, or along the centres."""
    angles = [0.0, 90.0, 180.0, 270.0]
    edges: list[float] = []
    for hole in (first, second):
        edges += [hole.angle_deg + angle for angle in angles]
        cone = math.degrees(math.atan2(0.5 * hole.diameter_mm, max(hole.cone_height_mm, 1e-9)))
        edges += [hole.angle_deg + 180.0 + sign * cone for sign in (1.0, -1.0)]
        edges += [hole.angle_deg + sign * cone for sign in (1.0, -1.0)]
    assert outline.half_angle_deg is not None
    edges += [sign * outline.half_angle_deg + angle for sign in (1.0, -1.0) for angle in angles]
    # circles part along the line of the nearest points, which may be anything: every degree too
    return edges + [float(angle) for angle in range(360)]


@few
@given(outline=FANS, first=HOLES, second=HOLES, third=HOLES)
def test_the_order_of_the_holes_changes_no_answer(
    outline: Outline, first: HoleSection, second: HoleSection, third: HoleSection
) -> None:
    holes = [
        dataclasses.replace(hole, name=name) for hole, name in ((first, "1"), (second, "2"), (third, "3"))
    ]

    def by_pair(order: list[HoleSection]) -> dict[frozenset[str], float]:
        return {frozenset(key): wall_mm for key, wall_mm in walls(outline, order).items()}

    forward, backward = by_pair(holes), by_pair(holes[::-1])
    assert set(forward) == set(backward)
    for key, wall_mm in forward.items():
        assert backward[key] == pytest.approx(wall_mm, abs=1e-9)


@few
@given(outline=FANS, hole=HOLES, wall=st.floats(0.0, 10.0), more=st.floats(0.0, 10.0))
def test_a_larger_wall_never_allows_more(
    outline: Outline, hole: HoleSection, wall: float, more: float
) -> None:
    def found(least_wall_mm: float) -> set[str]:
        return {
            fault.with_what
            for fault in placement_faults(
                outline, thickness_mm=25.0, holes=[hole], obstacles=(), least_wall_mm=least_wall_mm
            )
        }

    assert found(wall) <= found(wall + more)
