"""What `bobplan spin` says before the plan."""

from __future__ import annotations

from typing import Any

from planner.cli.console import ANSWER_IS_NO, GOOD, leave, say, say_json
from planner.jobfile.job import Job
from planner.machine.spin import Spin
from planner.present.numbers import degrees, neat
from planner.present.pages.diagnosis import diagnosis_lines
from planner.present.pages.withheld import open_steps_words
from planner.present.words import (
    shown_amount_words,
    shown_vector_words,
    shown_words,
    spot_line,
)
from planner.rotor.vectors import angle_deg
from planner.steps.correction_question import pose
from planner.steps.diagnosis import SpinDiagnosis
from planner.steps.reading_questions import heavy_spots
from planner.steps.spin import Foretold


def spin_lines(
    job: Job, foretold: Foretold | None, found: SpinDiagnosis | None = None, *, spots: bool = True
) -> list[str]:
    """Return where the heavy spot is on each side as read, and how the reading compares with what was foretold.

    ``spots``: say where the heavy spots are; a plan that follows says it itself.
    """
    posed = pose(job)
    lines = [f"Spin {posed.spin_number} is in {job.files.job.name}."]
    if spots:
        lines += [
            spot_line(job, spot) for spot in heavy_spots(job, [complex(v) for v in posed.reading.vectors_gmm])
        ]
    if len(posed.state_numbers) > 1:
        scatter = " and ".join(
            shown_amount_words(job, side, each)
            for side, each in zip(("left", "right"), posed.reading.scatter_gmm, strict=True)
        )
        lines.append(f"mean of {len(posed.state_numbers)} spins; they scatter by {scatter} (left and right)")
    if foretold is not None:
        lines += _comparison(job, foretold)
    return lines + diagnosis_lines(job, found)


def reading_words(job: Job, spin: Spin) -> str:
    """Return what a spin read as the display showed it: ``left 1500 g*mm at 205°, right 1320 g*mm at 12°``."""
    return ", ".join(
        f"{name} {shown_words(job, side.amount)} at {degrees(side.angle_deg)}°"
        for name, side in (("left", spin.left), ("right", spin.right))
    )


def _comparison(job: Job, foretold: Foretold) -> list[str]:
    if foretold.looks_cut:
        lines = [
            f"{open_steps_words(foretold.open_steps, foretold.before_spin)}, but the reading looks as if cut.",
            "If so: `bobplan undo`, then this spin again with `--cut-as-planned`, so that the new holes "
            "are known.",
        ]
    else:
        lines = []
    what = "foretold" if foretold.cuts_between else f"as spin {foretold.before_spin}, nothing was cut since"
    for side, expected, measured in zip(
        ("left", "right"), foretold.expected_gmm, foretold.measured_gmm, strict=True
    ):
        miss = complex(measured - expected)
        lines.append(
            f"{side}: {what}: {shown_vector_words(job, side, complex(expected))}; off by {shown_vector_words(job, side, miss)}"
        )
    return lines


def foretold_json(foretold: Foretold | None) -> dict[str, Any] | None:
    """Return what was foretold as plain data."""
    if foretold is None:
        return None
    return {
        "before_spin": foretold.before_spin,
        "cuts_between": foretold.cuts_between,
        "looks_cut": foretold.looks_cut,
        "expected": [_vector(v) for v in foretold.expected_gmm],
        "measured": [_vector(v) for v in foretold.measured_gmm],
    }


def _vector(vector: complex) -> dict[str, float]:
    return {"amount_gmm": neat(abs(vector)), "angle_deg": neat(angle_deg(complex(vector)))}


def show_known_mass(job: Job, *, as_json: bool) -> None:
    """Say what the check spins prove, and end: 0 when all that they test is set right, 1 when not or nothing is proved."""
    from planner.present.pages.prove import check_json, check_lines
    from planner.steps.known_mass import check_known_masses
    from planner.steps.prove import settings_tested

    check = check_known_masses(job)
    tested = settings_tested(check)
    if as_json:
        say_json(check_json(job, check, tested=tested))
    else:
        say("\n".join(check_lines(job, check, tested=tested)))
        say("`bobplan prove` writes what is proved into the file, or mends what is wrong.")
    leave(GOOD if check.good else ANSWER_IS_NO)
