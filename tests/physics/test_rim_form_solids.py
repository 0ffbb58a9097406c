"""Holes in bevelled, tapered, rounded and stepped rims against a solid kernel (manifold3d): see `rim_form_solids`.

The whole run of 300 is ``python -m tests.benchmarks.rim_form_solids``.
"""

from __future__ import annotations

import numpy as np
import pytest

from geometry_profiles import rims
from tests.physics.rim_form_solids import (
    FORMS,
    KINDS,
    OTHER_KINDS,
    RimCase,
    by_formula,
    by_solids,
    random_cases,
)

WANTED = 2e-6
# one of every kind, the forms in turn
CASES = [
    case
    for number, case in enumerate(random_cases(len(KINDS) * len(FORMS)))
    if number % len(FORMS) == (number // len(FORMS) + 1) % len(FORMS)
]


# one of each of the other kinds
OTHERS = [
    case
    for number, case in enumerate(random_cases((len(KINDS) + len(OTHER_KINDS)) * len(FORMS)))
    if number >= len(KINDS) * len(FORMS) and number % len(FORMS) == (number // len(FORMS)) % len(FORMS)
]


def test_every_kind_and_every_form_is_there() -> None:
    assert {case.kind for case in CASES} >= set(KINDS) - {"tilted"}
    assert {case.kind for case in OTHERS} == set(OTHER_KINDS)
    assert {case.form.name for case in CASES} == {"cylindrical", "bevelled", "tapered", "rounded", "stepped"}


@pytest.mark.parametrize("case", [*CASES, *OTHERS], ids=lambda case: case.name)
def test_what_a_cut_removes(case: RimCase) -> None:
    ours, theirs = by_formula(case), by_solids(case)
    # moments times s are held against the moment at 10 mm
    scale = np.array([theirs[0], *[abs(theirs[1])] * 2, *[10.0 * abs(theirs[1])] * 2, 10.0 * theirs[0]])
    assert np.max(np.abs(ours - theirs) / scale) < WANTED


def test_the_kernel_tells_a_bevel_from_none() -> None:
    """A hole that runs into a bevel is up to some percent less than the plain one: the check sees that."""
    numbers = {
        "diameter_mm": 14.0,
        "depth_shoulder_mm": 20.0,
        "point_angle_deg": 118.0,
        "from_middle_mm": 4.5,
    }
    plate = {"outer_radius_mm": 90.0, "thickness_mm": 25.0}
    bevelled = RimCase("bevelled", rims.bevelled(**plate, rear_width_mm=4.0), "in a row", numbers)
    plain = RimCase("plain", rims.cylindrical(**plate), "in a row", numbers)
    assert by_formula(plain)[1] / by_solids(bevelled)[1] - 1.0 > 1000.0 * WANTED
