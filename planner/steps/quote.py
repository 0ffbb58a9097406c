"""Before any spin: will heavy metal be needed, how much, at what price; or how much lighter the parts would have to be.

A crankshaft that was balanced for one bob and gets another is off by the difference, throw by throw.  That is the
unbalance to plan for; no reading is needed.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Mapping
from typing import Literal

from planner.correction.budget import Budget, Progress, budget_of
from planner.correction.problem import CorrectionProblem, PlanOutcome
from planner.correction.search.find_plan import find_plan
from planner.cuts.cut import Shop
from planner.engine.parts import bobs as bob_table
from planner.errors import InputError
from planner.frames import Shown, SideReading, TwoPlanes
from planner.jobfile.job import Job
from planner.machine.spin import Spin
from planner.records import dataclass
from planner.steps.alternatives import Effort, effort_of, is_late, with_slugs_at_ends, without_plan_words
from planner.steps.bob_window import BobWindow, bob_window_of, drilling_only, shift_per_gram_gmm
from planner.steps.chances import chances_of
from planner.steps.correction_question import Posed, pose
from planner.steps.picture import Picture, whole_picture_of
from planner.steps.slugs import slug_cost
from planner.steps.spin import bob_words
from planner.steps.wanted_chance import passing_of
from planner.uncertainty.passing import Chances

Likely = Literal["no", "likely", "yes", "not known"]
WITHIN_SHARE = 0.02
"""A crankshaft is off what it was built for by up to this share of the bob (common practice, from memory)."""
_LIGHTEN_SHARES = (0.0, 0.25, 0.5, 0.75, 1.0)
_ROOM_SHARE = 0.02
"""The last row stays this share of the window inside its proven end, where plans take few cuts."""


@dataclass(frozen=True, kw_only=True)
class QuoteRow(Effort):
    """One option: so much lighter bobs, and what is left to do then.

    ``lighter_g`` is off every bob; ``off_piston_g`` off every piston or pin (all of it counts as reciprocating), or
    ``off_rod_g`` off every rod's big end; None when throws carry different numbers of rods.  ``money`` is None when a
    price is missing.  ``chances`` are those of the cuts, for a crankshaft that is what the quote takes it for.
    """

    lighter_g: float
    off_piston_g: float | None
    off_rod_g: float | None
    feasible: bool
    slug_money: float | None = None
    labour_money: float = 0.0
    residual_gmm: TwoPlanes[complex] = TwoPlanes(0j, 0j)
    note: str = ""
    chances: Chances | None = None

    @property
    def money(self) -> float | None:
        """Slugs and labour together; None when a slug's price is missing."""
        if self.orders and self.slug_money is None:
            return None
        return (self.slug_money or 0.0) + self.labour_money


@dataclass(frozen=True, kw_only=True)
class Quote:
    """The answer before any spin.

    ``bob_g`` is the new bob (mean over the throws), ``built_for_g`` the old one, None when a spin's reading was taken.
    ``within_g`` is by how much bob the crankshaft may be off what it was built for, or what its picture says (``foretold``).
    """

    job: Job
    basis: str
    bob_g: float
    built_for_g: float | None
    within_g: float
    likely: Likely
    reason: str
    unbalance_gmm: TwoPlanes[complex]
    window: BobWindow
    rows: tuple[QuoteRow, ...]
    notes: tuple[str, ...] = ()
    foretold: bool = False

    @property
    def possible(self) -> bool:
        """True when at least one option has a plan."""
        return any(row.feasible for row in self.rows)


def quote_of(
    job: Job,
    *,
    bob_g: float | None = None,
    built_for_g: float | None = None,
    within_g: float | None = None,
    seconds: float | Budget = 10.0,
    progress: Progress | None = None,
) -> Quote:
    """Return what a crankshaft will need for its new bobs.

    Parameters
    ----------
    job : Job
        The job; its shop's prices and minutes are used.
    bob_g : float, optional
        The new bob on every throw [g]; what the job wants if left out.
    built_for_g : float, optional
        The bob the crankshaft was balanced for [g]; what its file says, else its last spin, if left out.
    within_g : float, optional
        By how much bob it may be off that [g]; 2 percent of it if left out, nothing for a reading.
    seconds : float or Budget
        Outer stop of all searches together [s].
    progress : callable, optional
        Called with what is being done.

    Raises
    ------
    InputError
        If the job says neither what the crankshaft was built for nor has a spin, or no bob is wanted.
    """
    question = question_of(job, bob_g=bob_g, built_for_g=built_for_g)
    asked, posed, wanted, built = question.job, question.posed, question.wanted_g, question.built_g
    picture = question.picture
    mean = sum(wanted.values()) / len(wanted)
    built_mean = None if built is None else sum(built.values()) / len(built)
    within = within_g if within_g is not None else WITHIN_SHARE * built_mean if built_mean else 0.0
    problem = posed.problem
    if picture is not None and within_g is None:
        within = _rough_bob_g(job, picture)
    budget = budget_of(seconds, progress)
    window = bob_window_of(asked, problem, bob_g=mean, seconds=budget, steps=2, nearest_end_only=True)
    drilled = find_plan(drilling_only(problem), seconds=budget, passing=passing_of(asked, posed))
    likely, reason = _likely(drilled, window, within, built_mean)
    rows = _rows(asked, posed, window, drilled, budget)
    return Quote(
        job=asked,
        basis=question.basis,
        bob_g=mean,
        built_for_g=built_mean,
        within_g=within,
        likely=likely,
        reason=reason,
        unbalance_gmm=problem.unbalance_gmm,
        window=window,
        rows=rows,
        notes=(*posed.notes, *question.notes),
        foretold=picture is not None,
    )


@dataclass(frozen=True, kw_only=True)
class QuoteQuestion:
    """What is to be corrected for new bobs, before a spin with them.

    ``built_g`` are the bobs it was balanced for, None where a reading or a ``picture`` says what it is off; ``basis`` says in
    words where that comes from.
    """

    job: Job
    posed: Posed
    basis: str
    wanted_g: Mapping[str, float]
    built_g: Mapping[str, float] | None
    picture: Picture | None
    notes: tuple[str, ...]


def question_of(job: Job, *, bob_g: float | None = None, built_for_g: float | None = None) -> QuoteQuestion:
    """Return the question that a quote answers; parameters and errors as in `quote_of`."""
    wanted = _wanted(job, bob_g)
    asked = dataclasses.replace(job, bobs_wanted_g=wanted)
    built, basis, notes = _built_for(job, built_for_g)
    picture = _picture(job, built_for_g) if built is None and basis == _BY_PICTURE else None
    if built is not None:
        asked = _as_if_spun(asked, built)
        notes = (*notes, *_part_notes(job))
    elif picture is not None:
        asked = _as_if_spun(asked, _all(job, 0.0))
    posed = pose(asked)
    if picture is not None:
        # it read nothing: what its picture foretells instead
        unbalance = posed.problem.unbalance_gmm.plus(picture.bare_gmm)
        posed = dataclasses.replace(
            posed, problem=dataclasses.replace(posed.problem, unbalance_gmm=unbalance)
        )
    return QuoteQuestion(
        job=asked, posed=posed, basis=basis, wanted_g=wanted, built_g=built, picture=picture, notes=notes
    )


def priced(
    shop: Shop,
    *,
    slug_price: Mapping[float, float] | None = None,
    minutes_per_cut: float | None = None,
    labour_per_hour: float | None = None,
) -> Shop:
    """Return a shop with other prices and minutes; what is None stays."""
    return dataclasses.replace(
        shop,
        slug_price={**shop.slug_price, **(slug_price or {})},
        minutes_per_cut=shop.minutes_per_cut if minutes_per_cut is None else minutes_per_cut,
        labour_per_hour=shop.labour_per_hour if labour_per_hour is None else labour_per_hour,
    )


def _wanted(job: Job, bob_g: float | None) -> Mapping[str, float]:
    if bob_g is not None:
        return {throw.name: bob_g for throw in job.crankshaft.throws}
    if job.bobs_wanted_g is None:
        raise InputError(
            "the job states no wanted bob mass, a quote needs the new one",
            hint="give `--bob GRAMS`, or the parts' weights under [parts]",
        )
    return job.bobs_wanted_g


def _built_for(
    job: Job, built_for_g: float | None
) -> tuple[Mapping[str, float] | None, str, tuple[str, ...]]:
    """Return the bobs the crankshaft was balanced for, None for a reading; where that comes from; remarks."""
    units, crankshaft = job.units, job.crankshaft
    percent = crankshaft.built_for_percent
    if built_for_g is not None:
        return _all(job, built_for_g), f"balanced for {units.text(built_for_g, 'mass')}, as given", ()
    if any(spin.known_mass is None for spin in job.spins):
        return None, "what the last spin read", ()
    if job.trials:
        return None, "what the trial runs came to", ()
    if crankshaft.built_for_bob_g is not None:
        bobs_built = crankshaft.built_bobs_g
        words = f"balanced for {bob_words(job, bobs_built).removesuffix(' on every throw')}, as the crankshaft's file says"
        remarks: tuple[str, ...] = ()
        if percent is not None:
            words += f" ({percent:g} percent of the reciprocating mass)"
            own = None if job.parts is None else 100.0 * job.parts.reciprocating_fraction
            if own is not None and abs(own - percent) > 1e-9:
                remarks = (f"it was built for {percent:g} percent, the new bob has {own:g} percent",)
        return bobs_built, words, remarks
    if percent is not None and job.parts is not None:
        old = dataclasses.replace(job.parts, reciprocating_fraction=percent / 100.0)
        bobs = bob_table(
            old, throws=[dataclasses.replace(throw, bob_wanted_g=None) for throw in crankshaft.throws]
        ).wanted_g()
        return (
            bobs,
            f"balanced for these parts with {percent:g} percent of the reciprocating mass, as the crankshaft's file says",
            (),
        )
    if _picture(job, None) is not None:
        return None, _BY_PICTURE, ("the picture is rough; a spin, or what it was built for, says more",)
    raise InputError(
        "neither what the crankshaft was built for nor a spin is known, a quote needs one of them",
        hint="give `--built-for GRAMS`, or built_for_bob in the crankshaft's file; or describe it whole: crankpins under "
        "[[throws]], arms under [[webs]]",
    )


_BY_PICTURE = "what the picture of the crankshaft foretells (counterweights, crankpins, arms)"


def _picture(job: Job, built_for_g: float | None) -> Picture | None:
    """Return the picture of a crankshaft that is described whole; None when it is not."""
    return None if built_for_g is not None else whole_picture_of(job)


def _rough_bob_g(job: Job, picture: Picture) -> float:
    """Return the picture's roughness as so much bob on every throw [g]; 0 where equal bobs cancel."""
    reach = [abs(complex(each)) for each in shift_per_gram_gmm(job)]
    if min(reach) < 1e-6:
        return 0.0
    return max(rough / each for rough, each in zip(picture.rough_gmm, reach, strict=True))


def _all(job: Job, bob_g: float) -> Mapping[str, float]:
    return {throw.name: bob_g for throw in job.crankshaft.throws}


def _as_if_spun(job: Job, built: Mapping[str, float]) -> Job:
    """Return the job as if the crankshaft had been spun with the bobs and parts it was built for and read nothing."""
    nothing = SideReading(amount=0.0, angle_deg=Shown(0.0))
    spin = Spin(
        left=nothing,
        right=nothing,
        bobs_g=dict(built),
        mounted=tuple(part.name for part in job.mounted if part.built_with),
    )
    return dataclasses.replace(job, spins=(spin,), cuts_made=(), known_errors=(), stored_plan=None)


def _part_notes(job: Job) -> tuple[str, ...]:
    """Return what is said of parts that the crankshaft was built with and won't run with, or the other way round."""
    gone = [part.name for part in job.mounted if part.built_with and not part.in_engine]
    new = [part.name for part in job.mounted if part.in_engine and not part.built_with]
    notes = []
    if gone:
        notes.append(
            f"it was balanced with {', '.join(gone)} and will run without: what they carried is to correct (`built_with = "
            "false` under [[mounted]] where it was not)"
        )
    if new:
        notes.append(
            f"it was balanced without {', '.join(new)} and will run with: what they carry is to correct"
        )
    return tuple(notes)


def _likely(
    drilled: PlanOutcome, window: BobWindow, within_g: float, built_g: float | None
) -> tuple[Likely, str]:
    # what time did not let be looked at says nothing of what heavy metal is needed
    unknown = is_late(drilled)
    late: tuple[Likely, str] = (
        "not known",
        "the time was up before a plan by drilling alone was found or ruled out (`--seconds 60`)",
    )
    if not window.matters:
        if unknown:
            return late
        if drilled.feasible:
            return "no", "equal bobs cancel in this crankshaft; drilling does what is left"
        return "likely", "equal bobs cancel in this crankshaft, but drilling alone was not found to be enough"
    if not drilled.feasible and built_g is not None and window.bob_g + within_g < built_g:
        proven = (
            "can't be enough, proven" if drilled.certificate is not None else "was not found to be enough"
        )
        return (
            "no",
            f"the new bobs are lighter: metal has to come off the counterweights, and drilling alone {proven}",
        )
    if window.proven_g is None:
        return "likely", "no equal bobs would let drilling alone do it: look at the reading first"
    low, high = window.proven_g
    if window.bob_g - within_g > high:
        return "yes", "the new bobs are above what drilling alone can balance, proven"
    if window.bob_g + within_g < low:
        return "no", "the counterweights are too heavy, not too light: more than drilling has to come off"
    if not drilled.feasible:
        if drilled.certificate is not None and window.bob_g > high:
            return "likely", "the new bobs are above what drilling alone can balance, but not by much"
        if unknown:
            return late
        return "likely", "no plan by drilling alone was found"
    if window.bob_g + within_g <= high:
        return "no", "drilling alone does it, with room for what the crankshaft may be off"
    return (
        "likely",
        "drilling alone does it if the crankshaft is what it was built for, but there is little room",
    )


def _rows(
    job: Job,
    posed: Posed,
    window: BobWindow,
    drilled: PlanOutcome,
    budget: Budget,
) -> tuple[QuoteRow, ...]:
    """Return buying and lightening side by side; one row when drilling alone does it."""
    problem = posed.problem
    if drilled.feasible:
        return (_row(job, posed, drilling_only(problem), drilled, window, 0.0),)
    with_slugs = with_slugs_at_ends(problem) if problem.shop.slug_diameters_mm else problem
    most = 0.0
    if window.proven_g is not None and window.too_heavy_g > 0.0:
        low, high = window.proven_g
        most = window.bob_g - window.likely_g(_ROOM_SHARE * (high - low))
    per_gram = shift_per_gram_gmm(job)
    rows = []
    for share in _LIGHTEN_SHARES if most > 0.0 else (0.0,):
        budget.say(f"quote: bobs {share * most:.0f} g lighter")
        lighter = share * most
        asked = dataclasses.replace(
            drilling_only(with_slugs) if share == 1.0 else with_slugs,
            unbalance_gmm=problem.unbalance_gmm.plus(per_gram, -lighter),
        )
        passing = passing_of(job, posed.with_unbalance(asked.unbalance_gmm), problem=asked)
        outcome = find_plan(asked, seconds=budget, passing=passing)
        rows.append(_row(job, posed, asked, outcome, window, lighter))
    return tuple(rows)


def _row(
    job: Job,
    posed: Posed,
    problem: CorrectionProblem,
    outcome: PlanOutcome,
    window: BobWindow,
    lighter_g: float,
) -> QuoteRow:
    rods = job.crankshaft.rods_per_throw
    piston = lighter_g / window.g_per_piston_g if window.g_per_piston_g else None
    rod = lighter_g / rods if rods else None
    if not outcome.feasible:
        why = without_plan_words(outcome)
        return QuoteRow(lighter_g=lighter_g, off_piston_g=piston, off_rod_g=rod, feasible=False, note=why)
    effort = effort_of(problem, outcome.cuts)
    lightened = posed.with_unbalance(problem.unbalance_gmm)
    return QuoteRow(
        lighter_g=lighter_g,
        off_piston_g=piston,
        off_rod_g=rod,
        feasible=True,
        **effort,
        slug_money=slug_cost(effort["orders"]),
        labour_money=effort["minutes"] / 60.0 * problem.shop.labour_per_hour,
        residual_gmm=outcome.residual_gmm,
        chances=chances_of(job, lightened, [p.cut for p in outcome.cuts], problem=problem),
    )
