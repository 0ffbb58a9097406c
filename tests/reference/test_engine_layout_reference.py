"""All layouts of the catalogue against reference values computed beforehand by separate code.

The values (data/engine_layouts.json) are not published ones: they come from symbolic sums and from a spectral
second derivative of the slider-crank's position, written apart from this project.  The figures of handbooks are
checked in the files named after those.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from planner.engine.engine import engine_from_layout
from planner.engine.firing import check_firing_order
from planner.engine.forces import (
    HarmonicVector,
    acceleration_coefficients,
    bobs_needed,
    inherent,
    shaking_curve,
)
from planner.engine.fraction_choice import choose_fraction, fraction_cost
from planner.engine.layouts import LAYOUTS, layout

DATA = json.loads((Path(__file__).parent / "data" / "engine_layouts.json").read_text(encoding="utf-8"))
REFERENCE: dict[str, dict[str, Any]] = {each["name"]: each for each in DATA["layouts"]}
ROTATIONS = ("cw", "ccw")


def differences(vector: HarmonicVector, wanted: dict[str, float], unit: float = 1.0) -> float:
    pairs = (
        (abs(vector.forward), "fwd"),
        (abs(vector.backward), "bwd"),
        (vector.largest, "max"),
        (vector.least, "min"),
        (vector.along, "vert"),
        (vector.across, "horiz"),
        (vector.rms, "rms"),
    )
    return max(abs(value / unit - wanted[key]) for value, key in pairs)


def test_the_catalogue_has_every_reference_layout():
    assert [each.name for each in LAYOUTS] == list(REFERENCE)
    assert len(LAYOUTS) == 29


@pytest.mark.parametrize("name", REFERENCE)
def test_geometry(name):
    each = layout(name)
    mine = [
        [
            int(c.name),
            each.throws[c.throw].angle_deg,
            c.bank_deg,
            each.throws[c.throw].z,
            c.rod_offset,
        ]
        for c in each.cylinders
    ]
    theirs = [
        [no, throw % 360.0, bank, z, offset] for no, throw, bank, z, offset in REFERENCE[name]["cylinders"]
    ]
    assert np.allclose(mine, theirs, rtol=0.0, atol=1e-12)


@pytest.mark.parametrize("rotation", ROTATIONS)
@pytest.mark.parametrize("name", REFERENCE)
def test_harmonics_to_1e_6(name, rotation):
    """A clockwise engine must not come out mirrored: both senses give the same turning vectors."""
    wanted = REFERENCE[name]["computed"]
    engine = engine_from_layout(layout(name), rotation=rotation, rod_ratio=4.0)
    c = acceleration_coefficients(4.0)
    bare, half = inherent(engine, fraction=0.0), inherent(engine, fraction=0.5)
    assert differences(bare.force[1], wanted["primary_force"]) < 1e-6
    assert differences(half.force[1], wanted["primary_force_after_f50"]) < 1e-6
    assert differences(bare.force[2], wanted["secondary_force"], abs(c[2])) < 1e-6
    assert differences(bare.force[4], wanted["fourth_force"], abs(c[4])) < 1e-6
    assert differences(bare.couple[1], wanted["primary_couple"]) < 1e-6
    assert differences(half.couple[1], wanted["primary_couple_after_f50"]) < 1e-6
    assert differences(bare.couple[2], wanted["secondary_couple"], abs(c[2])) < 1e-6
    assert differences(bare.couple[4], wanted["fourth_couple"], abs(c[4])) < 1e-6


@pytest.mark.parametrize(
    "name", [n for n, r in REFERENCE.items() if "primary_couple_from_rod_offset_b" in r["computed"]]
)
def test_couple_of_the_rods_side_by_side(name):
    """The rods' distance alone: the couple with rods apart minus the couple without."""
    wanted = REFERENCE[name]["computed"]
    c = acceleration_coefficients(4.0)
    apart = inherent(
        engine_from_layout(layout(name), rotation="cw", rod_ratio=4.0, rods_apart=1.0), fraction=0.0
    )
    none = inherent(engine_from_layout(layout(name), rotation="cw", rod_ratio=4.0), fraction=0.0)
    for order, key in ((1, "primary_couple_from_rod_offset_b"), (2, "secondary_couple_from_rod_offset_b")):
        alone = HarmonicVector(
            order=order,
            forward=apart.couple[order].forward - none.couple[order].forward,
            backward=apart.couple[order].backward - none.couple[order].backward,
        )
        assert differences(alone, wanted[key], abs(c[order])) < 1e-6


@pytest.mark.parametrize("name", REFERENCE)
def test_whether_bobs_matter(name):
    wanted = REFERENCE[name]["machine"]
    need = bobs_needed(engine_from_layout(layout(name), rotation="cw"))
    assert abs(need.static) == pytest.approx(wanted["sum_of_throw_vectors"], abs=1e-6)
    assert abs(need.couple) == pytest.approx(wanted["couple_of_throw_vectors"], abs=1e-6)
    assert need.needed is wanted["bob_needed"]


def test_layouts_that_need_no_bob_by_name():
    needless = [e.name for e in LAYOUTS if not bobs_needed(engine_from_layout(e, rotation="cw")).needed]
    assert needless == [
        "in-line 4",
        "in-line 6",
        "flat 4",
        "flat 6",
        "V8, 90 degree banks, flat-plane",
        "V12, 60 degree banks",
    ]


@pytest.mark.parametrize("rotation", ROTATIONS)
@pytest.mark.parametrize("name", REFERENCE)
def test_firing_intervals(name, rotation):
    reference = REFERENCE[name]
    engine = engine_from_layout(layout(name), rotation=rotation)
    centres = engine.dead_centres_deg()
    theirs = check_firing_order([str(k) for k in reference["firing_order"]], dead_centres_deg=centres)
    assert sorted(theirs.intervals_deg) == pytest.approx(sorted(reference["firing_intervals_deg"]))
    assert theirs.even is reference["even_firing"]
    own = check_firing_order(layout(name).firing_order, dead_centres_deg=centres)
    assert own.even is reference["even_firing"]
    assert sum(own.intervals_deg) == pytest.approx(720.0)


@pytest.mark.parametrize("quantity", ["force", "couple"])
@pytest.mark.parametrize("name", REFERENCE)
def test_fractions(name, quantity):
    wanted = REFERENCE[name]["computed"]
    engine = engine_from_layout(layout(name), rotation="cw", rod_ratio=4.0)
    choice = choose_fraction(engine, quantity=quantity, weight_along=1.0, weight_across=0.0)
    if f"{quantity}_single_plane_fractions" not in wanted:
        assert not choice.acts
        return
    assert choice.least_rms == pytest.approx(0.5, abs=1e-12)
    low, high = wanted[f"{quantity}_single_plane_fractions"]
    assert choice.one_plane[0].fraction == pytest.approx(low, abs=1e-6)
    assert choice.one_plane[-1].fraction == pytest.approx(high, abs=1e-6)
    assert choice.weighted == pytest.approx(wanted[f"{quantity}_fraction_zero_along_ref_axis"], abs=1e-6)
    # the reference looked at every quarter degree only; its fraction may be off where the least peak is flat
    theirs = wanted[f"{quantity}_minimax_fraction_lam025"]
    assert choice.least_peak == pytest.approx(theirs, abs=1e-3)
    least, half = (fraction_cost(engine, fraction=f) for f in (choice.least_peak, 0.5))
    peaks = [getattr(cost, f"{quantity}_peak") for cost in (least, half)]
    assert peaks == pytest.approx([choice.peak_at_least_peak, choice.peak_at_half], abs=1e-12)
    assert peaks[0] <= peaks[1] + 1e-8
    assert getattr(half, f"{quantity}_rms") <= getattr(least, f"{quantity}_rms") + 1e-12


@pytest.mark.parametrize("rotation", ROTATIONS)
@pytest.mark.parametrize("name", REFERENCE)
def test_exact_slider_crank_in_the_time_domain(name, rotation):
    """Sums of harmonics up to the 12th against the exact kinematics, force and couple, any fraction."""
    engine = engine_from_layout(layout(name), rotation=rotation, rod_ratio=4.0, rods_apart=0.2)
    for fraction in (0.0, 0.366, 0.5, 0.65):
        curve = shaking_curve(engine, fraction=fraction, orders=range(1, 13), points=73)
        assert curve.force_error_gmm < 1e-6
        assert curve.couple_error_gmm2 < 1e-6
