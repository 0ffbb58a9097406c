"""Unbalance from a trial mass, from a textbook.

Source: S. S. Rao, Mechanical Vibrations, chapter 9, the flywheel problem with a trial weight (SI edition).  Inputs found in
text (two homework sites); 47.5 g is one site's solution, the book's own answer was not seen.
"""

from __future__ import annotations

import pytest

from planner.machine.trial_masses import RawRun, solve_trials
from planner.rotor.vectors import angle_deg
from tests.textbook_rotor import Degrees
from tests.trial_samples import polar

SHARE = 0.0174  # 1.5 percent and half a degree


def test_single_plane_flywheel():
    runs = [
        RawRun(name="initial", readings=(polar(0.165, -15),), masses_gmm=(0j,)),
        RawRun(name="trial", readings=(polar(0.225, 35),), masses_gmm=(polar(50, 45),)),
    ]
    found = solve_trials(runs, sides=("left",), planes=("left",), reading_share=SHARE)
    to_add = -complex(found.unbalance_gmm[0])
    assert abs(to_add) == pytest.approx(47.5, rel=1e-3)
    # recomputed
    assert abs(to_add) == pytest.approx(47.53403631, rel=1e-4)
    assert angle_deg(to_add) == Degrees(128.2589703, within=0.01)
