"""What the planner is asked and what it answers: plain records."""

from __future__ import annotations

import dataclasses
from typing import Any

from planner.cuts.cut import Cut, CutEffect, Shop
from planner.frames import TwoPlanes
from planner.records import dataclass
from planner.rotor.crankshaft import Counterweight, OilDrilling
from planner.rotor.limits import LimitRow

__all__ = ["Certificate", "CorrectionProblem", "LimitRow", "PlanOutcome", "PlannedCut", "Proof"]


@dataclass(frozen=True, kw_only=True)
class CorrectionProblem:
    """Everything the planner may know.

    ``unbalance_gmm`` is what has to be corrected, in the two reading planes (crankshaft frame, heavy spot),
    with bobs, mounted parts and cuts made since the reading already accounted for.  Dial angles are whole
    multiples of ``shop.angle_step_deg``; in the crankshaft frame that grid is ``angle_phase_deg +
    k*angle_step_deg``. ``fixed`` are cuts that the user pinned: they are part of every plan (and count as its
    cuts).  Old holes and cuts already made stand in ``counterweights[..].existing``.
    """

    unbalance_gmm: TwoPlanes[complex]
    planes_z_mm: TwoPlanes[float]
    limits: tuple[LimitRow, ...]
    counterweights: tuple[Counterweight, ...]
    shop: Shop
    density_g_per_cm3: float
    angle_phase_deg: float = 0.0
    fixed: tuple[Cut, ...] = ()
    oil_drillings: tuple[OilDrilling, ...] = ()

    def with_shop(self, **changes: Any) -> CorrectionProblem:
        """Return the same question for a shop that is otherwise (fields of `Shop`)."""
        return dataclasses.replace(self, shop=dataclasses.replace(self.shop, **changes))

    def density_of(self, counterweight: Counterweight) -> float:
        """Return the density [g/cm3] of a counterweight's metal."""
        own = counterweight.density_g_per_cm3
        return self.density_g_per_cm3 if own is None else own


@dataclass(frozen=True, kw_only=True)
class PlannedCut:
    """A cut of a plan with its effect, both with the rounded numbers."""

    cut: Cut
    effect: CutEffect
    pinned: bool = False


@dataclass(frozen=True, kw_only=True)
class Proof:
    """What is proven of a plan.

    ``bound_cuts`` is a lower bound on the number of cuts of any plan that keeps the rules and reaches the
    real tolerance; ``fewest_cuts`` says that the plan meets it.  ``bound_passing_cuts`` is one on the number of any plan
    that leaves no more than the wanted chance allows, ``fewest_passing`` says that the plan has that chance and meets
    it; None and False where nothing was asked about it or the chance is out of reach.  ``gap_cost`` is ``(cost -
    bound)/cost`` among plans of that number of cuts and that closeness, None when no bound on the cost is known.
    ``closest`` says that no plan of as many cuts is closer - or that this one is as close as was asked for.
    """

    fewest_cuts: bool
    bound_cuts: int
    gap_cost: float | None = None
    stopped_by_time: bool = False
    bound_passing_cuts: int | None = None
    fewest_passing: bool = False
    closest: bool = False


@dataclass(frozen=True, kw_only=True)
class Level:
    """What so many cuts could do: the worst share of a limit that remains and the chance that the next spin passes."""

    cuts: int
    share: float
    chance: float | None = None


@dataclass(frozen=True, kw_only=True)
class Certificate:
    """Proof that no plan exists with the cuts allowed.

    ``excess_sum_gmm`` is a lower bound on the sum over the limits of what remains above them; ``excess_gmm``
    has, per limit, the least that remains above that limit when only that one is minimised.
    """

    excess_sum_gmm: float
    excess_gmm: tuple[float, ...]
    text: str


@dataclass(frozen=True, kw_only=True)
class PlanOutcome:
    """The planner's answer.

    ``cuts`` are in the shop's order (largest drill first, then front to rear, then angle); empty when nothing
    has to be done or when there is no plan.  ``feasible`` means that the cuts, rounded as they stand, keep
    every limit (an ``aim`` below 1 is a preference, not a limit).  ``best_effort`` is the best set of cuts
    found when none reaches the limits.  ``cost`` is grams removed by drilling + what heavy metal
    counts as (`heavy_metal.heavy_cost`).  ``chance`` is that of the wish (None when nothing was asked about it), ``levels``
    has the numbers of cuts that were weighed for it, fewest first.  ``drilling`` is the answer to the
    question with drilling alone where heavy metal is used because of it; ``with_heavy_metal`` a plan of fewer cuts with
    heavy metal that was in hand where drilling alone does it with many.
    """

    feasible: bool
    cuts: tuple[PlannedCut, ...]
    residual_gmm: TwoPlanes[complex]
    cost: float
    proof: Proof
    aim_reached: float | None = None
    certificate: Certificate | None = None
    best_effort: tuple[PlannedCut, ...] = ()
    chance: float | None = None
    levels: tuple[Level, ...] = ()
    drilling: PlanOutcome | None = None
    with_heavy_metal: tuple[PlannedCut, ...] = ()
