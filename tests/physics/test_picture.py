"""The bare crankshaft foretold from its picture, against a solid kernel: every part built and added up.

Source: manifold3d (general-purpose solid kernel).  The crankshaft is invented.
"""

from __future__ import annotations

import dataclasses
import math
from pathlib import Path

import manifold3d
import numpy as np
import pytest

from geometry_profiles import rims, shapes
from planner.errors import InputError
from planner.frames import ShaftAngle
from planner.jobfile.read import load_job
from planner.rotor.crankshaft import Counterweight, Crankshaft, ExistingHole, OilDrilling, Throw, Web
from planner.steps.picture import picture_of
from planner.steps.quote import quote_of
from tests.physics.rim_form_solids import integrals, rim_solid

EXAMPLE = Path(__file__).parents[2] / "examples" / "v_twin_bevelled"
DENSITY = 7.85
FORM = rims.bevelled(outer_radius_mm=90.0, thickness_mm=24.0, front_width_mm=8.0, front_slope_deg=35.0)
CRANKSHAFT = Crankshaft(
    throws=(
        Throw(name="1", angle_deg=ShaftAngle(30.0), z_mm=80.0, radius_mm=45.0, rods=2, pin_diameter_mm=50.0,
              pin_length_mm=40.0, pin_bore_mm=15.0),
    ),
    counterweights=(
        Counterweight(
            name="A", z_mm=40.0, angle_deg=ShaftAngle(200.0), thickness_mm=24.0,
            outline=shapes.fan(outer_radius_mm=90.0, half_angle_deg=55.0, inner_radius_mm=36.0), cuts=("rim hole",),
            rim=FORM,
            existing=(
                ExistingHole(kind="face hole", angle_deg=ShaftAngle(200.0), diameter_mm=16.0, radius_mm=65.0, through=True),
            ),
        ),
    ),
    bearing_1_z_mm=0.0,
    bearing_2_z_mm=160.0,
    density_g_per_cm3=DENSITY,
    oil_drillings=(
        OilDrilling(from_z_mm=50.0, from_radius_mm=0.0, from_angle_deg=ShaftAngle(0.0), to_z_mm=80.0, to_radius_mm=45.0,
                    to_angle_deg=ShaftAngle(30.0), diameter_mm=6.0, clearance_mm=2.0),
    ),
    webs=(Web(angle_deg=ShaftAngle(30.0), z_mm=48.0, thickness_mm=20.0, width_mm=70.0, from_radius_mm=36.0, to_radius_mm=78.0),),
)  # fmt: skip


def _moments(n: int) -> np.ndarray:
    """Return mass, moment x and y, and both times z, of all parts built as solids."""
    total = np.zeros(5)

    def add(solid: manifold3d.Manifold, turned: float, z: float, sign: float = 1.0) -> None:
        v = integrals(solid.rotate([0.0, 0.0, turned]))
        total[:] += sign * DENSITY / 1000.0 * np.array([v[0], v[1], v[2], v[3] + z * v[1], v[4] + z * v[2]])

    def cylinder(d: float, length: float, facets: int = 6 * n) -> manifold3d.Manifold:
        return manifold3d.Manifold.cylinder(length, 0.5 * d, 0.5 * d, facets, True)

    turns = np.radians(np.linspace(-55.0, 55.0, 6 * n + 1))
    ring = [(200.0 * math.cos(t), 200.0 * math.sin(t)) for t in turns]
    inner = [(36.0 * math.cos(t), 36.0 * math.sin(t)) for t in turns[::-1]]
    fan = manifold3d.Manifold.extrude(manifold3d.CrossSection([[*ring, *inner]]), 60.0).translate(
        [0.0, 0.0, -30.0]
    )
    add(rim_solid(FORM, n) ^ fan, 200.0, 40.0)
    add(cylinder(16.0, 24.0).translate([65.0, 0.0, 0.0]), 200.0, 40.0, -1.0)
    add((cylinder(50.0, 40.0) - cylinder(15.0, 41.0)).translate([45.0, 0.0, 0.0]), 30.0, 80.0)
    plate = manifold3d.Manifold.cube([43.0 - 36.0, 70.0, 20.0], True).translate([39.5, 0.0, 0.0])
    end = cylinder(70.0, 20.0) ^ manifold3d.Manifold.cube([100.0, 100.0, 50.0], True).translate(
        [50.0, 0.0, 0.0]
    )
    add(plate + end.translate([43.0, 0.0, 0.0]), 30.0, 48.0)
    length = math.hypot(45.0, 30.0)
    tube = cylinder(6.0, length).rotate([0.0, math.degrees(math.atan2(45.0, 30.0)), 0.0])
    add(tube.translate([22.5, 0.0, 0.0]), 30.0, 65.0, -1.0)
    return total


def test_every_part_is_weighed_as_the_solids_are() -> None:
    base = load_job(EXAMPLE / "job.toml")
    job = dataclasses.replace(base, crankshaft=CRANKSHAFT, spins=(), cuts_made=(), stored_plan=None)
    picture = picture_of(job)
    theirs = (4.0 * _moments(64) - _moments(32)) / 3.0
    mass = sum(part.mass_g for part in picture.parts)
    vector = sum(part.vector_gmm for part in picture.parts)
    along = sum(part.vector_gmm * part.z_mm for part in picture.parts)
    assert mass == pytest.approx(theirs[0], rel=1e-5)
    assert vector.real == pytest.approx(theirs[1], abs=1e-5 * abs(vector))
    assert vector.imag == pytest.approx(theirs[2], abs=1e-5 * abs(vector))
    assert abs(along - complex(theirs[3], theirs[4])) < 1e-5 * abs(along)
    # and the planes say the same as force and moment do
    left, right = picture.bare_gmm
    assert left + right == pytest.approx(vector)
    z1, z2 = job.planes_z_mm
    assert left * z1 + right * z2 == pytest.approx(along)


def test_the_example_fits_its_spin_and_a_wrong_picture_does_not() -> None:
    job = load_job(EXAMPLE / "job.toml")
    assert picture_of(job).fits is True
    thick = dataclasses.replace(job.crankshaft.counterweights[0], thickness_mm=30.0, rim=None)
    wrong = dataclasses.replace(job.crankshaft, counterweights=(thick, *job.crankshaft.counterweights[1:]))
    assert picture_of(dataclasses.replace(job, crankshaft=wrong)).fits is False


def test_what_is_missing_is_named() -> None:
    job = load_job(EXAMPLE / "job.toml")
    bare = dataclasses.replace(job.crankshaft.throws[0], pin_diameter_mm=None)
    with pytest.raises(InputError, match="no crankpins"):
        picture_of(dataclasses.replace(job, crankshaft=dataclasses.replace(job.crankshaft, throws=(bare,))))
    found = picture_of(dataclasses.replace(job, crankshaft=dataclasses.replace(job.crankshaft, webs=())))
    assert found.missing == ("the arms between journals and crankpins ([[webs]])",)


def test_a_quote_takes_the_picture_where_nothing_better_is_known() -> None:
    job = dataclasses.replace(load_job(EXAMPLE / "job.toml"), spins=())
    quote = quote_of(job, seconds=30.0)
    assert quote.foretold
    assert "picture" in quote.basis
    assert quote.within_g > 0.0
    picture = picture_of(job)
    assert picture.to_correct_gmm is not None
    assert quote.unbalance_gmm == pytest.approx(picture.to_correct_gmm)
    # what it was built for says more
    known = quote_of(job, built_for_g=1560.0, seconds=30.0)
    assert not known.foretold
