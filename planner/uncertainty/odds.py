"""The chance that a plan passes when depth, angle, drill, metal and reading are only as good as they are.

Every draw has its own errors, normally distributed with the standard uncertainties of the `ErrorModel`:

============ ===========================================================================================
depth        every hole its own
angle        every cut its own
diameter     one for all holes of one drill: a drill that cuts large always does
radius       one for the rim holes of one counterweight (its outer radius), every other cut its own
density      one for the crankshaft's metal, one for the slugs'
reading      amount and angle, each plane its own; averaged spins count with the root of their number
bob masses   every throw its own
============ ===========================================================================================

What a cut does is developed about its planned size: second order in the depth, first order in the rest (errors are
small against every size).  The change of its place along the shaft is neglected.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from planner.frames import TwoPlanes
from planner.rotor.crankshaft import Throw
from planner.rotor.limits import LimitRow
from planner.uncertainty.draws import Question, draw_planes, kept
from planner.uncertainty.error_model import ErrorModel
from planner.uncertainty.uncertain_cut import UncertainCut, uncertain_cut

__all__ = ["DRAWS", "SEED", "UncertainCut", "chance_to_pass", "uncertain_cut"]

DRAWS = 100_000
SEED = 20_240_229


def chance_to_pass(
    cuts: Sequence[UncertainCut],
    *,
    reading_gmm: Sequence[complex],
    planes_z_mm: TwoPlanes[float],
    limits: Sequence[LimitRow],
    errors: ErrorModel,
    shift_gmm: Sequence[complex] = (0j, 0j),
    readings: int = 1,
    throws: Sequence[Throw] = (),
    reading_times: tuple[float, float] = (1.0, 1.0),
    draws: int = DRAWS,
    seed: int = SEED,
) -> float:
    """Return the share of draws in which every limit is kept after the cuts.

    Parameters
    ----------
    cuts : sequence of UncertainCut
        The cuts still to be made, and those made since the reading.
    reading_gmm : sequence of 2 complex
        What the machine read, in the crankshaft frame [g*mm]; carries the reading's errors.
    planes_z_mm : tuple of 2 floats
        The reading planes [mm].
    limits : sequence of LimitRow
        The limits.
    errors : ErrorModel
        Standard uncertainties.
    shift_gmm : sequence of 2 complex
        What is added to the reading and known well (bobs, mounted parts, known errors) [g*mm].
    readings : int
        How many spins were averaged.
    throws : sequence of Throw
        Throws that carried a bob; empty for a bare crankshaft.
    reading_times : tuple of 2 floats
        How many times a reading's own error each plane is uncertain.
    draws, seed : int
        Number of draws, and where they start; equal input gives equal output.
    """
    question = Question(
        cuts=cuts,
        reading_gmm=reading_gmm,
        planes_z_mm=planes_z_mm,
        errors=errors,
        shift_gmm=shift_gmm,
        readings=readings,
        throws=throws,
        reading_times=reading_times,
    )
    start, change = draw_planes(question, draws=draws, seed=seed)
    return float(np.logical_and.reduce(kept(start, change, limits)).mean())
