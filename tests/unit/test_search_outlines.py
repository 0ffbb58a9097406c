"""The search on counterweights measured point by point: walls kept, rim holes on the rim - as the other route sees it."""

from __future__ import annotations

import dataclasses
import math

import pytest

from geometry_profiles.outline import Outline
from geometry_profiles.shapes import points
from planner.correction.candidates.blocks import build_blocks
from planner.correction.verify.verify_plan import verify
from planner.cuts.cut import Cut
from planner.rotor.crankshaft import CutKind
from planner.rotor.vectors import difference_deg
from tests.unit.test_search import FOUR, plan, polar, problem

RIM_MM = 85.0


@pytest.fixture(autouse=True)
def _no_disk(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("BOBPLAN_CACHE", "off")


def on_rim(start_deg: int, end_deg: int, radius_mm: float = RIM_MM) -> list[tuple[float, float]]:
    """Return points on an arc, 2 degrees apart."""
    turns = range(start_deg, end_deg + 1, 2)
    return [(radius_mm * math.cos(math.radians(t)), radius_mm * math.sin(math.radians(t))) for t in turns]


# Invented: two arcs of rim with a slot between them, and flanks that do not point to the shaft axis.
SLOTTED = points(
    [(5.0, -36.0), (40.0, -71.0), *on_rim(-50, -14), *on_rim(-14, -14, 62.0), *on_rim(10, 10, 62.0), *on_rim(10, 50),
     (40.0, 71.0), (5.0, 36.0)],
    inner_radius_mm=34.0, rim_radius_mm=RIM_MM,
)  # fmt: skip
# Invented: a block with rounded top, straight sides.
BLOCK = points([(0.0, -58.0), *on_rim(-42, 42), (0.0, 58.0)], inner_radius_mm=34.0, rim_radius_mm=RIM_MM)
# Invented: a rectangle, no rim to drill from.
NO_RIM = points([(0.0, -58.0), (72.0, -58.0), (72.0, 58.0), (0.0, 58.0)], inner_radius_mm=34.0)
ARCS = {"slotted": (SLOTTED, ((-50.0, -14.0), (10.0, 50.0))), "block": (BLOCK, ((-42.0, 42.0),))}


def on_an_arc(relative_deg: float, diameter_mm: float, arcs: tuple[tuple[float, float], ...]) -> bool:
    mouth = math.degrees(math.asin(diameter_mm / 2.0 / RIM_MM))
    return any(a - 1e-6 <= relative_deg - mouth and relative_deg + mouth <= b + 1e-6 for a, b in arcs)


@pytest.mark.parametrize("name", sorted(ARCS))
@pytest.mark.parametrize(
    ("first", "second"), [((2000.0, 195.0), (1700.0, -30.0)), ((4300.0, 172.0), (4100.0, 12.0))]
)
def test_rim_holes_are_on_the_rim_and_keep_their_walls(
    name: str, first: tuple[float, float], second: tuple[float, float]
) -> None:
    outline, arcs = ARCS[name]
    weights = tuple(dataclasses.replace(c, outline=outline) for c in FOUR)
    outcome = plan(
        problem(
            polar(*first), polar(*second), counterweights=weights, aim=0.5, drills_mm=(10.0, 14.0),
            angle_step_deg=1.0, depth_step_mm=0.5,
        )
    )  # fmt: skip
    assert outcome.feasible
    assert outcome.cuts
    centre = {c.name: c.angle_deg for c in FOUR}
    for item in outcome.cuts:
        relative = difference_deg(item.cut.angle_deg, centre[item.cut.counterweight])
        assert on_an_arc(relative, item.cut.diameter_mm, arcs)


@pytest.mark.parametrize(("kind", "outline"), [("slug", SLOTTED), ("face hole", NO_RIM), ("slug", NO_RIM)])
def test_bores_in_the_faces_keep_their_walls_to_measured_outlines(kind: CutKind, outline: Outline) -> None:
    weights = tuple(dataclasses.replace(c, outline=outline) for c in FOUR)
    sign = -1.0 if kind == "slug" else 1.0
    outcome = plan(
        problem(
            sign * polar(2600.0, 195.0), sign * polar(2300.0, -30.0), counterweights=weights, allow=(kind,), aim=0.7,
            angle_step_deg=1.0, depth_step_mm=0.5,
        )
    )  # fmt: skip
    assert outcome.feasible
    assert {item.cut.kind for item in outcome.cuts} == {kind}


def test_no_rim_no_rim_holes() -> None:
    weights = tuple(dataclasses.replace(c, outline=NO_RIM) for c in FOUR)
    assert build_blocks(problem(polar(2000.0, 183.0), 0j, counterweights=weights)) == []


@pytest.mark.parametrize("outline", [SLOTTED, BLOCK])
def test_what_fits_is_what_the_other_route_allows(outline: Outline) -> None:
    """Each dial angle and some depths: the table of the search against polygons in shapely."""
    weight = dataclasses.replace(FOUR[1], outline=outline)
    asked = problem(
        0j, 0j, counterweights=(weight,), drills_mm=(14.0,), angle_step_deg=2.0, depth_step_mm=10.0
    )
    (block,) = build_blocks(asked)
    legal = block.legal_settings()
    allowed = {
        (float(block.depth_mm[setting]), round(block.angle_deg(int(angle)) % 360.0, 6))
        for setting in range(legal.shape[0])
        for angle in legal[setting].nonzero()[0]
    }
    assert allowed
    counted = set()
    for depth in (5.0, 15.0, 25.0, 35.0, 45.0):
        for turn in range(0, 360, 2):
            cut = Cut(
                kind="rim hole",
                counterweight="B",
                angle_deg=float(turn),
                diameter_mm=14.0,
                depth_shoulder_mm=depth,
            )
            if not verify(asked, [cut]).faults:
                counted.add((depth, float(turn)))
    assert allowed == counted
