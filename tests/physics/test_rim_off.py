"""Rims turned down over a sector, flats and bevels against a solid kernel (manifold3d); there and back; bad input.

Sizes are invented.  The full-turn bevel's volume is Pappus's theorem written out.
"""

from __future__ import annotations

import math

import manifold3d
import numpy as np
import pytest

from geometry_profiles import rims
from planner.cuts.rim_off import (
    edge_bevel,
    flat,
    flat_off_mm,
    rim_turned,
    rim_turned_off_mm,
    rim_turned_sector_deg,
)
from planner.errors import InputError
from tests.physics.rim_form_solids import as_array, integrals, rim_solid

PLAIN = {"outer_radius_mm": 88.0, "thickness_mm": 24.0}
FORMS = {
    "plain": rims.cylindrical(**PLAIN),
    "bevelled": rims.bevelled(**PLAIN, front_width_mm=5.0, rear_width_mm=3.0, rear_slope_deg=30.0),
    "tapered": rims.tapered(**PLAIN, taper_deg=6.0),
    "rounded": rims.rounded(**PLAIN, front_rounding_mm=6.0),
    "stepped": rims.stepped([(14.0, 88.0), (10.0, 84.0)]),
}


def wedge(sector_deg: float, facets: int) -> manifold3d.Manifold:
    half = math.radians(0.5 * sector_deg)
    turns = np.linspace(-half, half, facets + 1)
    ring = [(0.0, 0.0), *((300.0 * math.cos(t), 300.0 * math.sin(t)) for t in turns)]
    return manifold3d.Manifold.extrude(manifold3d.CrossSection([ring]), 80.0).translate([0.0, 0.0, -40.0])


def extrapolated(build, facets: int = 64) -> np.ndarray:
    return (4.0 * integrals(build(2 * facets)) - integrals(build(facets))) / 3.0


def held(ours, theirs: np.ndarray, within: float) -> None:
    scale = np.array([theirs[0], *[abs(theirs[1])] * 2, *[10.0 * abs(theirs[1])] * 2, 10.0 * theirs[0]])
    assert np.max(np.abs(as_array(ours) - theirs) / scale) < within


@pytest.mark.parametrize("name", FORMS)
def test_a_rim_turned_down_over_a_sector(name: str) -> None:
    form, off = FORMS[name], 3.5

    def removed(n: int) -> manifold3d.Manifold:
        left = manifold3d.Manifold.cylinder(
            100.0, form.greatest_radius_mm - off, form.greatest_radius_mm - off, 12 * n, True
        )
        return (rim_solid(form, n) - left) ^ wedge(70.0, 7 * n)

    held(rim_turned(form=form, off_mm=off, sector_deg=70.0), extrapolated(removed), 2e-5)


@pytest.mark.parametrize("name", FORMS)
def test_a_flat(name: str) -> None:
    form, off = FORMS[name], 6.0
    q = form.greatest_radius_mm - off

    def removed(n: int) -> manifold3d.Manifold:
        return rim_solid(form, n).trim_by_plane([1.0, 0.0, 0.0], q)

    held(flat(form=form, off_mm=off), extrapolated(removed, 128), 2e-5)


@pytest.mark.parametrize("face", ["front", "rear"])
def test_a_bevelled_edge_over_a_sector(face) -> None:
    after = rims.bevelled(**PLAIN, **{f"{face}_width_mm": 5.0, f"{face}_slope_deg": 35.0})

    def removed(n: int) -> manifold3d.Manifold:
        return (rim_solid(FORMS["plain"], n) - rim_solid(after, n)) ^ wedge(100.0, 10 * n)

    held(
        edge_bevel(form=FORMS["plain"], width_mm=5.0, slope_deg=35.0, sector_deg=100.0, face=face),
        extrapolated(removed),
        2e-5,
    )


def test_a_bevel_all_round_is_pappus() -> None:
    """A triangle w by h turned about the axis: area times the way of its centroid, R - h/3; no moment is left."""
    w, h = 4.0, 4.0 * math.tan(math.radians(50.0))
    found = edge_bevel(form=FORMS["plain"], width_mm=w, slope_deg=50.0, sector_deg=360.0)
    assert found.volume_mm3 == pytest.approx(0.5 * w * h * 2.0 * math.pi * (88.0 - h / 3.0), rel=1e-12)
    assert found.radial_mm4 == pytest.approx(0.0, abs=1e-6)


@pytest.mark.parametrize("name", FORMS)
def test_there_and_back(name: str) -> None:
    form = FORMS[name]
    moment = rim_turned(form=form, off_mm=2.25, sector_deg=80.0).radial_mm4
    assert rim_turned_off_mm(form=form, first_moment_mm4=moment, sector_deg=80.0) == pytest.approx(
        2.25, abs=1e-8
    )
    assert rim_turned_sector_deg(form=form, first_moment_mm4=moment, off_mm=2.25) == pytest.approx(
        80.0, abs=1e-8
    )
    depth = flat(form=form, off_mm=5.0).radial_mm4
    assert flat_off_mm(form=form, first_moment_mm4=depth) == pytest.approx(5.0, abs=1e-8)


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: rim_turned(form=FORMS["plain"], off_mm=90.0, sector_deg=60.0), "leaves nothing"),
        (lambda: rim_turned(form=FORMS["plain"], off_mm=2.0, sector_deg=0.0), "the sector is 0"),
        (lambda: rim_turned(form=FORMS["plain"], off_mm=2.0, sector_deg=400.0), "at most 360"),
        (lambda: rim_turned(form=FORMS["plain"], off_mm=-1.0, sector_deg=60.0), "depth is -1"),
        (lambda: flat(form=FORMS["plain"], off_mm=90.0), "passes the shaft axis"),
        (
            lambda: edge_bevel(form=FORMS["plain"], width_mm=30.0, slope_deg=45.0, sector_deg=60.0),
            "wider than",
        ),
        (
            lambda: edge_bevel(form=FORMS["plain"], width_mm=3.0, slope_deg=95.0, sector_deg=60.0),
            "slope is 95",
        ),
        (
            lambda: edge_bevel(form=FORMS["bevelled"], width_mm=3.0, slope_deg=45.0, sector_deg=60.0),
            "not square before",
        ),
        (
            lambda: rim_turned_off_mm(form=FORMS["plain"], first_moment_mm4=1e12, sector_deg=60.0),
            "can't be reached",
        ),
        (
            lambda: rim_turned_sector_deg(form=FORMS["plain"], first_moment_mm4=1e12, off_mm=2.0),
            "can't be reached",
        ),
        (lambda: flat_off_mm(form=FORMS["plain"], first_moment_mm4=1e12), "can't be reached"),
    ],
)
def test_bad_sizes_are_refused_in_words(make, words) -> None:
    with pytest.raises(InputError, match=words):
        make()
