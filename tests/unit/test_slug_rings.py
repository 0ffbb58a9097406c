"""The ring of metal around a slug, against distances worked out by hand.  All sizes invented."""

from __future__ import annotations

import dataclasses
import math

import pytest

from geometry_profiles.shapes import fan
from planner.cuts.cut import Cut, Shop
from planner.cuts.retention import bore_hoop_stress_mpa, ligament_stress_mpa
from planner.rotor.crankshaft import Counterweight, ExistingHole
from planner.steps.slug_rings import ring_about

SHOP = Shop(drills_mm=(16.0,), slug_diameters_mm=(20.0,), hole_oversize_mm=0.2)
FAN = Counterweight(
    name="A",
    z_mm=20.0,
    angle_deg=100.0,
    thickness_mm=24.0,
    outline=fan(outer_radius_mm=88.0, half_angle_deg=50.0, inner_radius_mm=30.0),
    cuts=("rim hole", "slug", "fill"),
)


def slug(angle_deg: float, radius_mm: float, diameter_mm: float = 20.0) -> Cut:
    return Cut(
        kind="slug",
        counterweight="A",
        angle_deg=angle_deg,
        diameter_mm=diameter_mm,
        radius_mm=radius_mm,
        length_mm=24.0,
        through=True,
    )


def test_to_the_rim_and_to_the_flank() -> None:
    centred = ring_about(FAN, slug(100.0, 70.0), others=(), shop=SHOP)
    assert centred.diameter_mm == pytest.approx(2 * 18.0, abs=0.1)
    assert centred.ends_at == "the rim"
    # 12 degrees from the flank: a ray through the axis, 70 sin 12 away
    aside = ring_about(FAN, slug(138.0, 70.0), others=(), shop=SHOP)
    assert aside.diameter_mm == pytest.approx(2 * 70.0 * math.sin(math.radians(12.0)), rel=1e-6)
    assert aside.ends_at == "the flank"
    assert aside.ligament_mm(20.0) == pytest.approx(70.0 * math.sin(math.radians(12.0)) - 10.0)


def test_the_body_of_the_crankshaft_is_metal() -> None:
    """A slug near the inner radius has the web behind it: the flank, not the inner arc, is the nearest surface."""
    deep = ring_about(FAN, slug(100.0, 36.0), others=(), shop=SHOP)
    assert deep.diameter_mm > 2 * 6.0
    assert deep.ends_at == "the flank"


def test_neighbouring_bores_count_old_or_planned() -> None:
    one, other = slug(90.0, 62.0), slug(110.0, 62.0, 18.0)
    apart = 2 * 62.0 * math.sin(math.radians(10.0))
    ring = ring_about(FAN, one, others=(other,), shop=SHOP)
    assert ring.diameter_mm == pytest.approx(2 * (apart - 9.0))
    assert ring.ends_at == "the slug of this plan beside it"
    hole = ExistingHole(
        kind="face hole", angle_deg=110.0, diameter_mm=18.0, depth_shoulder_mm=12.0, radius_mm=62.0
    )
    beside = ring_about(dataclasses.replace(FAN, existing=(hole,)), one, others=(), shop=SHOP)
    assert beside.diameter_mm == pytest.approx(ring.diameter_mm)
    assert "old face hole" in beside.ends_at
    # the hole that a fill goes into is its own
    fill = dataclasses.replace(one, kind="fill", angle_deg=110.0, diameter_mm=18.0)
    filled = ring_about(dataclasses.replace(FAN, existing=(hole,)), fill, others=(), shop=SHOP)
    assert filled.ends_at == "the rim"


def test_a_rim_hole_beside_it() -> None:
    """Its wall is a line parallel to its axis: half of 16.2 away from it; the slug sits 14 degrees aside."""
    rim = Cut(kind="rim hole", counterweight="A", angle_deg=114.0, diameter_mm=16.0, depth_shoulder_mm=40.0)
    ring = ring_about(FAN, slug(100.0, 66.0), others=(rim,), shop=SHOP)
    assert ring.diameter_mm == pytest.approx(2 * (66.0 * math.sin(math.radians(14.0)) - 8.1))
    assert ring.ends_at == "the rim hole of this plan beside it"


@pytest.mark.parametrize("ratio", [1.1, 1.5, 2.0, 4.0])
def test_the_hoop_stress_carries_half_the_ring(ratio: float) -> None:
    """Equilibrium of half a ring: the pressure on the bore's projection is carried by the hoop stress of both walls.

    Lame's distribution from the bore's stress and the pressure: A + B/r^2 with radial -p at the bore, 0 outside.
    """
    p, a = 50.0, 10.0
    b = ratio * a
    at_bore = bore_hoop_stress_mpa(pressure_mpa=p, diameter_mm=2 * a, boss_diameter_mm=2 * b)
    # radial A - B/r^2 = -p and hoop A + B/r^2 = at_bore at r = a
    mean, part = (at_bore - p) / 2.0, (at_bore + p) / 2.0 * a**2
    steps = 20_000
    width = (b - a) / steps
    carried = sum(mean + part / (a + (k + 0.5) * width) ** 2 for k in range(steps)) * width
    assert carried == pytest.approx(p * a, rel=1e-6)
    assert mean - part / b**2 == pytest.approx(0.0, abs=1e-9)


def test_the_equivalent_stress_by_its_principal_differences() -> None:
    """Distortion energy from the three principal stresses, written out: hoop, radial, and none along the bore."""
    p = 40.0
    hoop = p * (30.0**2 + 20.0**2) / (30.0**2 - 20.0**2)
    differences = (hoop + p) ** 2 + p**2 + hoop**2
    found = ligament_stress_mpa(pressure_mpa=p, diameter_mm=20.0, boss_diameter_mm=30.0)
    assert found == pytest.approx(math.sqrt(differences / 2.0))
