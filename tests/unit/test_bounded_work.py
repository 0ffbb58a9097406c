"""No number makes a loop without an end: the counts of steps are looked at, not the clock."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from planner.correction.candidates import extent
from planner.correction.candidates.blocks import build_blocks
from planner.engine.matching.bob_set import BobPiece, make_up_bobs
from planner.errors import InputError
from planner.jobfile.read import load_job
from planner.steps import bob_window
from planner.steps.correction_question import pose
from tests.benchmarks import memory


class Counted:
    """A limit between bob masses; counts how often it is asked."""

    def __init__(self, edge_g: float) -> None:
        self.edge_g, self.asked = edge_g, 0

    def __call__(self, grams: float) -> float:
        self.asked += 1
        if self.asked > 1000:
            raise AssertionError("asked without an end")
        return grams - self.edge_g


@pytest.mark.parametrize("outside_g", [1e3, 1e12, 1e21, 1e300])
def test_the_bob_window_halves_a_bounded_number_of_times(outside_g: float) -> None:
    excess = Counted(edge_g=400.0)
    found = bob_window._edge(excess, 0.0, outside_g)
    assert excess.asked <= bob_window._STEPS + 1
    if outside_g <= 1e12:
        assert found == pytest.approx(400.0, abs=bob_window.RESOLUTION_G)


def test_and_so_does_the_search_for_a_mass_inside() -> None:
    class Never(Counted):
        def __call__(self, grams: float) -> float:
            return abs(super().__call__(grams)) + 1.0

    excess = Never(edge_g=3e20)
    assert bob_window._inside(excess, -1e21, 1e21) is None
    assert excess.asked <= 2 * bob_window._STEPS + 3


def pieces() -> list[BobPiece]:
    return [
        BobPiece(name="body", mass_g=600.0, count=4, body=True),
        BobPiece(name="plate", mass_g=50.0, count=40),
        BobPiece(name="washer", mass_g=1.0, count=40),
    ]


@pytest.mark.parametrize("wanted_g", [1e6, 1e12, 1e21])
def test_a_bob_beyond_all_pieces_gets_all_of_them(wanted_g: float) -> None:
    """By hand: one throw, one body of 600 g, 20 pairs of 50 g and 20 pairs of 1 g plates: 2640 g."""
    made = make_up_bobs({"1": wanted_g}, pieces=pieces())
    assert made.bobs[0].mass_g == pytest.approx(600.0 + 40 * 50.0 + 40 * 1.0)


def test_pieces_in_their_millions_are_refused() -> None:
    many = [*pieces(), BobPiece(name="shot", mass_g=0.005, count=1_000_000, paired=False),
            BobPiece(name="slab", mass_g=5000.0, count=1_000_000, paired=False)]  # fmt: skip
    with pytest.raises(InputError, match="different masses, more than"):
        make_up_bobs({"1": 1e21}, pieces=many)


def fine_job(**case: object) -> str:
    plain = {
        "kinds": ("rim hole",),
        "depth_step": 0.5,
        "angle_step": 1.0,
        "radius_step": 1.0,
        "drills": 3,
        "rim": 88.0,
    }
    return memory.job_text(**{**plain, **case})  # type: ignore[arg-type]


@pytest.mark.skipif(not hasattr(os, "wait4"), reason="peak memory of a child is asked of the system")
@pytest.mark.parametrize(
    ("case", "settings"),
    [
        # by hand: 3 drills, 88 - 36 = 52 mm of radii in 5201 steps; 24 mm of thickness in 2401 depths, two faces
        ({"kinds": ("face hole",), "depth_step": 0.01, "radius_step": 0.01}, f"{3 * 5201 * 2401 * 2:,}"),
        # 3 drills, 47 000 - 36 = 46 964 mm in 46 965 steps of 1 mm; 24 mm in 49 depths, two faces
        ({"kinds": ("face hole",), "rim": 47000.0}, f"{3 * 46965 * 49 * 2:,}"),
    ],
)
def test_a_grid_beyond_all_memory_is_refused_in_words(case: dict[str, object], settings: str) -> None:
    code, _, peak_mb, words = memory.measured(fine_job(**case), seconds=5.0)
    assert code == 2
    assert f"{settings} different face holes on counterweight A alone" in words
    assert peak_mb < 200.0


@pytest.mark.skipif(not hasattr(os, "wait4"), reason="peak memory of a child is asked of the system")
def test_a_fine_grid_is_planned_in_little_memory() -> None:
    """22 million places; laid out all at once they took 393 MB, and the finest grid that is allowed 1300 MB."""
    code, _, peak_mb, words = memory.measured(fine_job(depth_step=0.01, angle_step=0.2), seconds=60.0)
    assert code == 0
    assert words.startswith("PLAN")
    assert peak_mb < 330.0


def test_places_are_counted_over_all_counterweights(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    (tmp_path / "job.toml").write_text(fine_job(), encoding="utf-8")
    problem = pose(load_job(tmp_path / "job.toml")).problem
    places = sum(block.amount_gmm.size * block.relative_deg.size for block in build_blocks(problem))
    monkeypatch.setattr(extent, "MOST_PLACES", places)
    build_blocks(problem)
    monkeypatch.setattr(extent, "MOST_PLACES", places - 1)
    with pytest.raises(extent.TooManyPlacesError, match="more than can be looked at"):
        build_blocks(problem)
