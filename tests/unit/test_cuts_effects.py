"""From the record of a cut to its signed effect, and what is refused there."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from geometry_profiles.shapes import fan, points
from planner.cuts.cut import Cut, Shop
from planner.cuts.effects import breaks_out, effect_of
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


def _beside_by_columns(
    depth_mm: float, *, beside_mm: float, diameter_mm: float = 14.0
) -> tuple[float, float, float]:
    """Volume and first moments (radial, across) of a flat-bottomed hole beside the radius, summed column by column.

    A column at y stands on the plane of the shoulder and reaches to the rim, ``sqrt(88^2 - y^2)``.
    """
    a = 0.5 * diameter_mm
    r, turn = np.meshgrid(
        (np.arange(400) + 0.5) / 400 * a, (np.arange(720) + 0.5) / 720 * 2 * np.pi, indexing="ij"
    )
    y = beside_mm + r * np.cos(turn)
    cell = r * (a / 400) * (2 * np.pi / 720)
    shoulder = math.sqrt(88.0**2 - beside_mm**2) - depth_mm
    top = np.sqrt(88.0**2 - y**2)
    return (
        float(np.sum(cell * (top - shoulder))),
        float(np.sum(cell * 0.5 * (top**2 - shoulder**2))),
        float(np.sum(cell * y * (top - shoulder))),
    )


FLAT_SHOP = replace(SHOP, point_angle_deg=180.0)


@pytest.mark.parametrize("beside", [12.0, -12.0])
def test_a_hole_beside_the_radius_pulls_to_its_side(beside: float) -> None:
    volume, radial, across = _beside_by_columns(20.0, beside_mm=beside)
    found = effect(replace(RIM, beside_mm=beside), shop=FLAT_SHOP)
    assert found.mass_g == pytest.approx(-volume * 7.85e-3, rel=1e-5)
    assert found.unbalance_gmm == pytest.approx(-math.hypot(radial, across) * 7.85e-3, rel=1e-5)
    assert found.turned_deg == pytest.approx(math.degrees(math.atan2(across, radial)), rel=1e-5)


def test_a_row_beside_the_middle_is_not_turned() -> None:
    """Off the middle along the shaft, and tilted along it: still at its own angle, but acting where it is."""
    off = effect(replace(RIM, from_middle_mm=-4.0))
    assert off.turned_deg == 0.0
    assert off.z_mm == pytest.approx(48.0)
    assert effect(replace(RIM, tilt_deg=8.0)).turned_deg == 0.0
    assert effect(replace(RIM, tilt_deg=8.0)).z_mm > 52.0


def test_a_hole_beside_the_radius_made_deeper_is_the_difference_as_vectors() -> None:
    """The two resultants point apart; what is added points farther to the side, because deeper metal is nearer to the shaft."""
    first = _beside_by_columns(12.0, beside_mm=12.0)
    whole = _beside_by_columns(20.0, beside_mm=12.0)
    volume, radial, across = (after - before for before, after in zip(first, whole, strict=True))
    found = effect(replace(RIM, beside_mm=12.0, from_depth_mm=12.0), shop=FLAT_SHOP)
    assert found.mass_g == pytest.approx(-volume * 7.85e-3, rel=1e-5)
    assert found.unbalance_gmm == pytest.approx(-math.hypot(radial, across) * 7.85e-3, rel=1e-5)
    assert found.turned_deg == pytest.approx(math.degrees(math.atan2(across, radial)), rel=1e-5)
    assert found.turned_deg > effect(replace(RIM, beside_mm=12.0), shop=FLAT_SHOP).turned_deg
    assert found.z_mm == pytest.approx(52.0)


def test_a_tilted_hole_beside_the_radius_made_deeper_acts_where_its_new_metal_is() -> None:
    """Force and moment of first pass and deepening are those of the whole hole.

    Each acts at one place, so that the little moment that stands square to a resultant is lost: 2 parts in 10,000 here.
    """
    cut = replace(RIM, beside_mm=12.0, tilt_deg=10.0)
    first = effect(replace(cut, depth_shoulder_mm=12.0))
    rest, whole = effect(replace(cut, from_depth_mm=12.0)), effect(cut)
    assert first.vector_gmm(0.0) + rest.vector_gmm(0.0) == pytest.approx(whole.vector_gmm(0.0), rel=1e-9)
    moment = first.vector_gmm(0.0) * first.z_mm + rest.vector_gmm(0.0) * rest.z_mm
    assert moment == pytest.approx(whole.vector_gmm(0.0) * whole.z_mm, rel=5e-4)
    # tilted with its tip to the rear: deeper is farther to the rear
    assert first.z_mm < whole.z_mm < rest.z_mm


OPEN = replace(FAN, break_outs=True)


@pytest.mark.parametrize(
    ("from_middle", "oversize", "out"),
    # 24 mm thick, a hole of 14: up to 5 mm off the middle it stays inside; the drill that cuts 0.2 wide comes out before
    [(4.95, 0.0, False), (-4.95, 0.0, False), (4.95, 0.2, True), (-4.95, 0.2, True), (5.05, 0.0, True)],
)
def test_a_wide_cutting_drill_comes_out_at_the_face_earlier(
    from_middle: float, oversize: float, out: bool
) -> None:
    cut = replace(RIM, from_middle_mm=from_middle)
    shop = replace(SHOP, hole_oversize_mm=oversize)
    assert breaks_out(cut, OPEN, shop) == out
    assert not breaks_out(cut, FAN, shop)


@pytest.mark.parametrize(
    ("angle", "out"),
    # the flank is 58 degrees from the centre line at 180; at the shoulder, 68 from the shaft, 7 mm are 5.91 degrees
    [
        (180.0, False),
        (180.0 + 52.0, False),
        (180.0 + 52.2, True),
        (180.0 - 52.0, False),
        (180.0 - 52.2, True),
    ],
)
def test_a_hole_near_the_flank_comes_out_there(angle: float, out: bool) -> None:
    assert breaks_out(replace(RIM, angle_deg=angle), OPEN, SHOP) == out
    # holes beside the radius or tilted are kept inside, not reckoned where they come out
    assert not breaks_out(replace(RIM, angle_deg=angle, beside_mm=1.0), OPEN, SHOP)
    assert not breaks_out(replace(RIM, angle_deg=angle, tilt_deg=1.0), OPEN, SHOP)


@pytest.mark.parametrize("change", [{"from_middle_mm": 6.0}, {"beside_mm": 5.0}, {"tilt_deg": 5.0}])
def test_oversize_counts_in_every_kind_of_rim_hole(change: dict[str, float]) -> None:
    """A 14 mm drill that cuts 0.2 wide makes the hole of a 14.2 mm one, at a face, beside the radius, tilted."""
    cut = replace(RIM, **change)  # type: ignore[arg-type]
    wide = effect(cut, OPEN, replace(SHOP, hole_oversize_mm=0.2))
    assert wide == effect(replace(cut, diameter_mm=14.2), OPEN)
    assert wide.mass_g < effect(cut, OPEN).mass_g < 0.0


def test_a_slug_may_touch_the_rim_but_not_cross_it() -> None:
    """20 mm at 78 reaches 88, the rim."""
    effect(replace(SLUG, radius_mm=78.0))
    with pytest.raises(InputError, match="reaches the rim"):
        effect(replace(SLUG, radius_mm=78.05))


@pytest.mark.parametrize(
    ("cut", "drilled"),
    [
        (RIM, 20.0),
        (FACE, 12.0),
        (replace(FACE, through=True), None),
        (SLUG, None),
        # a blind slug's bore is as deep as the slug is long
        (replace(SLUG, through=False, length_mm=10.0), 10.0),
        # the hole is there already
        (FILL, None),
        (replace(FILL, kind="plug"), None),
    ],
)
def test_what_there_is_to_set_at_the_stop(cut: Cut, drilled: float | None) -> None:
    assert cut.drilled_mm == drilled
