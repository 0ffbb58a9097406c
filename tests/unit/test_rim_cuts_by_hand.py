"""What is taken off the rim itself, by integrals done by hand: a bevel as it is entered, and what can't be.  Sizes invented."""

from __future__ import annotations

import math

import pytest

from geometry_profiles.rims import bevelled, cylindrical
from planner.cuts.rim_off import edge_bevel, rim_cut_moments
from planner.errors import InputError

R = 88.0
PLAIN = cylindrical(outer_radius_mm=R, thickness_mm=20.0)


@pytest.mark.parametrize("slope", [30.0, 45.0, 60.0])
@pytest.mark.parametrize(("face", "sign"), [("front", -1.0), ("rear", 1.0)])
def test_a_bevel_by_its_depth_at_the_face(slope: float, face: str, sign: float) -> None:
    """2 mm off at the face over 90 degrees; with y what is off at a place, dx = dy / tan(slope).

    Ring sectors of half angle b = 45 degrees: area ``b (R^2 - (R-y)^2)``, moment ``2/3 sin b (R^3 - (R-y)^3)``.
    """
    off, half = 2.0, math.radians(45.0)
    volume = half * (R * off**2 - off**3 / 3.0) / math.tan(math.radians(slope))
    moment = (
        2.0
        / 3.0
        * math.sin(half)
        * (R**3 * off - (R**4 - (R - off) ** 4) / 4.0)
        / math.tan(math.radians(slope))
    )
    found = rim_cut_moments("bevel", form=PLAIN, off_mm=off, sector_deg=90.0, slope_deg=slope, face=face)  # type: ignore[arg-type]
    assert found.volume_mm3 == pytest.approx(volume, rel=1e-9)
    assert found.radial_mm4 == pytest.approx(moment, rel=1e-9)
    # a thin triangle: its middle a third of its width from the face (the radius changes it by less than 2 %)
    width = off / math.tan(math.radians(slope))
    assert found.along_mm4 / found.volume_mm3 == pytest.approx(sign * (10.0 - width / 3.0), rel=0.02)
    assert found.radial_s_mm5 / found.radial_mm4 == pytest.approx(sign * (10.0 - width / 3.0), rel=0.02)


def test_a_bevel_may_be_as_wide_as_the_rim_but_no_wider() -> None:
    edge_bevel(form=PLAIN, width_mm=20.0, slope_deg=10.0, sector_deg=60.0)
    with pytest.raises(InputError, match="wider than the counterweight"):
        edge_bevel(form=PLAIN, width_mm=20.01, slope_deg=10.0, sector_deg=60.0)


@pytest.mark.parametrize("face", ["front", "rear"])
def test_a_bevel_on_a_bevel_is_refused_not_reckoned_wrong(face: str) -> None:
    formed = bevelled(outer_radius_mm=R, thickness_mm=20.0, front_width_mm=3.0, rear_width_mm=3.0)
    with pytest.raises(InputError, match="not square before"):
        edge_bevel(form=formed, width_mm=2.0, slope_deg=45.0, sector_deg=60.0, face=face)  # type: ignore[arg-type]


def test_the_other_edge_may_be_formed() -> None:
    """Bevelled in front: the rear edge is still square."""
    formed = bevelled(outer_radius_mm=R, thickness_mm=20.0, front_width_mm=3.0)
    rear = edge_bevel(form=formed, width_mm=2.0, slope_deg=45.0, sector_deg=60.0, face="rear")
    plain = edge_bevel(form=PLAIN, width_mm=2.0, slope_deg=45.0, sector_deg=60.0, face="rear")
    assert rear.volume_mm3 == pytest.approx(plain.volume_mm3, rel=1e-12)
    assert rear.radial_mm4 == pytest.approx(plain.radial_mm4, rel=1e-12)


@pytest.mark.parametrize(
    ("kind", "given", "says"),
    [
        ("rim turning", {}, "has no sector"),
        ("bevel", {"sector_deg": 60.0}, "has no slope"),
        ("bevel", {"slope_deg": 45.0}, "has no sector"),
        ("bevel", {"sector_deg": 60.0, "slope_deg": 90.0}, "between 0 and 90"),
        ("bevel", {"sector_deg": 361.0, "slope_deg": 45.0}, "at most 360"),
        ("rim turning", {"sector_deg": 0.0}, "more than 0"),
    ],
)
def test_what_is_missing_or_out_of_range_is_said(kind: str, given: dict[str, float], says: str) -> None:
    with pytest.raises(InputError, match=says):
        rim_cut_moments(kind, form=PLAIN, off_mm=2.0, **given)  # type: ignore[arg-type]


@pytest.mark.parametrize("kind", ["rim turning", "flat"])
def test_nothing_is_cut_through_the_shaft(kind: str) -> None:
    for off in (R, R + 1.0):
        with pytest.raises(InputError, match=r"mm (off|below) a rim of radius 88 mm"):
            rim_cut_moments(kind, form=PLAIN, off_mm=off, sector_deg=60.0)  # type: ignore[arg-type]


@pytest.mark.parametrize(("off", "kind"), [(85.0, "rim turning"), (87.5, "flat")])
def test_down_to_the_shaft_is_still_reckoned(off: float, kind: str) -> None:
    """3 mm, or half a millimetre, left: nearly the whole sector of 60 degrees, nearly the half disc."""
    found = rim_cut_moments(kind, form=PLAIN, off_mm=off, sector_deg=60.0)  # type: ignore[arg-type]
    left = R - off
    if kind == "flat":
        angle = math.acos(left / R)
        area = R**2 * (angle - math.sin(angle) * math.cos(angle))
    else:
        area = math.radians(30.0) * (R**2 - left**2)
    assert found.volume_mm3 == pytest.approx(20.0 * area, rel=1e-9)
    # alike on both sides of its ray, in front and behind
    assert (found.tangential_mm4, found.tangential_s_mm5) == (0.0, 0.0)
    assert found.along_mm4 == pytest.approx(0.0, abs=1e-6 * found.volume_mm3)
