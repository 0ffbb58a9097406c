"""Unbalance from trial masses, from a textbook, as remembered.

Recalled from: S. S. Rao, Mechanical Vibrations, chapter 9: the two-plane balancing example (9.1 in the 4th and 5th US
editions), Problem 9.7 (US edition).  Masses at one radius per plane: the unit of unbalance is the ounce at that radius.
"""

from __future__ import annotations

import pytest

from planner.machine.trial_masses import RawRun, TrialSolution, solve_trials
from planner.rotor.vectors import angle_deg, difference_deg
from tests.trial_samples import polar

Polar = tuple[float, float]
SHARE = 0.0174  # 1.5 percent and half a degree


def two_planes(
    initial: tuple[Polar, Polar], left: tuple[Polar, Polar, Polar], right: tuple[Polar, Polar, Polar]
) -> TrialSolution:
    """Solve three runs; trials are (mass, reading A, reading B)."""
    runs = [
        RawRun(name="initial", readings=tuple(polar(*v) for v in initial), masses_gmm=(0j, 0j)),
        RawRun(name="left", readings=tuple(polar(*v) for v in left[1:]), masses_gmm=(polar(*left[0]), 0j)),
        RawRun(name="right", readings=tuple(polar(*v) for v in right[1:]), masses_gmm=(0j, polar(*right[0]))),
    ]
    return solve_trials(runs, sides=("left", "right"), planes=("left", "right"), reading_share=SHARE)


def test_two_plane_example():
    # from memory; recalled to four decimals before computing.  The printed angles are those of the unbalance; as recalled
    # they stand under "balancing weight", though by V' - V = a W the weight to add lies 180 degrees away
    found = two_planes(
        ((8.5, 60), (6.5, 205)), ((10, 270), (6.0, 125), (4.5, 230)), ((12, 180), (6.0, 35), (10.5, 160))
    )
    left, right = (complex(each) for each in found.unbalance_gmm)
    assert abs(left) == pytest.approx(10.0561, rel=1e-5)
    assert abs(right) == pytest.approx(5.8774, rel=1e-5)
    assert difference_deg(angle_deg(left), 145.5548) == pytest.approx(0.0, abs=1e-3)
    assert difference_deg(angle_deg(right), 248.2559) == pytest.approx(0.0, abs=1e-3)
    # weights to add and coefficients: recomputed
    assert difference_deg(angle_deg(-left), 325.5548039) == pytest.approx(0.0, abs=1e-4)
    assert difference_deg(angle_deg(-right), 68.25593397) == pytest.approx(0.0, abs=1e-4)
    (a_ll, a_lr), (a_rl, a_rr) = found.influence.per_gmm
    assert a_ll == pytest.approx(0.2446303666 - 0.7691458618j, rel=1e-9)
    assert a_rl == pytest.approx(0.07001812927 + 0.2998456372j, rel=1e-9)
    assert a_lr == pytest.approx(-0.05540935548 + 0.3266464428j, rel=1e-9)
    assert a_rr == pytest.approx(0.3313143252 - 0.5281858505j, rel=1e-9)


def test_us_problem_9_7():
    # inputs from memory; of the answer only the left magnitude 4.2315 oz is recalled, the rest is recomputed
    found = two_planes(((5, 100), (4, 180)), ((2, 30), (6.5, 120), (4.5, 140)), ((2, 0), (6, 90), (7, 60)))
    left, right = (complex(each) for each in found.unbalance_gmm)
    assert abs(left) == pytest.approx(4.2315, rel=1e-4)
    assert abs(right) == pytest.approx(2.121729836, rel=1e-4)
    assert difference_deg(angle_deg(-left), 130.2942448) == pytest.approx(0.0, abs=0.01)
    assert difference_deg(angle_deg(-right), 320.7318638) == pytest.approx(0.0, abs=0.01)
