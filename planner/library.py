"""What `import planner` gives: jobs loaded and changed, planned, judged, matched and quoted, one or a thousand of them.

Every result shows itself in one line, as a picture in a notebook, and as plain data; ``answer`` is the whole record.  What
the command line asks a person (a reading that makes no sense, a setting that was never proved) stands in ``questions``,
``warnings`` and ``notes`` here: nothing is asked, nothing is stored.
"""

from __future__ import annotations

import itertools
import os
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from html import escape
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any, Union

from planner.errors import BobplanError, InputError, NoAnswerError
from planner.frames import TwoPlanes
from planner.quantity import percent
from planner.records import dataclass

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from planner.jobfile.job import Job
    from planner.steps.alternatives import Alternative
    from planner.steps.bobs import BobsAnswer
    from planner.steps.check import CheckAnswer
    from planner.steps.match import MatchAnswer
    from planner.steps.odds import OddsAnswer
    from planner.steps.plan_answer import PlanAnswer, PlanStep
    from planner.steps.quote import Quote as QuoteAnswer
    from planner.steps.ways_out import WaysOut

Progress = Callable[[str], None]
JobOrFile = Union["Job", str, Path]


class WithheldError(NoAnswerError):
    """No cut list: the newest spin speaks against the machine's settings, or against the cuts that were entered."""


class Result:
    """What a step of the job came to; ``answer`` is the whole record of it.

    A result is called like the command that prints it, and like that command's page.
    """

    answer: Any

    def to_dict(self) -> dict[str, Any]:
        """Return it as plain data: the same as the command's ``--json``."""
        data: dict[str, Any] = self._page("json")(self.answer)
        return data

    def to_text(self) -> str:
        """Return it as the command prints it."""
        from planner.present.to_text import to_text

        return to_text(self._page("document")(self.answer))

    def _page(self, what: str) -> Callable[[Any], Any]:
        name = type(self).__name__.lower()
        page: Callable[[Any], Any] = getattr(import_module(f"planner.present.pages.{name}"), f"{name}_{what}")
        return page

    def _repr_html_(self) -> str:
        """What a notebook shows."""
        return f"<pre>{escape(self.to_text())}</pre>"


@dataclass(frozen=True, repr=False)
class Plan(Result):
    """A correction plan: `steps` to cut, what remains, what is proven of it.

    Angles [deg] are in the crankshaft's frame but for ``dial_deg`` and ``machine_angle_deg``; ``*_gmm`` vectors are pairs
    (left, right) of complex numbers [g*mm] that point to the heavy spot.
    """

    answer: PlanAnswer

    @property
    def steps(self) -> tuple[PlanStep, ...]:
        """The cuts in the order of cutting."""
        return self.answer.steps

    @property
    def feasible(self) -> bool:
        """Whether the cuts, none included, reach the tolerance."""
        return self.answer.outcome.feasible

    @property
    def verdict(self) -> str:
        """``in tolerance``, ``too close to call`` or ``out of tolerance``, if cut as planned."""
        return self.answer.verdict

    @property
    def chance_inside(self) -> float | None:
        """The chance [0 to 1] that the limits are truly kept once it is cut; None without a plan."""
        return self.answer.chance_to_pass

    @property
    def residual_gmm(self) -> TwoPlanes[complex]:
        """What remains (left, right) [g*mm], reckoned by the verification from the rounded numbers."""
        return self.answer.residual_gmm

    @property
    def worst_share(self) -> float:
        """The largest residual as a share of its limit; 1 is the limit."""
        return self.answer.share_of_limit

    def rows(self) -> list[dict[str, Any]]:
        """Return one mapping per cut, for any table library; keys as in `to_dict`'s ``steps``."""
        steps: list[dict[str, Any]] = self.to_dict()["steps"]
        return steps

    def to_dict(self) -> dict[str, Any]:
        """Return the plan as plain data: the same as ``bobplan plan --json``."""
        from planner.present.pages.plan_json import plan_json

        return plan_json(self.answer)

    def alternatives(self, *, seconds: float = 10.0) -> tuple[Alternative, ...]:
        """Return other ways to correct, side by side; ``seconds`` is the outer stop of the searches."""
        from planner.steps.plan import with_alternatives

        return with_alternatives(self.answer, seconds=seconds).alternatives

    def ways_out(self, *, seconds: float = 10.0) -> WaysOut | None:
        """Return what else would do it where there is no plan; None where there is one."""
        from planner.steps.plan import plan_job

        if self.feasible or self.steps:
            return None
        return plan_job(self.answer.job, seconds=seconds).ways_out

    def bob_window_g(self, *, seconds: float = 10.0) -> tuple[float, float] | None:
        """Return the lightest and heaviest bob per throw [g] that drilling could do; outside is proven, None: none is."""
        from planner.steps.plan import with_bob_window

        window = with_bob_window(self.answer, seconds=seconds).heavy_metal.window
        return None if window is None else window.proven_g

    def __repr__(self) -> str:
        """A line: verdict, cuts, how near to the limit, chance."""
        if not self.feasible and not self.steps:
            proven = "proven" if self.answer.outcome.certificate is not None else "not proven"
            return f"<Plan: none reaches the tolerance ({proven})>"
        chance = "" if self.chance_inside is None else f", {self.chance_inside:.0%} inside"
        cuts = "; ".join(
            f"{step.label} {step.cut.kind} on {step.cut.counterweight} at {step.dial_deg:g}"
            for step in self.steps
        )
        return (
            f"<Plan: {self.verdict}, {self.worst_share:.0%} of the limit{chance}: {cuts or 'nothing to cut'}>"
        )

    def _repr_html_(self) -> str:
        import io

        from planner.present.drawings.gallery import plan_figure
        from planner.present.drawings.save import SETTINGS, quiet_about_glyphs

        drawn = ""
        if self.steps:
            import matplotlib as mpl

            picture = io.StringIO()
            with mpl.rc_context(SETTINGS), quiet_about_glyphs():
                plan_figure(self.answer).savefig(picture, format="svg", metadata={"Date": None})
            svg = picture.getvalue()
            drawn = f'<div style="max-width:60em">{svg[svg.index("<svg") :]}</div>'
        return f"<pre>{escape(self.to_text())}</pre>{drawn}"


@dataclass(frozen=True, repr=False)
class Check(Result):
    """The newest state against the tolerance."""

    answer: CheckAnswer

    @property
    def verdict(self) -> str:
        """``in tolerance``, ``too close to call`` or ``out of tolerance``."""
        return self.answer.verdict

    def __repr__(self) -> str:
        """A line: the verdict and each limit."""
        limits = ", ".join(
            f"{each.at} {percent(each.amount_gmm / each.tolerance_gmm)}" for each in self.answer.judged
        )
        return f"<Check: {self.verdict}; {limits} of the limit>"


@dataclass(frozen=True, repr=False)
class Odds(Result):
    """The chance that the next spin passes, and which error matters most."""

    answer: OddsAnswer

    def __repr__(self) -> str:
        """A line: the chance."""
        chance = self.answer.plan.chance_to_pass
        return "<Odds: no plan>" if chance is None else f"<Odds: {percent(chance)} inside>"


@dataclass(frozen=True, repr=False)
class Match(Result):
    """Parts matched: what to grind off which, and which part on which rod."""

    answer: MatchAnswer

    def rows(self) -> list[dict[str, str]]:
        """Return one mapping per part, as ``bobplan match --csv`` writes them."""
        from planner.present.pages.match import csv_rows

        head, *lines = csv_rows(self.answer)
        return [dict(zip(head, line, strict=True)) for line in lines]

    def __repr__(self) -> str:
        """A line: the kinds of parts."""
        return f"<Match: {', '.join(line.part.name for line in self.answer.kinds)}>"


@dataclass(frozen=True, repr=False)
class Bobs(Result):
    """What is clamped on every throw, and what it is made of."""

    answer: BobsAnswer

    @property
    def bobs_g(self) -> dict[str, float]:
        """The bob of every throw [g]."""
        from planner.steps.bobs import wanted_g

        return dict(wanted_g(self.answer.job))

    def __repr__(self) -> str:
        """A line: throw and bob."""
        return f"<Bobs: {', '.join(f'{throw} {mass:.1f} g' for throw, mass in self.bobs_g.items())}>"


@dataclass(frozen=True, repr=False)
class Quote(Result):
    """Before any spin: whether heavy metal is likely, how much, at what price."""

    answer: QuoteAnswer

    def __repr__(self) -> str:
        """A line: whether it is possible."""
        return f"<Quote: {'possible' if self.answer.possible else 'nothing found that does it'}>"


@dataclass(frozen=True, kw_only=True)
class Failed:
    """A job that could not be planned: its file, what was wrong, what to do about it."""

    job: str
    error: str
    hint: str | None = None

    def to_dict(self) -> dict[str, Any]:
        """Return it as plain data."""
        return {"job": self.job, "error": self.error, "hint": self.hint}


def load_job(job: str | Path) -> Job:
    """Read and check a job.

    Parameters
    ----------
    job : str or Path
        The job file, or a folder with exactly one job file.

    Returns
    -------
    Job
        Everything checked, in mm, g, g*mm, and degrees of the crankshaft's frame.

    Raises
    ------
    InputError
        If there is no such file, or the folder has none or several.
    FileFaultsError
        With every fault of all files.

    Examples
    --------
    >>> import planner as bp
    >>> bp.load_job("examples/cross_plane_v8").units.length
    'mm'
    """
    from planner.jobfile.find import find_job
    from planner.jobfile.read import load_job as load

    return load(find_job(os.fspath(job), Path.cwd()))


def plan(
    job: JobOrFile, *, seconds: float = 10.0, progress: Progress | None = None, anyway: bool = False
) -> Plan:
    """Plan the correction for the newest spin; nothing else is worked out, nothing is stored.

    Parameters
    ----------
    job : Job, str or Path
        The job, or its file or folder.
    seconds : float
        Outer stop of all searches together [s]; where it strikes, ``answer.outcome.proof.stopped_by_time`` says so.
    progress : callable, optional
        Called now and then with a short text.
    anyway : bool
        Plan even where the newest spin speaks against the machine's settings.

    Returns
    -------
    Plan
        Also where no plan is possible: then ``feasible`` is False.

    Raises
    ------
    InputError
        If the job lacks something that a plan needs.
    WithheldError
        If the newest spin speaks against the settings or the cuts entered.

    Examples
    --------
    >>> import planner as bp
    >>> job = bp.load_job("examples/cross_plane_v8")
    >>> [step.cut.kind for step in bp.plan(job).steps]
    ['rim hole', 'rim hole']
    """
    from planner.steps.plan import plan_job
    from planner.steps.removal_ratio import with_plan_factor

    loaded = _loaded(job)
    if not anyway:
        _refuse_withheld(loaded)
    answer = plan_job(
        with_plan_factor(loaded, anew=True), seconds=seconds, progress=progress, anew=True, extras=False
    )
    return Plan(answer)


def plan_many(
    jobs: Iterable[JobOrFile],
    *,
    workers: int | None = None,
    seconds: float = 10.0,
    progress: Progress | None = None,
    anyway: bool = False,
) -> Iterator[Plan | Failed]:
    """Plan many jobs side by side, and give each result as soon as it and those before it are done.

    Parameters
    ----------
    jobs : iterable of Job, str or Path
        Read one after another as they are needed: a generator of any length does.
    workers : int, optional
        Processes; left out, as many as the machine has processors.  1 plans here, without another process.
    seconds : float
        Outer stop of each plan's searches [s].
    progress : callable, optional
        Called after each job with a short text.
    anyway : bool
        See `plan`.

    Yields
    ------
    Plan or Failed
        In the order of ``jobs``; a job that can't be read or planned doesn't stop the others.

    Notes
    -----
    In a script, call it below ``if __name__ == "__main__":``, as Python's own process pools want it.
    """
    if workers is not None and workers < 1:
        raise InputError(f"workers={workers}: at least 1 is needed")
    count = workers or os.cpu_count() or 1
    numbered = enumerate(jobs, start=1)
    if count == 1:
        for number, job in numbered:
            yield _told(_planned(job, seconds, anyway), number, progress)
        return
    from concurrent.futures import Future, ProcessPoolExecutor

    with ProcessPoolExecutor(count) as pool:
        waiting: deque[tuple[int, Future[Plan | Failed]]] = deque()

        def hand_out(how_many: int) -> None:
            for number, job in itertools.islice(numbered, how_many):
                waiting.append((number, pool.submit(_planned, job, seconds, anyway)))

        # a few ahead, so that no worker waits and no more than that is ever held
        hand_out(4 * count)
        try:
            while waiting:
                number, future = waiting.popleft()
                result = future.result()
                hand_out(1)
                yield _told(result, number, progress)
        finally:
            for _, future in waiting:
                future.cancel()


def check(job: JobOrFile) -> Check:
    """Judge the newest state against the tolerance: in, out, or too close to call."""
    from planner.steps.check import check_job
    from planner.steps.dialled import cuts_since, ensure_told

    loaded = _loaded(job)
    if cuts_since(loaded):
        ensure_told(loaded)
    return Check(check_job(loaded))


def odds(
    job: JobOrFile,
    *,
    draws: int | None = None,
    seed: int | None = None,
    seconds: float = 10.0,
    anyway: bool = False,
) -> Odds:
    """Work out the chance that the next spin passes with the present plan, and which error matters most.

    Parameters
    ----------
    draws, seed : int, optional
        How many draws, and where they start: the same give the same answer.
    seconds : float
        Outer stop of the search for the plan [s].
    anyway : bool
        See `plan`.
    """
    from planner.steps.odds import odds_of
    from planner.steps.removal_ratio import with_plan_factor

    loaded = _loaded(job)
    if not anyway:
        _refuse_withheld(loaded)
    given: dict[str, Any] = {"draws": draws, "seed": seed}
    keys = {key: value for key, value in given.items() if value is not None}
    return Odds(odds_of(with_plan_factor(loaded), seconds=seconds, **keys))


def match(job: JobOrFile, *, pair: bool = False) -> Match:
    """Match the weighed parts of a job; with ``pair`` also which part goes on which rod."""
    from planner.steps.match import match_job

    return Match(match_job(_loaded(job), pair=pair))


def bobs(job: JobOrFile) -> Bobs:
    """Work out the bob of every throw from the weighed parts."""
    from planner.steps.bobs import bobs_of

    return Bobs(bobs_of(_loaded(job)))


def quote(
    job: JobOrFile, *, bob_g: float | None = None, built_for_g: float | None = None, seconds: float = 10.0
) -> Quote:
    """Say before any spin whether heavy metal is likely, how much, and at what price.

    Parameters
    ----------
    bob_g : float, optional
        The bob of every throw that the parts will want [g]; left out, from the job's parts.
    built_for_g : float, optional
        The bob that the crankshaft was balanced for [g]; left out, its last spin, else its file.
    seconds : float
        Outer stop of the searches [s].
    """
    from planner.steps.quote import quote_of

    return Quote(quote_of(_loaded(job), bob_g=bob_g, built_for_g=built_for_g, seconds=seconds))


def plot_plan(plan: Plan, *, ax: Axes | None = None) -> Axes:
    """Draw the crankshaft from the side with the cuts of a plan on their counterweights.

    Parameters
    ----------
    plan : Plan
        The plan.
    ax : matplotlib Axes, optional
        Where to draw; left out, in a figure of its own.

    Raises
    ------
    InputError
        If the plan has no cut.
    """
    from planner.present.drawings.gallery import plot_side_view

    return plot_side_view(plan.answer, ax=ax)


def _loaded(job: JobOrFile) -> Job:
    return load_job(job) if isinstance(job, str | Path) else job


def _refuse_withheld(job: Job) -> None:
    from planner.steps.withheld import withheld_of

    withheld = withheld_of(job)
    if withheld is not None:
        from planner.present.pages.withheld import withheld_document
        from planner.present.to_text import WHOLE, to_text

        raise WithheldError(
            to_text(withheld_document(job, withheld), columns=WHOLE),
            hint="mend what it names; or plan with `anyway=True`",
        )


def _planned(job: JobOrFile, seconds: float, anyway: bool) -> Plan | Failed:
    """Return the plan of a job, or why there is none; errors become words, since not all of them pass between processes."""
    called = str(job) if isinstance(job, str | Path) else str(job.files.job)
    try:
        return plan(job, seconds=seconds, anyway=anyway)
    except BobplanError as error:
        return Failed(job=called, error=error.message, hint=error.hint)
    except Exception as error:  # a fault of the program in one job must not lose the other jobs' plans
        return Failed(job=called, error=f"internal error: {type(error).__name__}: {error}")


def _told(result: Plan | Failed, number: int, progress: Progress | None) -> Plan | Failed:
    if progress is not None:
        if isinstance(result, Failed):
            progress(f"job {number}: {result.error.splitlines()[0]}")
        else:
            progress(f"job {number}: {result!r}")
    return result
