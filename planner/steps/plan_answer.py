"""The answer of the main job: everything that the terminal, the JSON, the drawings and the sheet show of a plan."""

from __future__ import annotations

from typing import TYPE_CHECKING, Literal

from planner.correction.problem import Certificate, CorrectionProblem, PlanOutcome
from planner.cuts.cut import Cut, CutEffect
from planner.frames import Dial, MachineAngle, SideReading, TwoPlanes
from planner.jobfile.job import Job, TrialSide
from planner.records import dataclass
from planner.rotor.crankshaft import Counterweight
from planner.rotor.verdict import Judged
from planner.steps.alternatives import Alternative
from planner.steps.bob_window import BobWindow
from planner.steps.check import CheckAnswer
from planner.steps.expected_spins import FirstPass
from planner.steps.hand import HandPlan
from planner.steps.nothing_fits import NothingFits
from planner.steps.slugs import SlugHold, SlugOrder
from planner.uncertainty.passing import Chances

if TYPE_CHECKING:
    from planner.steps.ways_out import WaysOut


@dataclass(frozen=True, kw_only=True)
class PlanStep:
    """One cut of the plan as the operator needs it.

    Angles: ``cut.angle_deg`` and ``from_centre_deg`` in the crankshaft frame, ``machine_angle_deg`` in the machine's
    counting, ``dial_deg`` with the drill offset.  ``from_centre_along_rim_mm`` is the arc at the rim (or at the
    cut's own radius when the outline has no rim).  ``stop_mm`` is the number on the stop (counted as the shop's
    ``depth_to`` says), None for through holes and slugs; ``first_pass_mm`` is the stop of the first pass.
    ``hole`` is the hole that a deepening deepens ("hole 1", "the old hole") and ``from_stop_mm`` what the stop stood at for
    it; empty and None for a new cut.
    """

    number: int
    cut: Cut
    effect: CutEffect
    counterweight: Counterweight
    machine_angle_deg: MachineAngle
    dial_deg: Dial
    from_centre_deg: float
    from_centre_along_rim_mm: float
    depth_tip_mm: float | None
    stop_mm: float | None
    first_pass_mm: float | None
    pinned: bool = False
    letter: str = ""
    hole: str = ""
    from_stop_mm: float | None = None

    @property
    def label(self) -> str:
        """What the cut is called: ``3``, or ``a3`` in a what-if plan."""
        return f"{self.letter}{self.number}"


HeavyMetalWhy = Literal[
    "nothing to cut",
    "drilling does it",
    "drilling does it too",
    "other cuts do it",
    "drilling can't: proven",
    "drilling: not found in time",
    "drilling: not found",
    "no plan: proven",
    "no plan: not found",
    "only with heavy metal",
    "found with heavy metal only",
    "as cut",
]


@dataclass(frozen=True, kw_only=True)
class HeavyMetal:
    """Whether heavy metal is needed, and why; ``needed`` is None when there is no plan to tell by.

    ``drilled_cuts`` is the number of cuts of the plan by drilling alone where there is one, ``saves_cuts`` says that heavy
    metal needs fewer; ``among_cuts`` that slugs are among the cuts allowed; ``way`` are the grams and the number of cuts of
    the way out with heavy metal, ``fewer`` the number of cuts of a plan with heavy metal that was met, where drilling alone
    takes more.

    ``window`` says for which bobs drilling alone may do; None when not worked out.  ``certificate`` is the proof that
    drilling alone can't do.  ``orders`` are the plan's slugs, ``cost`` their price when every size has one, ``holds`` what a
    press fit would do at service speed.
    """

    needed: bool | None
    why: HeavyMetalWhy
    drilled_cuts: int = 0
    saves_cuts: bool = False
    among_cuts: bool = False
    way: tuple[float, int] | None = None
    fewer: int | None = None
    window: BobWindow | None = None
    certificate: Certificate | None = None
    orders: tuple[SlugOrder, ...] = ()
    cost: float | None = None
    holds: tuple[SlugHold, ...] = ()


@dataclass(frozen=True, kw_only=True)
class PlanAnswer:
    """The correction plan for the newest spin.

    All ``*_gmm`` pairs are (left, right) vectors in the crankshaft frame [g*mm] pointing to the heavy spot, with
    ``unbalance = reading - known errors + bob_shift + mounted_shift + made_shift`` and
    ``residual = unbalance + sum of the steps`` (recomputed by the verification route from the rounded numbers).
    ``foretold`` is what the display will show after the steps: its units, its counting, its marked spot.
    ``foretold_raw`` is the same in raw vibration, in the unit of the trial runs; None for a job without them.
    ``asked`` are those of the questions that are about the reading: they stand open until the spin is confirmed.
    ``what_if`` says in words what is different from the job's own files; empty for an ordinary plan.
    ``chances`` are the chances once the steps are cut, by the job's error model: that the limits are kept, and that one
    spin, or the mean of two, proves it; None when there is no plan.
    ``alternatives`` is empty unless they were asked for.  ``ways_out`` is there when no
    plan is, ``hand`` when it was asked for.  ``closeness`` is there when the state as it stands is too close to call: which
    reading would pass, and what else would decide it.
    plan is, ``hand`` when it was asked for.  ``letter`` goes before the numbers of a what-if plan that is not stored; ``kept``
    means that the steps are those of the stored plan that are left.  ``nothing_fits`` is there when there is no plan because
    no cut fits anywhere.
    """

    job: Job
    spin_number: int
    problem: CorrectionProblem
    outcome: PlanOutcome
    reading_gmm: TwoPlanes[complex]
    reading_scatter_gmm: TwoPlanes[float]
    reading_count: int
    known_error_gmm: TwoPlanes[complex]
    bob_shift_gmm: TwoPlanes[complex]
    mounted_shift_gmm: TwoPlanes[complex]
    made_shift_gmm: TwoPlanes[complex]
    unbalance_gmm: TwoPlanes[complex]
    steps: tuple[PlanStep, ...]
    residual_gmm: TwoPlanes[complex]
    foretold: TwoPlanes[SideReading]
    judged: tuple[Judged, ...]
    verdict: str
    heavy_metal: HeavyMetal
    made: tuple[tuple[Cut, CutEffect], ...] = ()
    questions: tuple[str, ...] = ()
    asked: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    what_if: tuple[str, ...] = ()
    chances: Chances | None = None
    first_pass: FirstPass | None = None
    alternatives: tuple[Alternative, ...] = ()
    ways_out: WaysOut | None = None
    hand: HandPlan | None = None
    closeness: CheckAnswer | None = None
    foretold_raw: TwoPlanes[TrialSide] | None = None
    letter: str = ""
    nothing_fits: NothingFits | None = None
    kept: bool = False

    @property
    def share_of_limit(self) -> float:
        """The largest residual as a share of its limit; 1 is the limit."""
        return max(each.share for each in self.judged)

    @property
    def chance_to_pass(self) -> float | None:
        """The chance that the limits are truly kept once the steps are cut; whether a spin shows it is another matter."""
        return None if self.chances is None else self.chances.inside
