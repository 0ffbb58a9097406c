"""Old face holes plugged with steel: what it does by hand, the search, the verification, files.  All sizes are invented."""

from __future__ import annotations

import cmath
import dataclasses
import math
from pathlib import Path

import pytest

from geometry_profiles.shapes import fan
from planner.correction.problem import CorrectionProblem
from planner.correction.search.find_plan import find_plan
from planner.correction.verify.verify_plan import verify
from planner.cuts.cut import Cut, Shop
from planner.cuts.effects import effect_of
from planner.frames import ShaftAngle, TwoPlanes
from planner.jobfile.render import cut_pairs
from planner.rotor.crankshaft import Counterweight, ExistingHole
from planner.rotor.limits import LimitRow
from planner.steps.correction_question import with_made_cuts
from tests.unit.test_job_shapes import FAN, load

SHOP = Shop(drills_mm=(12.0,), slug_diameters_mm=(19.05,), heavy_metal="if needed")
THROUGH = ExistingHole(
    kind="face hole", angle_deg=ShaftAngle(186.0), diameter_mm=20.0, radius_mm=70.0, through=True
)
BLIND = ExistingHole(
    kind="face hole",
    angle_deg=ShaftAngle(165.0),
    diameter_mm=18.0,
    radius_mm=68.0,
    depth_shoulder_mm=10.0,
    face="rear",
)
OWN = Counterweight(
    name="A",
    z_mm=50.0,
    angle_deg=ShaftAngle(180.0),
    thickness_mm=24.0,
    outline=fan(outer_radius_mm=88.0, half_angle_deg=58.0, inner_radius_mm=36.0),
    cuts=("rim hole", "plug", "slug"),
    existing=(THROUGH, BLIND),
)


def problem(own: Counterweight, left: complex) -> CorrectionProblem:
    return CorrectionProblem(
        unbalance_gmm=TwoPlanes(left, 0j),
        planes_z_mm=TwoPlanes(50.0, 450.0),
        limits=tuple(
            LimitRow(at=side, weight_1=1.0 - row, weight_2=float(row), tolerance_gmm=60.0)
            for row, side in enumerate(("left", "right"))
        ),
        counterweights=(own,),
        shop=SHOP,
        density_g_per_cm3=7.2,
    )


def plug(hole: ExistingHole, length: float) -> Cut:
    return Cut(
        kind="plug",
        counterweight="A",
        angle_deg=hole.angle_deg,
        diameter_mm=hole.diameter_mm,
        radius_mm=hole.radius_mm,
        length_mm=length,
        through=hole.through,
        face=hole.face,
    )


@pytest.mark.parametrize(("hole", "length"), [(THROUGH, 24.0), (BLIND, 10.0)], ids=["through", "blind"])
def test_it_adds_a_cylinder_of_steel(hole: ExistingHole, length: float) -> None:
    cut = plug(hole, length)
    mass = 7.85e-3 * math.pi / 4.0 * hole.diameter_mm**2 * length
    told = effect_of(cut, counterweight=OWN, density_g_per_cm3=7.2, shop=SHOP)
    assert told.mass_g == pytest.approx(mass, rel=1e-12)
    assert told.unbalance_gmm == pytest.approx(mass * (hole.radius_mm or 0.0), rel=1e-12)
    assert told.z_mm == pytest.approx(50.0 if hole.through else 50.0 + 12.0 - 5.0)
    assert told.slug_mass_g is None
    start = cmath.rect(told.unbalance_gmm, math.radians(hole.angle_deg))
    # what is missing opposite of the hole: the plug alone puts it back
    report = verify(problem(OWN, -start), [cut])
    assert report.faults == ()
    assert report.heavy_metal_g == 0.0
    assert abs(report.residual_gmm[0]) < (1e-6 if hole.through else 0.03 * told.unbalance_gmm)


def test_the_search_plugs_before_it_takes_heavy_metal() -> None:
    told = effect_of(plug(THROUGH, 24.0), counterweight=OWN, density_g_per_cm3=7.2, shop=SHOP)
    asked = problem(OWN, -cmath.rect(told.unbalance_gmm, math.radians(186.0)))
    found = find_plan(asked, seconds=20.0)
    assert [planned.cut.kind for planned in found.cuts] == ["plug"]
    assert found.cost == pytest.approx(told.mass_g)
    assert verify(asked, [planned.cut for planned in found.cuts]).good
    # not allowed: only heavy metal is left
    strict = dataclasses.replace(OWN, cuts=("rim hole", "slug"))
    other = find_plan(problem(strict, asked.unbalance_gmm[0]), seconds=20.0)
    assert all(planned.cut.kind != "plug" for planned in other.cuts)


def test_rules_that_it_breaks() -> None:
    there = plug(THROUGH, 24.0)
    for cut, words in (
        (dataclasses.replace(there, radius_mm=60.0), "no open face hole at its place"),
        (plug(BLIND, 12.0), "more than the hole's 10 mm"),
        (dataclasses.replace(there, length_mm=None, through=False), "length"),
    ):
        assert any(words in text for text in verify(problem(OWN, 0j), [cut]).faults), words
    assert any("filled twice" in text for text in verify(problem(OWN, 0j), [there, there]).faults)
    strict = dataclasses.replace(OWN, cuts=("rim hole",))
    assert any("does not allow a plug" in text for text in verify(problem(strict, 0j), [there]).faults)


def test_a_plug_that_was_made_is_steel_in_the_hole(tmp_path: Path) -> None:
    job = load(FAN, tmp_path)
    shaft = dataclasses.replace(job.crankshaft, counterweights=(OWN,))
    after = with_made_cuts(shaft, [plug(THROUGH, 24.0)], shop=SHOP).counterweights[0]
    assert [hole.filled_density_g_per_cm3 for hole in after.existing] == [7.85, None]
    pairs = "\n".join(
        f"{key} = {value}" for key, value in cut_pairs(plug(BLIND, 10.0), units=job.units, shop=job.shop)
    )
    assert 'cut = "plug"' in pairs
    assert load(FAN + f"[[fixed_cuts]]\n{pairs}\n", tmp_path).fixed_cuts == (plug(BLIND, 10.0),)
