"""Many jobs at once: which files are meant, and each one's plan as a row."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from planner.cuts.cut import metal_moved
from planner.errors import InputError
from planner.jobfile.find import job_files
from planner.records import dataclass
from planner.rotor.crankshaft import HEAVY_METAL
from planner.steps.plan_answer import PlanAnswer


@dataclass(frozen=True, kw_only=True)
class JobRow:
    """One job of many, in short.

    ``share_of_limit`` is the largest residual as a share of its limit, ``chance_inside`` the chance that the limits are truly
    kept; both None without a plan.  ``error`` says why a job could not be planned.
    """

    job: str
    title: str = ""
    verdict: str = ""
    cuts: int = 0
    slugs: int = 0
    drilled_g: float = 0.0
    heavy_metal_g: float = 0.0
    share_of_limit: float | None = None
    chance_inside: float | None = None
    stopped_by_time: bool = False
    questions: tuple[str, ...] = ()
    error: str = ""


def named_jobs(named: Sequence[str], cwd: Path) -> list[str]:
    """Return the job files that several names, or one folder of jobs, mean; one name alone is returned as it is.

    A folder stands for all job files in it, or where it has none, for those of the folders right below it.

    Raises
    ------
    InputError
        If a folder among several names has no job.
    """
    found: list[str] = []
    for name in named:
        folder = cwd / Path(name).expanduser()
        if not folder.is_dir():
            found.append(name)
            continue
        here = job_files(folder)
        below = [each for sub in sorted(folder.iterdir()) if sub.is_dir() for each in job_files(sub)]
        inside = list(here) if here else below
        if not inside and len(named) > 1:
            raise InputError(f"there is no job in the folder `{name}`", hint="name the job files")
        # a single name keeps its own words for what is wrong with it
        found += [str(each) for each in inside] or [name]
    return found


def row_of(answer: PlanAnswer, *, job: str) -> JobRow:
    """Return a plan as a row."""
    outcome = answer.outcome
    moved = metal_moved(planned.effect for planned in outcome.cuts)
    none = not outcome.feasible and not answer.steps
    verdict = answer.verdict
    if none:
        verdict = "no plan, proven" if outcome.certificate is not None else "no plan found"
    return JobRow(
        job=job,
        title=answer.job.details.title,
        verdict=verdict,
        cuts=len(answer.steps),
        slugs=sum(planned.cut.kind in HEAVY_METAL for planned in outcome.cuts),
        drilled_g=float(moved.drilled_g),
        heavy_metal_g=float(moved.slugs_g),
        share_of_limit=None if none else answer.share_of_limit,
        chance_inside=answer.chance_to_pass,
        stopped_by_time=outcome.proof.stopped_by_time,
        questions=answer.asked,
    )
