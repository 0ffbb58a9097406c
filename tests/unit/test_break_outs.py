"""Holes that come out at a face or a flank where a counterweight allows it: exact, by two routes; refused or warned of elsewhere.

The function behind it is held against a solid kernel in tests/physics/test_rim_form_solids.py.  All sizes are invented.
"""

from __future__ import annotations

import dataclasses
import math
from pathlib import Path

import numpy as np
import pytest

from geometry_profiles.rims import bevelled
from geometry_profiles.shapes import fan
from planner.correction.candidates.blocks import build_blocks
from planner.correction.problem import CorrectionProblem
from planner.correction.verify.verify_plan import verify, weigh
from planner.cuts.cut import Cut, Shop
from planner.cuts.effects import effect_of
from planner.errors import InputError
from planner.frames import ShaftAngle, TwoPlanes
from planner.rotor.crankshaft import Counterweight
from planner.rotor.limits import LimitRow
from tests.unit.test_job_shapes import FAN, load

SHOP = Shop(drills_mm=(12.0, 16.0))
OWN = Counterweight(
    name="A",
    z_mm=50.0,
    angle_deg=ShaftAngle(180.0),
    thickness_mm=24.0,
    outline=fan(outer_radius_mm=88.0, half_angle_deg=58.0, inner_radius_mm=36.0),
    cuts=("rim hole",),
    break_outs=True,
)
FORMED = dataclasses.replace(
    OWN, rim=bevelled(outer_radius_mm=88.0, thickness_mm=24.0, front_width_mm=5.0, rear_width_mm=2.0)
)


def problem(own: Counterweight, *fixed: Cut) -> CorrectionProblem:
    return CorrectionProblem(
        unbalance_gmm=TwoPlanes(0j, 0j),
        planes_z_mm=TwoPlanes(0.0, 400.0),
        limits=(LimitRow(at="left", weight_1=1.0, weight_2=0.0, tolerance_gmm=100.0),),
        counterweights=(own,),
        shop=SHOP,
        density_g_per_cm3=7.85,
        fixed=fixed,
    )


def hole(angle: float, *, row: float = 0.0, diameter: float = 16.0, depth: float = 20.0) -> Cut:
    return Cut(
        kind="rim hole",
        counterweight="A",
        angle_deg=ShaftAngle(angle),
        diameter_mm=diameter,
        depth_shoulder_mm=depth,
        from_middle_mm=row,
    )


def by_cells(cut: Cut, own: Counterweight, n: int = 160) -> tuple[float, float]:
    """Grams and g*mm along the hole's ray by a sum over cells of the drill that lie in the counterweight."""
    a, h = 0.5 * cut.diameter_mm, cut.depth_shoulder_mm or 0.0
    cone = a / math.tan(math.radians(59.0))
    side = a * (2.0 * (np.arange(n) + 0.5) / n - 1.0)
    s, y = np.meshgrid(side, side, indexing="ij")
    form = own.rim_form()
    place = cut.from_middle_mm + s
    inside = (s * s + y * y < a * a) & (np.abs(place) < 0.5 * own.thickness_mm)
    radius = np.array([form.radius_mm(float(min(max(p, -12.0), 12.0))) for p in cut.from_middle_mm + side])
    top = np.sqrt(radius[:, None] ** 2 - y * y)
    low = form.radius_mm(cut.from_middle_mm) - h - cone * (1.0 - np.hypot(s, y) / a)
    turn = (cut.angle_deg - own.angle_deg + 180.0) % 360.0 - 180.0
    ahead = math.tan(math.radians(58.0 - turn))
    if 0.0 < 58.0 - turn < 90.0:
        low = np.where(y > 0.0, np.maximum(low, y / ahead), low)
    thick = np.where(inside, np.maximum(top - low, 0.0), 0.0)
    moment = np.where(thick > 0.0, 0.5 * (top**2 - low**2), 0.0)
    cell = (2.0 * a / n) ** 2 * 7.85e-3
    return float(thick.sum()) * cell, float(moment.sum()) * cell


@pytest.mark.parametrize("own", [OWN, FORMED], ids=["plain", "bevelled"])
@pytest.mark.parametrize(
    "cut",
    [hole(180.0 + 54.0), hole(180.0 + 53.0, depth=34.0), hole(180.0, row=7.0), hole(180.0 + 53.0, row=-6.0)],
    ids=["flank", "deep at the flank", "face", "both"],
)
def test_only_metal_counts(own: Counterweight, cut: Cut) -> None:
    told = effect_of(cut, counterweight=own, density_g_per_cm3=7.85, shop=SHOP)
    mass, moment = by_cells(cut, own)
    assert -told.mass_g == pytest.approx(mass, rel=6e-3)
    along = -told.unbalance_gmm * math.cos(math.radians(told.turned_deg))
    assert along == pytest.approx(moment, rel=6e-3)
    weighed = weigh(cut, own, problem=problem(own, cut))
    assert weighed.mass_g == pytest.approx(told.mass_g, rel=2e-5)
    assert weighed.unbalance_gmm == pytest.approx(-along, rel=2e-5)
    across = told.unbalance_gmm * math.sin(math.radians(told.turned_deg))
    assert weighed.across_gmm == pytest.approx(across, abs=2e-5 * abs(told.unbalance_gmm))
    if cut.angle_deg != 180.0:
        # metal is missing on the far side: the resultant lies toward the middle
        assert told.turned_deg < -0.05


def test_without_leave_it_is_refused_or_counted_whole() -> None:
    strict = dataclasses.replace(OWN, break_outs=False)
    with pytest.raises(InputError, match="leaves a counterweight 24 mm thick at its face"):
        effect_of(hole(180.0, row=7.0), counterweight=strict, density_g_per_cm3=7.85, shop=SHOP)
    at_flank = hole(180.0 + 54.0)
    whole = effect_of(at_flank, counterweight=strict, density_g_per_cm3=7.85, shop=SHOP)
    part = effect_of(at_flank, counterweight=OWN, density_g_per_cm3=7.85, shop=SHOP)
    assert -part.unbalance_gmm < -0.97 * whole.unbalance_gmm
    # the wall stays a warning of a pinned cut, and what a plan chooses never comes out
    for own in (strict, OWN):
        assert any("flank" in text for text in verify(problem(own, at_flank), [at_flank]).warnings)
        assert verify(problem(own), [at_flank]).faults
    blocks = build_blocks(problem(OWN))
    assert [block.legal.tolist() for block in blocks] == [
        b.legal.tolist() for b in build_blocks(problem(strict))
    ]


def test_a_hole_in_the_metal_is_the_same_with_and_without() -> None:
    strict = dataclasses.replace(OWN, break_outs=False)
    cut = hole(170.0)
    one, other = (
        effect_of(cut, counterweight=own, density_g_per_cm3=7.85, shop=SHOP) for own in (OWN, strict)
    )
    assert one == other


def test_a_file_says_it(tmp_path: Path) -> None:
    assert not load(FAN, tmp_path).crankshaft.counterweights[0].break_outs
    assert load(FAN + "break_outs = true\n", tmp_path).crankshaft.counterweights[0].break_outs
