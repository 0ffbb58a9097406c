"""What a spin says before the plan: where it is heavy, how it compares with what was foretold, what went wrong."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from planner.frames import SIDES
from planner.jobfile.job import Job
from planner.present.document import Block, block, lines
from planner.present.pages.diagnosis import diagnosis_parts
from planner.present.pages.plan import heavy_spot_lines
from planner.present.pages.withheld import open_steps_words
from planner.present.to_json import picked
from planner.present.words import shown_amount_words, shown_vector_words
from planner.steps.correction_question import pose
from planner.steps.diagnosis import SpinDiagnosis
from planner.steps.picture import whole_picture_of
from planner.steps.spin import Foretold


def spin_block(
    job: Job, foretold: Foretold | None, found: SpinDiagnosis | None = None, *, spots: bool = True
) -> Block:
    """Return where the heavy spot is on each side as read, and how the reading compares with what was foretold.

    ``spots``: say where the heavy spots are; a plan that follows says it itself.
    """
    posed = pose(job)
    mean = []
    if len(posed.state_numbers) > 1:
        scatter = " and ".join(
            shown_amount_words(job, side, each) for side, each in posed.reading.scatter_gmm.items()
        )
        mean.append(f"mean of {len(posed.state_numbers)} spins; they scatter by {scatter} (left and right)")
    return block(
        f"Spin {posed.spin_number} is in {job.files.job.name}.",
        lines(
            *(heavy_spot_lines(job, [complex(v) for v in posed.reading.vectors_gmm]) if spots else []),
            *mean,
            *([] if foretold is None else _comparison(job, foretold)),
            *_picture(job),
        ),
        diagnosis_parts(job, found),
    )


def _comparison(job: Job, foretold: Foretold) -> Iterator[str]:
    if foretold.looks_cut:
        yield f"{open_steps_words(foretold.open_steps, foretold.before_spin)}, but the reading looks as if cut."
        yield (
            "If so: `bobplan undo`, then this spin again with `--cut-as-planned`, so that the new holes are known."
        )
    yield from compared_words(job, foretold)


def compared_words(job: Job, foretold: Foretold) -> Iterator[str]:
    """Yield how a reading compares with what was foretold for it, a sentence a side."""
    what = "foretold" if foretold.cuts_between else f"as spin {foretold.before_spin}, nothing was cut since"
    for side, expected, measured in zip(SIDES, foretold.expected_gmm, foretold.measured_gmm, strict=True):
        miss = shown_vector_words(job, side, complex(measured - expected))
        yield f"{side}: {what}: {shown_vector_words(job, side, complex(expected))}; off by {miss}"


def _picture(job: Job) -> Iterator[str]:
    """Yield how the first spin compares with the crankshaft's picture, where that is whole."""
    if sum(spin.known_mass is None for spin in job.spins) != 1:
        return
    picture = whole_picture_of(job)
    if picture is None or picture.difference_gmm is None:
        return
    off = " and ".join(
        shown_amount_words(job, side, abs(each)) for side, each in picture.difference_gmm.items()
    )
    if picture.fits:
        yield f"The crankshaft's picture foretold this within its roughness (off by {off}, left and right)."
    else:
        yield (
            f"The crankshaft's picture foretold something else (off by {off}, left and right): sizes, throws, bobs or settings "
            "are not what the file says; `bobplan profile --whole` shows it part by part."
        )


def foretold_json(foretold: Foretold | None) -> dict[str, Any] | None:
    """Return what was foretold as plain data."""
    fields = "before_spin cuts_between looks_cut expected=expected_gmm measured=measured_gmm"
    return None if foretold is None else picked(foretold, fields)
