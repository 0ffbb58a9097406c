"""Rules that the user's own cuts break, said in the job's units."""

from __future__ import annotations

import re
from collections.abc import Sequence

from planner.correction.problem import CorrectionProblem
from planner.correction.verify.walls import NamedCut, wall_faults
from planner.cuts.cut import Cut
from planner.frames import ShaftAngle
from planner.jobfile.job import Job

_LENGTH = re.compile(r"(-?\d+(?:\.\d+)?) mm\b")
_INTO_A_HOLE = re.compile(r"runs \S+ \S+ into (?:old|cut|rim hole|face hole|slug)\b")
_COUNTED_TWICE = (
    "; what is metal no more is counted again there, so what is said to remain is wrong by that much: "
    "only a new spin shows it"
)


def rule_words(job: Job, text: str) -> str:
    """Return a broken rule as the verification words it, with lengths in the job's units.

    Where a cut runs into another hole the text goes on to say what that does to the numbers.
    """
    words = _LENGTH.sub(lambda found: job.units.text(float(found[1]), "length"), text)
    if job.machine.dial_deg(ShaftAngle(0.0)) != 0.0 or job.machine.dial_deg(ShaftAngle(90.0)) != 90.0:
        words += " (angles in the crankshaft's own frame)"
    return words + _COUNTED_TWICE if _INTO_A_HOLE.search(words) else words


def walls_broken_by(job: Job, problem: CorrectionProblem, cuts: Sequence[Cut]) -> tuple[str, ...]:
    """Return the walls that cuts break as they were made, in words.

    Parameters
    ----------
    job : Job
        For the units and the machine's counting.
    problem : CorrectionProblem
        The crankshaft before these cuts, with its old holes, keep-outs and oil drillings.
    cuts : sequence of Cut
        What was cut.
    """
    words: list[str] = []
    for counterweight in problem.counterweights:
        here = [
            NamedCut(name=f"{cut.kind} {cut.diameter_mm:g} mm in {cut.counterweight}", cut=cut, pinned=True)
            for cut in cuts
            if cut.counterweight == counterweight.name
        ]
        if here:
            broken = wall_faults(counterweight, here, problem=problem)
            words += [rule_words(job, text) for text in (*broken.faults, *broken.warnings)]
    return tuple(words)
