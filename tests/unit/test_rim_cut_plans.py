"""Rims turned, flats and bevels as cuts of a plan: what they do by two routes, where they fit, files, entering, papers.

All jobs are invented.  Amounts are checked by integrals of their own kind here (polar sums of ring sectors, the segment's
integral in Cartesian coordinates), places by polygons.
"""

from __future__ import annotations

import cmath
import dataclasses
import itertools
import math
import random

import numpy as np
import pytest

from geometry_profiles.rims import bevelled, cylindrical, tapered
from geometry_profiles.shapes import fan, half_disc
from planner.correction.candidates.blocks import build_blocks
from planner.correction.problem import CorrectionProblem
from planner.correction.search.find_plan import find_plan
from planner.correction.verify.verify_plan import verify, weigh
from planner.cuts.cut import Cut, Shop
from planner.cuts.effects import effect_of
from planner.errors import InputError
from planner.frames import ShaftAngle, TwoPlanes
from planner.rotor.crankshaft import RIM_CUTS, Counterweight, CutKind, ExistingHole, KeepOut, OilDrilling
from planner.rotor.limits import LimitRow

RIM = 88.0
SHOP = Shop(drills_mm=(12.0, 16.0), heavy_metal="never")
LIMITS = (
    LimitRow(at="left", weight_1=1.0, weight_2=0.0, tolerance_gmm=60.0),
    LimitRow(at="right", weight_1=0.0, weight_2=1.0, tolerance_gmm=60.0),
)


def counterweight(name: str = "A", z_mm: float = 50.0, angle: float = 180.0, **more: object) -> Counterweight:
    values: dict[str, object] = {
        "outline": fan(outer_radius_mm=RIM, half_angle_deg=58.0, inner_radius_mm=36.0),
        "cuts": RIM_CUTS,
        **more,
    }
    return Counterweight(
        name=name,
        z_mm=z_mm,
        angle_deg=ShaftAngle(angle),
        thickness_mm=24.0,
        **values,  # type: ignore[arg-type]
    )


def problem(
    *counterweights: Counterweight, left: complex = 0j, right: complex = 0j, **more: object
) -> CorrectionProblem:
    values: dict[str, object] = {"shop": SHOP, **more}
    return CorrectionProblem(
        unbalance_gmm=TwoPlanes(left, right),
        planes_z_mm=TwoPlanes(50.0, 450.0),
        limits=LIMITS,
        counterweights=counterweights,
        density_g_per_cm3=7.85,
        **values,  # type: ignore[arg-type]
    )


def rim_cut(
    kind: CutKind, *, off: float = 2.0, sector: float = 60.0, angle: float = 180.0, **more: object
) -> Cut:
    return Cut(
        kind=kind,
        counterweight="A",
        angle_deg=ShaftAngle(angle),
        diameter_mm=0.0,
        depth_shoulder_mm=off,
        sector_deg=None if kind == "flat" else sector,
        slope_deg=45.0 if kind == "bevel" else None,
        **more,  # type: ignore[arg-type]
    )


def by_cells(cut: Cut, own: Counterweight) -> tuple[float, float]:
    """Volume and first moment by a sum over cells of a fine grid in r, angle and s."""
    form, off = own.rim_form(), cut.depth_shoulder_mm or 0.0
    low = form.greatest_radius_mm - off
    half = math.radians(0.5 * cut.sector_deg) if cut.sector_deg else math.acos(low / form.greatest_radius_mm)
    n = 220
    volume = moment = 0.0
    turn = half * (np.arange(n) + 0.5) / n
    for s in own.thickness_mm * ((np.arange(n) + 0.5) / n - 0.5):
        rim = form.radius_mm(float(s))
        floor = np.full(n, low)
        if cut.kind == "flat":
            floor = low / np.cos(turn)
        elif cut.kind == "bevel":
            into = off - (s + 0.5 * own.thickness_mm if cut.face == "front" else 0.5 * own.thickness_mm - s)
            floor = np.full(n, rim - into)
        floor = np.minimum(floor, rim)
        volume += float(np.sum(0.5 * (rim**2 - floor**2)))
        moment += float(np.sum((rim**3 - floor**3) / 3.0 * np.cos(turn)))
    scale = 2.0 * half / n * own.thickness_mm / n
    return volume * scale, moment * scale


@pytest.mark.parametrize("kind", RIM_CUTS)
@pytest.mark.parametrize("off", [0.4, 3.0])
def test_what_they_do_by_three_routes(kind: CutKind, off: float) -> None:
    own = counterweight()
    cut = rim_cut(kind, off=off)
    told = effect_of(cut, counterweight=own, density_g_per_cm3=7.85, shop=SHOP)
    weighed = weigh(cut, own, problem=problem(own))
    assert weighed.unbalance_gmm == pytest.approx(told.unbalance_gmm, rel=1e-9)
    assert weighed.mass_g == pytest.approx(told.mass_g, rel=1e-9)
    assert weighed.z_mm == pytest.approx(told.z_mm, abs=1e-7)
    volume, moment = by_cells(cut, own)
    # a bevel's cells end in steps across the thickness
    assert told.mass_g == pytest.approx(-7.85e-3 * volume, rel=0.03 if kind == "bevel" else 2e-5)
    assert told.unbalance_gmm == pytest.approx(-7.85e-3 * moment, rel=0.03 if kind == "bevel" else 2e-5)
    if kind == "bevel":
        assert told.z_mm == pytest.approx(50.0 - 12.0 + off / 3.0, abs=0.02 * off)


@pytest.mark.parametrize(
    "form",
    [
        bevelled(
            outer_radius_mm=RIM, thickness_mm=24.0, front_width_mm=4.0, rear_width_mm=2.0, rear_slope_deg=30.0
        ),
        tapered(outer_radius_mm=86.0, thickness_mm=24.0, taper_deg=8.0),
        cylindrical(outer_radius_mm=RIM, thickness_mm=24.0),
    ],
    ids=["bevelled", "tapered", "plain"],
)
@pytest.mark.parametrize("kind", ["rim turning", "flat"])
def test_in_rims_of_any_form(form: object, kind: CutKind) -> None:
    own = counterweight(rim=form)
    for off, sector in itertools.product((0.7, 3.1, 5.5), (30.0, 100.0)):
        cut = rim_cut(kind, off=off, sector=sector)
        told = effect_of(cut, counterweight=own, density_g_per_cm3=7.85, shop=SHOP)
        weighed = weigh(cut, own, problem=problem(own))
        assert weighed.unbalance_gmm == pytest.approx(told.unbalance_gmm, rel=1e-7)
        assert weighed.z_mm == pytest.approx(told.z_mm, abs=1e-5)


def test_turning_alone_balances_and_is_verified() -> None:
    front, rear = counterweight("A", 50.0, 180.0), counterweight("B", 450.0, 10.0)
    asked = problem(front, rear, left=cmath.rect(3480.0, math.radians(190.0)), right=cmath.rect(2900.0, 0.3))
    found = find_plan(asked, seconds=20.0)
    assert found.feasible
    cuts = [planned.cut for planned in found.cuts]
    assert len(cuts) == 2
    assert all(cut.kind in RIM_CUTS for cut in cuts)
    report = verify(asked, cuts)
    assert report.good, report.faults
    # the residual by the ring sector's formula of any handbook, where the plan turned
    left, right = asked.unbalance_gmm
    for cut in cuts:
        if cut.kind != "rim turning":
            continue
        low = RIM - (cut.depth_shoulder_mm or 0.0)
        moment = 2.0 / 3.0 * math.sin(math.radians(0.5 * (cut.sector_deg or 0.0))) * (RIM**3 - low**3) * 24.0
        vector = -7.85e-3 * moment * cmath.exp(1j * math.radians(cut.angle_deg))
        if cut.counterweight == "A":
            left += vector
        else:
            right += vector
    if all(cut.kind == "rim turning" for cut in cuts):
        assert abs(left) == pytest.approx(abs(report.residual_gmm[0]), abs=1e-4)
        assert abs(right) == pytest.approx(abs(report.residual_gmm[1]), abs=1e-4)


def test_a_single_cut_is_the_best_of_all() -> None:
    """All settings and angles tried by hand: no single cut comes nearer to the limits than the plan's."""
    own = counterweight("A", 50.0, 180.0, cuts=("rim turning", "flat"))
    start = cmath.rect(2210.0, math.radians(171.0))
    asked = problem(own, left=start)
    found = find_plan(asked, seconds=20.0)
    assert found.feasible
    assert len(found.cuts) == 1
    reached = abs(verify(asked, [found.cuts[0].cut]).residual_gmm[0])
    best = math.inf
    for off in np.round(0.1 * np.arange(1, 41), 9):
        low = RIM - off
        flat = 2.0 / 3.0 * (RIM**2 - low**2) ** 1.5
        rings = [
            2.0 / 3.0 * math.sin(math.radians(0.5 * b)) * (RIM**3 - low**3) for b in SHOP.rim_cut_sectors_deg
        ]
        for moment, angle in itertools.product([flat, *rings], range(140, 221)):
            best = min(best, abs(start - 7.85e-3 * 24.0 * moment * cmath.exp(1j * math.radians(angle))))
    # closer than a tenth of the limit counts as equal
    assert reached <= max(best, 0.1 * 60.0) + 1e-6


SURROUNDINGS = {
    "nothing": counterweight(),
    "rim hole": counterweight(
        existing=(
            ExistingHole(
                kind="rim hole", angle_deg=ShaftAngle(160.0), diameter_mm=12.0, depth_shoulder_mm=20.0
            ),
        )
    ),
    "face hole near the rim": counterweight(
        existing=(
            ExistingHole(
                kind="face hole", angle_deg=ShaftAngle(190.0), diameter_mm=14.0, radius_mm=77.0, through=True
            ),
        )
    ),
    "keep-out": counterweight(
        keep_outs=(
            KeepOut(
                from_angle_deg=ShaftAngle(195.0),
                to_angle_deg=ShaftAngle(205.0),
                from_radius_mm=80.0,
                to_radius_mm=86.0,
            ),
        )
    ),
    "half disc": counterweight(
        outline=half_disc(outer_radius_mm=RIM, flat_offset_mm=0.0, inner_radius_mm=36.0)
    ),
}


@pytest.mark.parametrize("around", SURROUNDINGS)
@pytest.mark.parametrize("kind", RIM_CUTS)
def test_what_the_search_allows_the_verification_allows(around: str, kind: CutKind) -> None:
    """And of what it does not allow most is really too near: no more than the hulls' slack is given away."""
    own = dataclasses.replace(SURROUNDINGS[around], cuts=(kind,))
    oil = OilDrilling(
        from_z_mm=40.0, from_radius_mm=0.0, from_angle_deg=ShaftAngle(0.0),
        to_z_mm=60.0, to_radius_mm=86.0, to_angle_deg=ShaftAngle(140.0), diameter_mm=6.0, clearance_mm=3.0,
    )  # fmt: skip
    asked = problem(own, oil_drillings=(oil,) if around == "nothing" else ())
    blocks = build_blocks(asked)
    assert {block.kind for block in blocks} == {kind}
    dice = random.Random(7)
    refused = wrongly = 0
    for block in blocks:
        for _ in range(60):
            setting, angle = dice.randrange(block.amount_gmm.size), dice.randrange(block.relative_deg.size)
            cut = block.cut(setting, angle, "A")
            report = verify(asked, [cut])
            if block.legal[block.section_of[setting], angle]:
                assert report.faults == (), (cut, report.faults)
                told = effect_of(cut, counterweight=own, density_g_per_cm3=7.85, shop=SHOP)
                assert block.amount_gmm[setting] == pytest.approx(told.unbalance_gmm, rel=1e-12)
            else:
                refused += 1
                wrongly += not report.faults
    assert wrongly <= max(2, 0.2 * refused)


def test_other_new_cuts_stay_out_of_the_sector() -> None:
    own = counterweight("A", 50.0, 180.0, cuts=("rim turning", "rim hole"))
    asked = problem(own, left=cmath.rect(6000.0, math.radians(180.0)))
    hole = Cut(
        kind="rim hole",
        counterweight="A",
        angle_deg=ShaftAngle(190.0),
        diameter_mm=12.0,
        depth_shoulder_mm=10.0,
    )
    turned = rim_cut("rim turning", off=1.0, sector=60.0)
    faults = verify(asked, [turned, hole]).faults
    assert len(faults) == 1
    assert "3 mm is needed" in faults[0]
    # beside it: 30 degrees of sector, the hole's half and 3 mm of wall at the rim
    beside = dataclasses.replace(hole, angle_deg=ShaftAngle(180.0 + 30.0 + math.degrees(9.2 / RIM)))
    assert not [text for text in verify(asked, [turned, beside]).faults if "needed" in text]
    found = find_plan(asked, seconds=20.0)
    if found.feasible:
        assert verify(asked, [each.cut for each in found.cuts]).good


@pytest.mark.parametrize(
    ("cut", "words"),
    [
        (rim_cut("rim turning", off=2.05), "not a whole multiple of 0.1 mm"),
        (rim_cut("rim turning", off=5.0), "more than 4 mm"),
        (rim_cut("rim turning", sector=50.0), "is none of the shop's"),
        (rim_cut("rim turning", angle=180.5), "not on the dial's grid"),
        (rim_cut("rim turning", sector=90.0, angle=200.0), "past the end of the rim"),
        (rim_cut("flat", off=89.0), "its depth is 89"),
        (dataclasses.replace(rim_cut("bevel"), slope_deg=30.0), "its slope is 30 degrees"),
        (dataclasses.replace(rim_cut("bevel"), sector_deg=None), "its sector is not given"),
    ],
)
def test_broken_rules_are_named(cut: Cut, words: str) -> None:
    assert any(words in text for text in verify(problem(counterweight()), [cut]).faults)


def test_not_allowed_unless_said() -> None:
    own = counterweight(cuts=("rim hole",))
    assert any("does not allow a flat" in text for text in verify(problem(own), [rim_cut("flat")]).faults)
    assert all(block.kind == "rim hole" for block in build_blocks(problem(own)))
    bare = dataclasses.replace(
        own, outline=dataclasses.replace(own.outline, rim_radius_mm=None, rim_arcs_deg=())
    )
    with pytest.raises(InputError, match="has no rim for a flat"):
        effect_of(rim_cut("flat"), counterweight=bare, density_g_per_cm3=7.85, shop=SHOP)
