"""A hole drilled out with a wider drill: its effect, the search, the verification, the files; off unless the shop allows it."""

from __future__ import annotations

import dataclasses
import math
from pathlib import Path

import pytest

from geometry_profiles import rims
from geometry_profiles.shapes import fan
from planner.correction.candidates.blocks import build_blocks
from planner.correction.problem import CorrectionProblem, LimitRow
from planner.correction.search.find_plan import find_plan
from planner.correction.verify.verify_plan import verify
from planner.cuts.cut import Cut, Shop
from planner.cuts.effects import effect_of
from planner.errors import FileFaultsError, InputError
from planner.frames import TwoPlanes
from planner.jobfile.render import cut_pairs
from planner.rotor.crankshaft import Counterweight, ExistingHole
from planner.rotor.vectors import vector_gmm
from planner.steps.requested_cut import read_wish
from tests.unit.test_job_shapes import FAN, load

SHOP = Shop(
    drills_mm=(10.0, 14.0),
    allow=("rim hole", "face hole"),
    least_depth_mm=6.0,
    greatest_depth_mm=32.0,
    depth_step_mm=1.0,
    angle_step_deg=2.0,
    hole_oversize_mm=0.1,
    enlarge_holes=True,
)
RIM = ExistingHole(kind="rim hole", angle_deg=4.0, diameter_mm=10.1, depth_shoulder_mm=15.0)
FACE = ExistingHole(
    kind="face hole", angle_deg=351.0, diameter_mm=10.1, depth_shoulder_mm=9.0, radius_mm=60.0, face="rear"
)
FORMS = (None, rims.bevelled(outer_radius_mm=88.0, thickness_mm=30.0, front_width_mm=6.0, rear_width_mm=4.0))


def counterweight(rim=None, existing=(RIM, FACE)) -> Counterweight:
    return Counterweight(
        name="A",
        z_mm=100.0,
        angle_deg=0.0,
        thickness_mm=30.0,
        outline=fan(outer_radius_mm=88.0, half_angle_deg=50.0, inner_radius_mm=36.0),
        cuts=("rim hole", "face hole"),
        existing=existing,
        rim=rim,
    )


def question(cw: Counterweight, unbalance: complex = 0j, shop: Shop = SHOP) -> CorrectionProblem:
    return CorrectionProblem(
        unbalance_gmm=TwoPlanes(0.5 * unbalance, 0.5 * unbalance),
        planes_z_mm=TwoPlanes(0.0, 200.0),
        limits=tuple(
            LimitRow(at=side, weight_1=1.0 - row, weight_2=float(row), tolerance_gmm=40.0)
            for row, side in enumerate(("left", "right"))
        ),
        counterweights=(cw,),
        shop=shop,
        density_g_per_cm3=7.85,
    )


def larger(hole: ExistingHole, depth: float) -> Cut:
    return Cut(
        kind=hole.kind,
        counterweight="A",
        angle_deg=hole.angle_deg,
        diameter_mm=14.0,
        depth_shoulder_mm=depth,
        radius_mm=hole.radius_mm,
        face=hole.face,
        from_depth_mm=hole.depth_shoulder_mm,
        from_diameter_mm=10.1,
    )


@pytest.mark.parametrize("rim", FORMS)
@pytest.mark.parametrize("hole", [RIM, FACE])
@pytest.mark.parametrize("more", [0.0, 4.0])
def test_it_takes_the_difference_of_the_two_holes(rim, hole, more) -> None:
    """Two whole holes by the formulas, one by the verification's columns: three ways to one number."""
    cw = counterweight(rim, existing=(hole,))
    cut = larger(hole, (hole.depth_shoulder_mm or 0.0) + more)
    new = dataclasses.replace(cut, from_depth_mm=None, from_diameter_mm=None)
    old = dataclasses.replace(new, diameter_mm=10.0, depth_shoulder_mm=hole.depth_shoulder_mm)
    asked = {"counterweight": cw, "density_g_per_cm3": 7.85, "shop": SHOP}
    one, after, before = (effect_of(each, **asked) for each in (cut, new, old))
    assert one.mass_g == pytest.approx(after.mass_g - before.mass_g, rel=1e-12)
    assert one.unbalance_gmm == pytest.approx(after.unbalance_gmm - before.unbalance_gmm, rel=1e-12)
    report = verify(question(cw), [cut])
    assert not report.faults
    change = sum(report.residual_gmm)
    assert change == pytest.approx(vector_gmm(one.unbalance_gmm, hole.angle_deg), rel=1e-7)


@pytest.mark.parametrize("rim", FORMS)
def test_the_search_drills_a_hole_out_where_that_is_enough(rim) -> None:
    cw = counterweight(rim)
    wanted = effect_of(larger(RIM, 20.0), counterweight=cw, density_g_per_cm3=7.85, shop=SHOP)
    unbalance = -vector_gmm(wanted.unbalance_gmm, RIM.angle_deg)
    # nothing but the old holes: no room for new ones
    shop = dataclasses.replace(SHOP, least_wall_mm=2.0)
    outcome = find_plan(question(cw, unbalance, shop), seconds=60.0)
    assert outcome.feasible
    assert verify(question(cw, unbalance, shop), [each.cut for each in outcome.cuts]).good
    blocks = [
        block for block in build_blocks(question(cw, unbalance, shop)) if block.from_diameter_mm is not None
    ]
    assert {block.kind for block in blocks} == {"rim hole", "face hole"}
    # the very cut that was asked for is among them, with its amount
    rims_own = next(block for block in blocks if block.kind == "rim hole")
    at = next(k for k in range(rims_own.depth_mm.size) if rims_own.depth_mm[k] == 20.0)
    assert rims_own.amount_gmm[at] == pytest.approx(wanted.unbalance_gmm, rel=1e-9)
    assert rims_own.cut(at, 0, "A") == larger(RIM, 20.0)


def test_only_where_the_shop_allows_it_and_only_what_is_wider() -> None:
    off = dataclasses.replace(SHOP, enlarge_holes=False)
    assert all(block.from_diameter_mm is None for block in build_blocks(question(counterweight(), shop=off)))
    wrong = dataclasses.replace(larger(RIM, 20.0), from_diameter_mm=12.0)
    assert any("no open hole" in text for text in verify(question(counterweight()), [wrong]).faults)
    shallow = larger(RIM, 12.0)
    assert any("does not hold it" in text for text in verify(question(counterweight()), [shallow]).faults)
    with pytest.raises(InputError, match="can't end at 12"):
        effect_of(shallow, counterweight=counterweight(), density_g_per_cm3=7.85, shop=SHOP)


def test_a_file_keeps_it_and_refuses_what_is_not_wider(tmp_path: Path) -> None:
    job = load(FAN, tmp_path)
    cut = dataclasses.replace(larger(RIM, 20.0), radius_mm=None, angle_deg=184.0)
    text = "\n".join(f"{key} = {value}" for key, value in cut_pairs(cut, units=job.units, shop=job.shop))
    assert load(f"{FAN}[[fixed_cuts]]\n{text}\n", tmp_path).fixed_cuts == (cut,)
    with pytest.raises(FileFaultsError, match="wider drill than made it"):
        load(f"{FAN}[[fixed_cuts]]\n{text.replace('from_diameter = 10.1', 'from_diameter = 15')}\n", tmp_path)
    lines = "\n".join(line for line in text.splitlines() if not line.startswith("from_depth"))
    with pytest.raises(FileFaultsError, match="goes with from_depth"):
        load(f"{FAN}[[fixed_cuts]]\n{lines}\n", tmp_path)


def test_it_is_said_as_wider(tmp_path: Path) -> None:
    from planner.present.words import cut_words, deeper_words, how_words

    job = load(
        FAN + 'existing = [ { cut = "rim hole", angle = 184, diameter = 10.1, depth = 15 } ]\n', tmp_path
    )
    cut = dataclasses.replace(larger(RIM, 20.0), radius_mm=None, angle_deg=184.0)
    assert how_words(cut) == "wider"
    assert "the old hole on A, wider" in cut_words(job, cut)
    assert deeper_words(job, cut) == ", drilled out from 10.1 mm, 5.0 mm deeper"
    same = dataclasses.replace(cut, depth_shoulder_mm=15.0)
    assert deeper_words(job, same) == ", drilled out from 10.1 mm"


THROUGH = ExistingHole(kind="face hole", angle_deg=8.0, diameter_mm=10.1, radius_mm=62.0, through=True)


def test_a_through_hole_is_drilled_out_too(tmp_path: Path) -> None:
    """By hand: the ring between two cylinders, pi/4 (D^2 - d^2) t at the hole's radius."""
    cw = counterweight(existing=(THROUGH,))
    cut = Cut(
        kind="face hole", counterweight="A", angle_deg=8.0, diameter_mm=14.0, radius_mm=62.0, through=True,
        from_diameter_mm=10.1,
    )  # fmt: skip
    told = effect_of(cut, counterweight=cw, density_g_per_cm3=7.85, shop=SHOP)
    mass = 7.85e-3 * math.pi / 4.0 * (14.1**2 - 10.1**2) * 30.0
    assert told.mass_g == pytest.approx(-mass, rel=1e-9)
    assert told.unbalance_gmm == pytest.approx(-mass * 62.0, rel=1e-9)
    asked = question(cw, vector_gmm(mass * 62.0, 8.0))
    found = find_plan(asked, seconds=20.0)
    assert [planned.cut.from_diameter_mm for planned in found.cuts] == [10.1]
    assert found.cuts[0].cut.through
    report = verify(asked, [planned.cut for planned in found.cuts])
    assert report.good, report.faults
    assert abs(report.residual_gmm[0]) < 0.5
    elsewhere = dataclasses.replace(cut, radius_mm=64.0)
    assert any("no open through hole" in text for text in verify(asked, [elsewhere]).faults)
    assert verify(question(counterweight(existing=(RIM,))), [cut]).faults
    job = load(FAN, tmp_path)
    pairs = dict(cut_pairs(cut, units=job.units, shop=job.shop))
    assert pairs["from_diameter"] == "10.1"
    assert pairs["through"] == "true"
    lines = "\n".join(f"{key} = {value}" for key, value in pairs.items())
    assert load(FAN + f"[[fixed_cuts]]\n{lines}\n", tmp_path).fixed_cuts == (cut,)
    with pytest.raises(FileFaultsError, match="a wider drill than made it"):
        load(
            FAN + f"[[fixed_cuts]]\n{lines}\n".replace("from_diameter = 10.1", "from_diameter = 15"), tmp_path
        )


@pytest.mark.parametrize(
    ("wish", "words"),
    [
        ("old hole at 8 on A drilled out to 14 mm", ""),
        ("old hole at 4 on A drilled out to 14 mm", ""),
        ("old hole at 4 on A drilled out to 14 mm, depth 20", ""),
        ("old hole at 4 on A drilled out to 9 mm", "wide already"),
        ("old hole at 8 on A drilled out to 14 mm, depth 20", "it has no depth"),
        ("old hole at 40 on A drilled out to 14 mm", "drilled out wider"),
    ],
)
def test_a_hole_drilled_out_can_be_wished_for(wish: str, words: str, tmp_path: Path) -> None:
    holes = (
        'existing = [ { cut = "face hole", angle = 8, diameter = 10, radius = 62, through = true }, '
        '{ cut = "rim hole", angle = 4, diameter = 10, depth = 15 } ]\n'
    )
    spin = "[[spins]]\nbobs = 1700\nleft = { amount = 900, angle = 6 }\nright = { amount = 10, angle = 6 }\n"
    limit = "[tolerance]\nleft = 60\nright = 60\n"
    job = load(FAN.replace("\n", "\n" + holes) + limit + spin, tmp_path)
    job = dataclasses.replace(
        job,
        crankshaft=dataclasses.replace(
            job.crankshaft,
            counterweights=tuple(
                dataclasses.replace(each, angle_deg=0.0) for each in job.crankshaft.counterweights
            ),
        ),
    )
    if words:
        with pytest.raises(InputError, match=words):
            read_wish(wish, job)
        return
    cut = read_wish(wish, job).cut
    assert cut.from_diameter_mm == 10.0
    assert cut.diameter_mm == 14.0
    assert cut.through == ("at 8" in wish)
    if not cut.through:
        assert cut.from_depth_mm == 15.0
        assert cut.depth_shoulder_mm == (20.0 if "depth" in wish else 15.0)
