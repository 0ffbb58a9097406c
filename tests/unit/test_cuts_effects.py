"""From the record of a cut to its signed effect, and what is refused there."""

from __future__ import annotations

from dataclasses import replace

import pytest

from geometry_profiles.shapes import fan, points
from planner.cuts.cut import Cut, Shop
from planner.cuts.effects import effect_of
from planner.cuts.face_hole import face_hole
from planner.cuts.rim_hole import rim_hole
from planner.errors import InputError
from planner.rotor.crankshaft import Counterweight

SHOP = Shop(drills_mm=(14.0,), slug_density_g_per_cm3=17.5)
FAN = Counterweight(
    name="A",
    z_mm=52.0,
    angle_deg=180.0,
    thickness_mm=24.0,
    outline=fan(outer_radius_mm=88.0, half_angle_deg=58.0, inner_radius_mm=36.0),
    cuts=("rim hole", "face hole", "slug", "fill"),
)
RIM = Cut(kind="rim hole", counterweight="A", angle_deg=170.0, diameter_mm=14.0, depth_shoulder_mm=20.0)
FACE = Cut(
    kind="face hole",
    counterweight="A",
    angle_deg=170.0,
    diameter_mm=14.0,
    depth_shoulder_mm=12.0,
    radius_mm=70.0,
)
SLUG = Cut(kind="slug", counterweight="A", angle_deg=170.0, diameter_mm=20.0, radius_mm=70.0, through=True)
FILL = replace(SLUG, kind="fill", through=False, length_mm=10.0)


def effect(cut: Cut, counterweight: Counterweight = FAN, shop: Shop = SHOP):
    return effect_of(cut, counterweight=counterweight, density_g_per_cm3=7.85, shop=shop)


def test_rim_hole_takes_off_at_the_counterweights_middle() -> None:
    solid = rim_hole(outer_radius_mm=88.0, diameter_mm=14.0, depth_shoulder_mm=20.0)
    found = effect(RIM)
    assert found.mass_g == -solid.mass_g(7.85)
    assert found.unbalance_gmm == -solid.unbalance_gmm(7.85) < 0
    assert found.z_mm == 52.0
    assert found.slug_mass_g is None
    assert found.bored_mass_g is None


def test_holes_come_out_larger_than_the_drill_but_slug_bores_do_not() -> None:
    wide = replace(SHOP, hole_oversize_mm=0.1)
    for cut, solid in (
        (RIM, rim_hole(outer_radius_mm=88.0, diameter_mm=14.1, depth_shoulder_mm=20.0)),
        (FACE, face_hole(radius_mm=70.0, diameter_mm=14.1, depth_shoulder_mm=12.0)),
    ):
        assert effect(cut, shop=wide).mass_g == pytest.approx(-solid.mass_g(7.85), rel=1e-13)
    assert effect(SLUG, shop=wide) == effect(SLUG)


def test_the_shops_point_angle_counts() -> None:
    flat = replace(SHOP, point_angle_deg=180.0)
    assert effect(RIM, shop=flat).mass_g > effect(RIM).mass_g
    assert effect(FACE, shop=flat).mass_g > effect(FACE).mass_g
    part = replace(SLUG, through=False, length_mm=10.0)
    assert effect(part, shop=flat).mass_g > effect(part).mass_g  # no empty cone


def test_blind_cuts_act_nearer_to_their_face() -> None:
    """Front face at z - thickness/2; front and rear are mirrored about the middle."""
    part = replace(SLUG, through=False, length_mm=10.0)
    for cut in (FACE, part, FILL):
        front, rear = effect(cut), effect(replace(cut, face="rear"))
        assert 52.0 - 12.0 < front.z_mm < 52.0 < rear.z_mm < 52.0 + 12.0
        assert front.z_mm + rear.z_mm == pytest.approx(2 * 52.0, rel=1e-13)
        assert (front.mass_g, front.unbalance_gmm) == (rear.mass_g, rear.unbalance_gmm)
    assert effect(FILL).z_mm == pytest.approx(52.0 - 12.0 + 5.0)


def test_through_cuts_act_in_the_middle() -> None:
    assert effect(replace(FACE, through=True, depth_shoulder_mm=None)).z_mm == pytest.approx(52.0)
    assert effect(SLUG).z_mm == pytest.approx(52.0)
    assert effect(replace(FILL, length_mm=None, through=True)).z_mm == pytest.approx(52.0)


def test_slug_has_its_parts_and_their_sum() -> None:
    found = effect(SLUG)
    assert found.slug_mass_g is not None
    assert found.bored_mass_g is not None
    assert found.slug_mass_g > 0 > found.bored_mass_g
    assert found.mass_g == pytest.approx(found.slug_mass_g + found.bored_mass_g, rel=1e-13)
    assert found.unbalance_gmm == pytest.approx(70.0 * found.mass_g, rel=1e-13)
    assert found.slug_mass_g / -found.bored_mass_g == pytest.approx(17.5 / 7.85, rel=1e-13)


def test_fill_bores_nothing() -> None:
    found = effect(FILL)
    assert found.bored_mass_g is None
    assert found.mass_g == found.slug_mass_g
    assert found.unbalance_gmm == pytest.approx(70.0 * found.mass_g, rel=1e-13)


def test_a_slug_of_full_length_is_a_through_slug() -> None:
    whole = effect(replace(SLUG, through=False, length_mm=24.0))
    assert (whole.mass_g, whole.unbalance_gmm) == pytest.approx(
        (effect(SLUG).mass_g, effect(SLUG).unbalance_gmm)
    )
    assert whole.z_mm == pytest.approx(52.0)


def test_a_face_hole_that_breaks_out_counts_only_inside_the_rim() -> None:
    out = effect(replace(FACE, radius_mm=85.0, through=True))
    assert out.mass_g > -7.85e-3 * 3.14159 * 49.0 * 24.0 * 0.95


def test_what_effect_of_refuses() -> None:
    no_rim = replace(
        FAN, outline=points([(30.0, -20.0), (80.0, -20.0), (80.0, 20.0), (30.0, 20.0)], inner_radius_mm=10.0)
    )
    cases = [
        (RIM, no_rim, "counterweight A has no rim for a rim hole"),
        (
            replace(RIM, diameter_mm=25.0),
            FAN,
            "a 25 mm rim hole is wider than counterweight A is thick, 24 mm",
        ),
        (replace(RIM, depth_shoulder_mm=None), FAN, "the rim hole in counterweight A has no depth"),
        (replace(FACE, radius_mm=None), FAN, "the face hole in counterweight A has no radius"),
        (replace(FACE, depth_shoulder_mm=None), FAN, "the face hole in counterweight A has no depth"),
        (replace(SLUG, radius_mm=80.0), FAN, "a 20 mm slug at radius 80 mm reaches the rim .* at 88 mm"),
        (replace(SLUG, through=False), FAN, "the slug in counterweight A has no length"),
        (replace(SLUG, length_mm=20.0), FAN, "a slug 20 mm long does not fill the 24 mm of counterweight A"),
        (replace(SLUG, length_mm=30.0), FAN, "a slug 30 mm long does not fit a counterweight 24 mm thick"),
        (replace(FILL, length_mm=-1.0), FAN, "length is -1 mm"),
    ]
    for cut, counterweight, message in cases:
        with pytest.raises(InputError, match=message):
            effect(cut, counterweight)
