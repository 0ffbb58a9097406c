"""What the crankshaft's records answer about themselves: rims, rows, flanks, bearings.  Sizes invented, answers by hand."""

from __future__ import annotations

import pytest

from geometry_profiles.rims import bevelled
from geometry_profiles.shapes import disc, fan
from planner.frames import ShaftAngle
from planner.rotor.crankshaft import Counterweight, Crankshaft, Throw

FAN = fan(outer_radius_mm=88.0, half_angle_deg=58.0, inner_radius_mm=36.0)
# 20 thick: 3 mm of bevel at 45 degrees in front, 5 in the rear
BEVELLED = bevelled(outer_radius_mm=88.0, thickness_mm=20.0, front_width_mm=3.0, rear_width_mm=5.0)


def counterweight(angle_deg: float = 100.0, **changes: object) -> Counterweight:
    given: dict[str, object] = {"outline": FAN, "thickness_mm": 20.0, "cuts": ("rim hole",), **changes}
    return Counterweight(name="A", z_mm=50.0, angle_deg=ShaftAngle(angle_deg), **given)  # type: ignore[arg-type]


def crankshaft(**changes: object) -> Crankshaft:
    throws = tuple(
        Throw(name=name, angle_deg=ShaftAngle(0.0), z_mm=z, radius_mm=40.0, rods=1)
        for name, z in (("1", 60.0), ("2", 160.0))
    )
    given: dict[str, object] = {"bearing_1_z_mm": 20.0, "bearing_2_z_mm": 220.0, **changes}
    return Crankshaft(throws=throws, counterweights=(counterweight(),), density_g_per_cm3=7.85, **given)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("centre", "hole", "flanks"),
    [
        (100.0, 100.0, [58.0, -58.0]),
        # 30 degrees ahead of the centre line: one flank 28 ahead, the other 88 behind
        (100.0, 130.0, [28.0, -88.0]),
        (100.0, 70.0, [88.0, -28.0]),
        # 40 ahead: the far flank is 98 behind, on the other side of the shaft
        (100.0, 140.0, [18.0]),
        # across the zero
        (350.0, 20.0, [28.0, -88.0]),
        (10.0, 340.0, [88.0, -28.0]),
        # on the flank itself there is none beside
        (100.0, 158.0, []),
    ],
)
def test_a_fans_flanks_as_seen_from_a_hole(centre: float, hole: float, flanks: list[float]) -> None:
    assert list(counterweight(centre).flanks_beside_deg(hole)) == pytest.approx(flanks)


def test_a_whole_disc_has_no_flanks() -> None:
    whole = counterweight(outline=disc(outer_radius_mm=88.0, inner_radius_mm=36.0))
    assert whole.flanks_beside_deg(100.0) == ()


@pytest.mark.parametrize(
    ("rows", "usual"), [((-6.0, 4.0), 4.0), ((7.0, -5.0), -5.0), ((5.0, -5.0), -5.0), ((), 0.0)]
)
def test_the_usual_row_is_nearest_to_the_middle(rows: tuple[float, ...], usual: float) -> None:
    assert counterweight(rim_rows_mm=rows).usual_row_mm == usual


@pytest.mark.parametrize(
    ("place", "radius"),
    # at 45 degrees as much lower as it is nearer to the face; beyond a face the face counts
    [
        (0.0, 88.0),
        (-7.0, 88.0),
        (-9.0, 86.0),
        (-10.0, 85.0),
        (-12.0, 85.0),
        (8.0, 85.0),
        (10.0, 83.0),
        (11.0, 83.0),
    ],
)
def test_the_rims_radius_at_a_place_along_the_shaft(place: float, radius: float) -> None:
    assert counterweight(rim=BEVELLED).rim_radius_at_mm(place) == pytest.approx(radius)


def test_a_plain_rim_has_one_radius() -> None:
    plain = counterweight()
    assert plain.rim_radius_at_mm(-9.0) == plain.least_rim_radius_mm == 88.0
    assert plain.rim_form().thickness_mm == 20.0
    assert plain.rim_form().radius_mm(-10.0) == 88.0


def test_the_least_radius_of_a_bevelled_rim_is_at_the_wider_bevels_face() -> None:
    assert counterweight(rim=BEVELLED).least_rim_radius_mm == pytest.approx(83.0)


def test_the_centre_of_mass_stated_or_midway_between_the_bearings() -> None:
    assert crankshaft().centre_of_mass_or_middle_z_mm == 120.0
    assert crankshaft(centre_of_mass_z_mm=131.0).centre_of_mass_or_middle_z_mm == 131.0


def test_what_it_was_built_for() -> None:
    assert crankshaft().built_bobs_g == {}
    assert crankshaft(built_for_bob_g=1700.0).built_bobs_g == {"1": 1700.0, "2": 1700.0}
    assert crankshaft(built_for_bob_g={"2": 1650.0}).built_bobs_g == {"2": 1650.0}


def test_parts_by_name() -> None:
    whole = crankshaft()
    assert whole.throw("2").z_mm == 160.0
    assert whole.counterweight("A").z_mm == 50.0
    with pytest.raises(KeyError):
        whole.throw("3")
    with pytest.raises(KeyError):
        whole.counterweight("B")
