"""What went wrong between two spins of a job, end to end through a machine that is not set as the file says.

The job's machine looks from the rear, counts clockwise, marks the light spot and shows masses at radii; the display is
that of the machine as it really is set.  Data invented.
"""

from __future__ import annotations

import dataclasses
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from planner.cuts.cut import Cut
from planner.job.model import Job, MadeCut
from planner.job.reading import load_job
from planner.reading.machine import MachineConvention
from planner.reading.spin import SideReading
from planner.reading.unbalance import bob_shift, display_reading, spin_vectors
from planner.report.diagnosis_text import diagnosis_lines
from planner.workflow.diagnosing import SpinDiagnosis, diagnose
from planner.workflow.posing import effect_on, shift_of
from planner.workflow.spinning import foretold_for

JOB = Path(__file__).parents[2] / "examples" / "inline_three_light_spot" / "job.toml"
CUTS = (
    Cut(kind="rim hole", counterweight="A", angle_deg=150.0, diameter_mm=10.0, depth_shoulder_mm=20.0),
    Cut(kind="rim hole", counterweight="D", angle_deg=290.0, diameter_mm=10.0, depth_shoulder_mm=18.0),
)


def job_with(cuts: tuple[Cut, ...] = CUTS) -> Job:
    job = load_job(JOB)
    first = dataclasses.replace(
        job.spins[0],
        left=SideReading(amount=16.2, angle_deg=110.0),
        right=SideReading(amount=13.0, angle_deg=330.0),
    )
    made = tuple(MadeCut(after_spin=1, cut=cut) for cut in cuts)
    return dataclasses.replace(job, spins=(first,), cuts_made=made, stored_plan=None)


def found_with(job: Job, real: MachineConvention, *, extra: Any = 0.0, factor: float = 1.0) -> SpinDiagnosis:
    """Return the diagnosis of a spin on the real machine, after what the cuts did (times ``factor``) and ``extra``."""
    first = job.spins[0]
    done = shift_of(
        [(made.cut, effect_on(job.crankshaft, made.cut, shop=job.shop)) for made in job.cuts_made],
        planes_z_mm=job.planes_z_mm,
    )
    left, right = display_reading(spin_vectors(first, machine=real) + factor * done + extra, machine=real)
    second = dataclasses.replace(first, left=left, right=right)
    found = diagnose(job, second, foretold_for(job, second))
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("change", "kind"),
    [
        ({}, "fine"),
        ({"viewed_from": "front"}, "reversed direction"),
        ({"direction": "ccw"}, "reversed direction"),
        ({"marks": "heavy spot"}, "swapped spot"),
        ({"zero_deg": 25.0}, "zero mark"),
        ({"left_radius_mm": 35.0, "right_radius_mm": 35.0}, "scale"),
    ],
)
def test_a_machine_that_is_not_set_as_the_file_says(change: dict[str, Any], kind: str) -> None:
    job = job_with()
    found = found_with(job, dataclasses.replace(job.machine, **change))
    assert [each.kind for each in found.diagnosis.explanations] == [kind]
    assert found.settled
    only = found.diagnosis.explanations[0]
    if kind == "zero mark":
        # the real zero lies 25 degrees on: what is read comes out as far behind
        assert only.turn_deg == pytest.approx(-25.0, abs=0.01)
    if kind == "scale":
        assert only.factor == pytest.approx(2.0, abs=0.001)
        assert "diameter and radius mixed up" in only.words


def test_both_direction_and_end_wrong_is_right_again() -> None:
    job = job_with()
    real = dataclasses.replace(job.machine, direction="ccw", viewed_from="front")
    assert found_with(job, real).good


@pytest.mark.parametrize("grams", [-60.0, 45.0])
def test_a_bob(grams: float) -> None:
    job = job_with()
    bobs = {throw.name: 498.0 for throw in job.crankshaft.throws}
    extra = bob_shift(
        throws=job.crankshaft.throws,
        bobs_on_g=bobs,
        bobs_wanted_g={**bobs, "2": 498.0 + grams},
        planes_z_mm=job.planes_z_mm,
    )
    found = found_with(job, job.machine, extra=extra)
    assert found.diagnosis.explanations[0].bob == "2"
    assert found.diagnosis.explanations[0].factor == pytest.approx(grams, rel=1e-6)


def test_small_cuts_prove_nothing() -> None:
    """A dimple of a cut against readings of a thousand g*mm: fine, and swapped, alike."""
    small = (dataclasses.replace(CUTS[0], depth_shoulder_mm=1.0, diameter_mm=4.0),)
    job = job_with(small)
    found = found_with(job, job.machine)
    assert found.weak
    assert not found.settled
    assert "too small against the readings' errors" in "\n".join(diagnosis_lines(job, found))


def test_nothing_foretold_nothing_found() -> None:
    job = job_with(())
    again = job.spins[0]
    assert diagnose(job, again, foretold_for(job, again)) is None
    assert diagnose(job, again, None) is None
    assert diagnosis_lines(job, None) == []


def test_what_nothing_explains_is_said() -> None:
    job = job_with()
    odd = np.array([2000.0 * np.exp(1j * math.radians(77.0)), -900.0j])
    found = found_with(job, job.machine, extra=odd)
    text = "\n".join(diagnosis_lines(job, found))
    assert "WHAT WENT WRONG" in text
    assert "nothing is wrong" in text or "no single fault explains it" in text
    assert not found.good


def test_good_spins_say_so_with_the_factor() -> None:
    job = job_with()
    text = "\n".join(diagnosis_lines(job, found_with(job, job.machine)))
    assert "as foretold within the errors: 1.000" in text
