"""A whole job at the machine, simulated: spin, plan, cut, spin, and once more where something is left to cut."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from simulator.jobs import SimulatedJob
from simulator.tool import checked


@dataclass
class Round:
    """One round: what was promised, what came of it in truth, what was said of it after the spin.

    ``before`` and ``after`` are the largest shares of a limit truly used up; ``chance`` was stated before cutting;
    ``verdict`` is that of ``check`` after the spin.
    """

    cuts: int
    chance: float
    before: float
    after: float
    inside: bool
    verdict: str
    diagnosis: tuple[str, ...]
    good: bool


@dataclass
class Told:
    """How a job went; ``stopped`` says in words why there was no (further) round, empty when it was done."""

    seed: int
    start: float
    rounds: list[Round] = field(default_factory=list)
    stopped: str = ""

    @property
    def inside(self) -> bool:
        """Truly inside at the end."""
        return self.rounds[-1].inside if self.rounds else self.start <= 1.0

    @property
    def first_cut_made_it_worse(self) -> bool:
        """More of a limit used up after the first cutting than before."""
        return bool(self.rounds) and self.rounds[0].after > self.rounds[0].before


def tell(job: SimulatedJob, folder: Path, *, rounds: int = 2) -> Told:
    """Do a job as an operator would who cuts every plan as printed and enters it so."""
    path = job.write(folder)
    told = Told(seed=job.seed, start=job.worst)
    plan = checked("spin", path, *job.spin(), "--bobs", job.crankshaft.bob_g)
    for _ in range(rounds):
        if "steps" not in plan:
            told.stopped = "cut list withheld"
            break
        if not plan["steps"]:
            told.stopped = "nothing to cut" if plan["verdict"] == "in tolerance" else "no plan"
            break
        if not plan["feasible"]:
            told.stopped = "no plan reaches the limit"
            break
        before = job.worst
        for step in plan["steps"]:
            if not job.carry_out(step):
                raise AssertionError(
                    f"job {job.seed}: {step['cut']} on {step['counterweight']} finds no metal"
                )
        chance = float(plan["chance_inside"])
        count = len(plan["steps"])
        plan = _spin_after(path, job.spin())
        check = checked("check", path)
        diagnosis = plan.get("diagnosis") or {"explanations": [], "good": True}
        told.rounds.append(
            Round(
                cuts=count,
                chance=chance,
                before=before,
                after=job.worst,
                inside=job.inside,
                verdict=check["verdict"],
                diagnosis=tuple(each["kind"] for each in diagnosis["explanations"]),
                good=bool(diagnosis["good"]),
            )
        )
        if check["verdict"] == "in tolerance":
            break
    return told


def _spin_after(path: Path, shown: tuple[float, float, float, float]) -> dict[str, Any]:
    """Enter all open cuts as planned and the spin; a plan that is withheld has no steps."""
    plan: dict[str, Any] = checked("spin", path, *shown, "--cut-as-planned", "--unproved")
    return plan


def quick_plan(job: SimulatedJob, folder: Path) -> dict[str, Any]:
    """Spin once and plan."""
    path = job.write(folder)
    plan: dict[str, Any] = checked("spin", path, *job.spin(), "--bobs", job.crankshaft.bob_g)
    return plan


__all__ = ["Round", "Told", "quick_plan", "tell"]
