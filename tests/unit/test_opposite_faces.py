"""Blind holes and slugs opposite one another, slugs of several pieces: allowed where the shop says so, and only so."""

from __future__ import annotations

import dataclasses

import pytest

from geometry_profiles.shapes import fan
from planner.correction.candidates.blocks import build_blocks
from planner.correction.problem import CorrectionProblem, LimitRow
from planner.correction.search.find_plan import find_plan
from planner.correction.verify.verify_plan import verify
from planner.cuts.cut import Cut, Shop
from planner.frames import TwoPlanes
from planner.rotor.crankshaft import Counterweight, ExistingHole
from planner.rotor.vectors import vector_gmm

SHOP = Shop(
    drills_mm=(12.0,),
    allow=("face hole",),
    least_depth_mm=6.0,
    greatest_depth_mm=30.0,
    depth_step_mm=2.0,
    angle_step_deg=5.0,
    slug_radius_step_mm=4.0,
    slug_diameters_mm=(16.0,),
    slug_lengths_mm=(8.0, 5.0),
)
# narrow, so that holes beside one another find little room
NARROW = Counterweight(
    name="A",
    z_mm=100.0,
    angle_deg=0.0,
    thickness_mm=44.0,
    outline=fan(outer_radius_mm=80.0, half_angle_deg=17.0, inner_radius_mm=52.0),
    cuts=("face hole", "slug"),
)


def question(shop: Shop, amount: float = 1600.0, **changes) -> CorrectionProblem:
    return CorrectionProblem(
        unbalance_gmm=TwoPlanes(0.5 * vector_gmm(amount, 0.0), 0.5 * vector_gmm(amount, 0.0)),
        planes_z_mm=TwoPlanes(0.0, 200.0),
        limits=tuple(
            LimitRow(at=side, weight_1=1.0 - row, weight_2=float(row), tolerance_gmm=60.0)
            for row, side in enumerate(("left", "right"))
        ),
        counterweights=(dataclasses.replace(NARROW, **changes),),
        shop=shop,
        density_g_per_cm3=7.85,
    )


def hole(face, depth: float, angle: float = 0.0) -> Cut:
    return Cut(
        kind="face hole",
        counterweight="A",
        angle_deg=angle,
        diameter_mm=12.0,
        depth_shoulder_mm=depth,
        radius_mm=68.0,
        face=face,
    )


def test_opposite_holes_are_a_fault_unless_the_shop_allows_them() -> None:
    cuts = [hole("front", 14.0), hole("rear", 14.0)]
    assert verify(question(SHOP), cuts).faults
    allowed = dataclasses.replace(SHOP, opposite_face_holes=True)
    assert not verify(question(allowed), cuts).faults
    # 22 mm to the middle, less half a wall of 3 mm and a point of 3.6 mm: 16.9 mm; beyond it they may not
    assert verify(question(allowed), [hole("front", 18.0), hole("rear", 14.0)]).faults
    # from one face they are beside one another, whatever the shop says
    assert verify(question(allowed), [hole("front", 14.0), hole("front", 14.0, 5.0)]).faults


def test_an_old_hole_opposite_is_in_nobodys_way_only_then() -> None:
    old = ExistingHole(
        kind="face hole", angle_deg=0.0, diameter_mm=12.0, depth_shoulder_mm=12.0, radius_mm=68.0, face="rear"
    )
    new = [hole("front", 14.0)]
    assert verify(question(SHOP, existing=(old,)), new).faults
    allowed = dataclasses.replace(SHOP, opposite_face_holes=True)
    assert not verify(question(allowed, existing=(old,)), new).faults
    deep = dataclasses.replace(old, depth_shoulder_mm=30.0)
    assert verify(question(allowed, existing=(deep,)), new).faults


def test_the_search_uses_both_faces_and_its_plan_is_verified() -> None:
    allowed = dataclasses.replace(SHOP, opposite_face_holes=True)
    plain, both = (find_plan(question(shop), seconds=60.0) for shop in (SHOP, allowed))
    assert both.feasible
    assert verify(question(allowed), [each.cut for each in both.cuts]).good
    # what one face alone can do, both can
    assert not plain.feasible or len(both.cuts) <= len(plain.cuts)
    assert any(block.in_half == "rear" for block in build_blocks(question(allowed)))
    assert all(block.in_half is None for block in build_blocks(question(SHOP)))
    faces = {each.cut.face for each in both.cuts}
    assert faces == {"front", "rear"}


def test_slugs_of_stock_lengths_stand_on_one_another() -> None:
    shop = dataclasses.replace(SHOP, slug_stack=2)
    assert shop.stacks_mm() == {
        8.0: (8.0,),
        5.0: (5.0,),
        16.0: (8.0, 8.0),
        13.0: (8.0, 5.0),
        10.0: (5.0, 5.0),
    }
    assert set(SHOP.stacks_mm()) == {8.0, 5.0}
    slug = Cut(
        kind="slug",
        counterweight="A",
        angle_deg=180.0,
        diameter_mm=16.0,
        radius_mm=64.0,
        length_mm=13.0,
        face="rear",
    )
    turned = {"angle_deg": 180.0}
    assert any("13 mm long" in text for text in verify(question(SHOP, **turned), [slug]).faults)
    both = dataclasses.replace(shop, allow=("slug",))
    assert not any("long" in text for text in verify(question(both, **turned), [slug]).faults)


@pytest.mark.parametrize("face", ["front", "rear"])
def test_a_stacked_slug_acts_where_it_is(face) -> None:
    """Flush with its face: the middle of 13 mm lies 6.5 mm inside it; the bore's point takes a little from beyond."""
    shop = dataclasses.replace(SHOP, slug_stack=2, allow=("slug",))
    slug = Cut(
        kind="slug",
        counterweight="A",
        angle_deg=180.0,
        diameter_mm=16.0,
        radius_mm=64.0,
        length_mm=13.0,
        face=face,
    )
    from planner.cuts.effects import effect_of

    counterweight = dataclasses.replace(NARROW, angle_deg=180.0)
    effect = effect_of(slug, counterweight=counterweight, density_g_per_cm3=7.85, shop=shop)
    inward = 1.0 if face == "front" else -1.0
    assert (effect.z_mm - 100.0 + inward * 22.0) * inward == pytest.approx(6.5, abs=1.5)
