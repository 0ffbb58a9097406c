"""The planner: the plan that a good operator would choose - with what is proven of it, or a reason why there is none.

What is wanted, one after another:

1. drilling before heavy metal (`heavy_metal` of the shop decides)
2. the fewest cuts with which the next spin passes its check with the wanted chance (`prefer_cuts = "fewest"`: the fewest
   that reach the bare tolerance)
3. the least heavy metal
4. closest to zero, down to what is close enough
5. the least metal drilled (`prefer = "least metal"` puts it before 4, inside the aim); then undershoot, one drill, few
   counterweights, a fixed order

The stages, each a module of its own:

1. the question in the one form that its turned, mirrored and re-ordered versions share (`canonical`)
2. nothing to do? (`ordering`)
3. everything that could be cut (`blocks`), with outer bounds on its reach (`supports`)
4. one or two cuts: all of them (`few`, `pairs`)
5. certificate: can any number of cuts do it? (`master`, a linear program; where the first tries fail, `packing`,
   `room_proof`, `rim_rows`, `whole_packings`)
6. more cuts: a lower bound on their number for every plan on the grid (`master`), signatures of least cost -> fans
   (`starts`) -> pair moves on the shop's grid (`polish`), number after number until one is good enough (`attempt`)
7. among plans that cost nearly the same the one that is wanted (`choice`); the shop's order (`ordering`)
8. the plan checked by the other route (`verify`); one that it faults gives way to the next best

There is no clock inside the search: limits on passes, nodes and pairs end it, so that the same input gives the same
plan.  `budget` is the outer stop; a plan found under it says so.
"""

from __future__ import annotations

import contextlib
from collections.abc import Callable
from dataclasses import replace

from planner.correction.budget import Budget, TimeIsUpError, budget_of
from planner.correction.candidates.block import Block
from planner.correction.candidates.blocks import build_blocks
from planner.correction.canonical import Canonical, canonical
from planner.correction.ordering import cost_of, in_order, planned, residual_gmm, worst_share
from planner.correction.problem import Certificate, CorrectionProblem, PlannedCut, PlanOutcome, Proof
from planner.correction.search.one_or_two_cuts import Found
from planner.correction.search.stages import Attempt
from planner.correction.search.wanted_cuts import Passing
from planner.correction.verify.verify_plan import verify
from planner.cuts.cut import Cut
from planner.frames import TwoPlanes
from planner.quantity import percent
from planner.records import dataclass
from planner.rotor.crankshaft import DRILLING, HEAVY_METAL, CutKind

Progress = Callable[[str], None]
"""Called with what is being done, in words for the user."""

NO_HEAVY_METAL: tuple[CutKind, ...] = (*DRILLING, "plug")


def find_plan(
    problem: CorrectionProblem,
    *,
    seconds: float | Budget = 10.0,
    passing: Passing | None = None,
    quick: bool = False,
    progress: Progress | None = None,
) -> PlanOutcome:
    """Return the best plan, with what is proven of it.

    Parameters
    ----------
    problem : CorrectionProblem
        What has to be corrected, with which limits, counterweights and shop.
    seconds : float or Budget
        Outer stop [s], or what is left of the command's.
    passing : Passing, optional
        What the next spin needs to pass; left out, the fewest cuts are those on the bare tolerance.
    quick : bool
        Look for some plan only, with little work: where the first tries find none, none is found.
    progress : callable, optional
        Called with a text as the search goes on; ``a plan of N cuts`` as soon as there is one.

    Returns
    -------
    PlanOutcome
        ``feasible`` with a plan; or not feasible with a certificate; or neither, with the best effort.

    Raises
    ------
    InputError
        If a pinned cut can't be what it says, or the two planes are at one place.
    """
    search = _Search(problem, budget_of(seconds), passing, progress, quick=quick)
    allowed = set(problem.shop.allow)
    heavy = allowed - set(NO_HEAVY_METAL)
    drills = allowed & set(NO_HEAVY_METAL)
    use = problem.shop.heavy_metal
    if use == "never":
        return search.run(NO_HEAVY_METAL)
    if use == "allowed" or not heavy or not drills:
        return search.run(problem.shop.allow)
    if not any(heavy & set(each.cuts) for each in problem.counterweights):
        return search.run(NO_HEAVY_METAL)

    def a_plan_in_hand() -> None:
        """Look for some plan with heavy metal, so that there is one should the time be up before drilling is decided."""
        search.tell("drilling alone takes a long search, looking for some plan with heavy metal first")
        attempt = search.attempt(problem.shop.allow)
        if attempt.some_plan() is None:
            attempt.pack()

    drilled = search.run(NO_HEAVY_METAL, a_plan_in_hand)
    if drilled.feasible:
        return replace(drilled, with_heavy_metal=search.with_heavy_metal(drilled))
    search.tell("drilling alone does not do it, looking for heavy metal")
    outcome = search.run(problem.shop.allow)
    return replace(outcome, drilling=drilled)


@dataclass(frozen=True)
class _Best:
    """A plan as cuts of the user's crankshaft, with the place it came from."""

    found: Found
    cuts: tuple[PlannedCut, ...]


class _Search:
    """One question with what all its searches share."""

    def __init__(
        self,
        problem: CorrectionProblem,
        budget: Budget,
        passing: Passing | None,
        progress: Progress | None,
        *,
        quick: bool,
    ) -> None:
        self.quick = quick
        self.problem = problem
        self.budget = budget
        self.passing = passing
        self.form: Canonical = canonical(problem)
        self.pinned = tuple(planned(problem, cut, pinned=True) for cut in problem.fixed)
        self._progress = progress
        self._attempts: dict[tuple[CutKind, ...], Attempt] = {}

    def tell(self, text: str) -> None:
        """Say what is being done."""
        if self._progress is not None:
            self._progress(text)

    def attempt(self, kinds: tuple[CutKind, ...], before_long: Callable[[], None] = lambda: None) -> Attempt:
        """Return the search with some kinds of cuts, as far as it has come.

        Raises
        ------
        TimeIsUpError
            If the time is up before everything is laid out.
        """
        if kinds not in self._attempts:
            self.tell("laying out what can be cut")
            blocks = [block for block in build_blocks(self.form.problem, self.budget) if block.kind in kinds]
            self._attempts[kinds] = self._attempt_with(blocks, before_long)
        return self._attempts[kinds]

    def with_heavy_metal(self, drilled: PlanOutcome) -> tuple[PlannedCut, ...]:
        """Return the cuts of a plan with heavy metal that was met, if they are fewer and pass as well; none is searched for."""
        attempt = self._attempts.get(self.problem.shop.allow)
        if attempt is None or attempt.in_hand is None:
            return ()
        cuts = self._cuts_of(attempt.in_hand)
        own = [item.cut for item in cuts]
        heavy = any(item.cut.kind in HEAVY_METAL and not item.pinned for item in cuts)
        if not heavy or len(cuts) >= len(drilled.cuts) or not verify(self.problem, own).good:
            return ()
        if self.passing is not None and drilled.chance is not None:
            return cuts if self.passing.chance(own) >= min(self.passing.wanted, drilled.chance) else ()
        return cuts

    def _attempt_with(self, blocks: list[Block], before_long: Callable[[], None] = lambda: None) -> Attempt:
        asked = self.form.problem
        own_pinned = tuple(planned(asked, cut, pinned=True) for cut in asked.fixed)
        return Attempt(
            asked, residual_gmm(asked, own_pinned), blocks, self.budget, self.passing, self._chance_of,
            quick=self.quick, before_long=before_long,
        )  # fmt: skip

    def run(self, kinds: tuple[CutKind, ...], before_long: Callable[[], None] = lambda: None) -> PlanOutcome:
        """Return the answer with some kinds of cuts; ``before_long`` is called before what takes long."""
        problem = self.problem
        start = residual_gmm(problem, self.pinned)
        if worst_share(problem, start) <= 1.0 and self._passes(start):
            proof = Proof(
                fewest_cuts=True, bound_cuts=len(self.pinned), gap_cost=0.0, fewest_passing=True, closest=True
            )
            return self._outcome(in_order(problem, self.pinned), proof)
        try:
            attempt = self.attempt(kinds, before_long)
        except TimeIsUpError:  # nothing was looked at, so nothing is proven
            if worst_share(problem, start) <= 1.0:
                return self._as_it_stands()
            return self._no_plan(self._attempt_with([]), None, None)

        def told(found: Found) -> None:
            count = len(found.places) + len(self.pinned)
            words = f"{count} cut" if count == 1 else f"{count} cuts"
            self.tell(f"a plan of {words} that leaves at most {percent(found.share)} of the limits")

        if worst_share(problem, start) <= 1.0:
            attempt.bound_cuts = 0
        try:
            certificate = self._searched(attempt, told)
        except TimeIsUpError:
            certificate = None
        if certificate is not None:
            self.tell("proven impossible, looking for the best that can be done")
            return self._no_plan(attempt, attempt.best_effort(), certificate)
        found = attempt.chosen()
        if found is None:
            if worst_share(problem, start) <= 1.0:
                return self._as_it_stands()
            if attempt.in_hand is None:
                self.tell("no plan found, looking for the best that can be done")
            found = attempt.best_effort()
            if found is None or not attempt.keeps_limits(found):
                return self._no_plan(attempt, found, None)
        if not problem.shop.least_cuts:
            with contextlib.suppress(TimeIsUpError):
                found = attempt.cheaper(found, told)
        return self._with_plan(attempt, found)

    def _searched(self, attempt: Attempt, told: Callable[[Found], None]) -> Certificate | None:
        """Weigh plans of ever more cuts; return the proof instead where no number of them can do."""
        if attempt.few(told):
            return None
        if not attempt.levels:
            excess_sum, excess = attempt.excess_gmm()
            if excess_sum > 0.0:
                text = _certificate_text(self.problem, excess_sum, excess)
                return Certificate(excess_sum_gmm=excess_sum, excess_gmm=tuple(excess), text=text)
        attempt.many(told)
        if attempt.impossible:
            room = attempt.without_room_gmm > 0.0
            excess_sum = attempt.without_room_gmm if room else attempt.excess_with_numbers_gmm()
            each = tuple(0.0 for _ in self.problem.limits)
            return Certificate(
                excess_sum_gmm=excess_sum,
                excess_gmm=each,
                text=_certificate_text(self.problem, excess_sum, [], room=room),
            )
        return None

    def _passes(self, start: TwoPlanes[complex]) -> bool:
        """Whether what is there passes its check as it stands, where that is asked about."""
        if self.passing is None or self.problem.shop.prefer_cuts != "passes":
            return True
        return all(
            abs(limit.weight_1 * start[0] + limit.weight_2 * start[1]) <= room
            for limit, room in zip(self.problem.limits, self.passing.room_gmm, strict=True)
        )

    def _as_it_stands(self) -> PlanOutcome:
        proof = Proof(
            fewest_cuts=True,
            bound_cuts=len(self.pinned),
            gap_cost=0.0,
            stopped_by_time=self.budget.struck,
        )
        return self._outcome(in_order(self.problem, self.pinned), proof)

    def _cuts_of(self, found: Found) -> tuple[PlannedCut, ...]:
        """Return a plan in the user's own frame, in the shop's order, pinned cuts included."""
        problem = self.problem
        names = self.form.problem.counterweights
        cuts = [
            planned(
                problem,
                self.form.back(
                    found.blocks[block].cut(setting, angle, names[found.blocks[block].counterweight].name)
                ),
            )
            for block, setting, angle in found.places
        ]
        return in_order(problem, [*cuts, *self.pinned])

    def _chance_of(self, found: Found, centred: bool) -> float:
        """Return the chance that the next spin passes; ``centred``: if nothing were left on average."""
        assert self.passing is not None
        cuts: list[Cut] = [item.cut for item in self._cuts_of(found)]
        return self.passing.centred_chance(cuts) if centred else self.passing.chance(cuts)

    def _with_plan(self, attempt: Attempt, found: Found) -> PlanOutcome:
        """Return the answer with a plan: the one that is wanted, or the next best if the other route faults it."""
        chosen = attempt.preferred(found)
        best: _Best | None = None
        met = () if attempt.in_hand is None else (attempt.in_hand,)
        for one in (chosen, found, *(other for other, _ in reversed(attempt.levels)), *met):
            cuts = self._cuts_of(one)
            if not verify(self.problem, [item.cut for item in cuts]).faults:
                best = _Best(one, cuts)
                break
        if best is None:
            return self._no_plan(attempt, None, None)
        found, cuts = best.found, best.cuts
        bound = attempt.bound_cuts
        own_cost = cost_of(self.problem, [cut for cut in cuts if not cut.pinned])
        gap = None
        if found.cost_bound is not None:
            gap = 0.0 if own_cost <= 0.0 else max(0.0, (own_cost - found.cost_bound) / own_cost)
        chance = self._chance_of(found, False) if self.passing is not None else None
        passing = (
            self.passing is not None
            and self.problem.shop.prefer_cuts == "passes"
            and chance is not None
            and chance >= self.passing.wanted
        )
        bound_passing = max(bound, attempt.bound_passing or 0) if passing else None
        proof = Proof(
            fewest_cuts=len(found.places) <= bound,
            bound_cuts=bound + len(self.pinned),
            gap_cost=gap,
            stopped_by_time=self.budget.struck,
            bound_passing_cuts=None if bound_passing is None else bound_passing + len(self.pinned),
            fewest_passing=bound_passing is not None and len(found.places) <= bound_passing,
            closest=found.closest,
        )
        pinned = len(self.pinned)
        return replace(
            self._outcome(cuts, proof),
            chance=chance,
            levels=tuple(replace(level, cuts=level.cuts + pinned) for _, level in attempt.levels),
        )

    def _outcome(self, cuts: tuple[PlannedCut, ...], proof: Proof) -> PlanOutcome:
        residual = residual_gmm(self.problem, cuts)
        share = worst_share(self.problem, residual)
        return PlanOutcome(
            feasible=share <= 1.0,
            cuts=cuts,
            residual_gmm=residual,
            cost=cost_of(self.problem, cuts),
            proof=proof,
            aim_reached=share,
        )

    def _no_plan(self, attempt: Attempt, found: Found | None, certificate: Certificate | None) -> PlanOutcome:
        best = in_order(self.problem, self.pinned) if found is None else self._cuts_of(found)
        residual = residual_gmm(self.problem, best)
        return PlanOutcome(
            feasible=False,
            cuts=(),
            residual_gmm=residual,
            cost=cost_of(self.problem, best),
            proof=Proof(
                fewest_cuts=False,
                bound_cuts=attempt.bound_cuts + len(self.pinned),
                stopped_by_time=self.budget.struck,
            ),
            aim_reached=worst_share(self.problem, residual),
            certificate=certificate,
            best_effort=best,
        )


def _certificate_text(
    problem: CorrectionProblem, excess_sum: float, excess: list[float], *, room: bool = False
) -> str:
    if room:
        return (
            "no number of the allowed cuts can reach the tolerance: with the walls between them at least "
            f"{excess_sum:.{0 if excess_sum >= 1.0 else 2}f} g*mm too much remains (sum over the limits)"
        )
    if not excess:
        return (
            "no number of the allowed cuts can reach the tolerance: at least "
            f"{excess_sum:.0f} g*mm too much remains (sum over the limits) with whole cuts"
        )
    parts = [
        f"{limit.at}: at least {amount:.0f} g*mm above its limit"
        for limit, amount in zip(problem.limits, excess, strict=True)
        if amount > 0.0
    ]
    each = "; ".join(parts) if parts else "each limit alone could be kept, not all of them together"
    return (
        "no choice of the allowed cuts can reach the tolerance: at least "
        f"{excess_sum:.0f} g*mm too much remains (sum over the limits); {each}"
    )
