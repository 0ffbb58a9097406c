"""What an engine leaves unbalanced whatever the bob, and which share of the reciprocating mass its bobs should carry."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Literal

from planner.engine.bob_errors import bob_error_gmm
from planner.engine.engine import Engine
from planner.engine.firing import Firing
from planner.engine.forces import (
    BobNeed,
    Inherent,
    ShakingCurve,
    acceleration_coefficients,
    bobs_needed,
    couple_nm,
    force_n,
    inherent,
    shaking_curve,
)
from planner.engine.fraction_choice import FractionChoice, FractionCost, choose_fraction, fraction_cost
from planner.engine.parts import check_fraction
from planner.frames import TwoPlanes
from planner.jobfile.job import Job
from planner.records import dataclass
from planner.steps.engine import EngineWishes, build_engine
from planner.steps.engine_firing import firing_of

#: Below this share of what all rods could do together a sum counts as next to nothing: measured places are not exact.
NEXT_TO_NOTHING = 0.01

#: Reciprocating masses that differ by less than this share of their mean are equal as far as a fraction goes.
_ALIKE = 0.02

Matter = Literal["needed", "hardly", "no"]


@dataclass(frozen=True, kw_only=True)
class Scale:
    """What one unit of the answer is.

    Attributes
    ----------
    unit_gmm : float or None
        Reciprocating mass times throw radius [g*mm], None when one of them is not known.
    spacing_mm : float or None
        Throw spacing, the lever of the couples [mm]; None when not known.
    speed_rpm : float or None
    """

    unit_gmm: float | None
    spacing_mm: float | None
    speed_rpm: float | None

    @property
    def force_n(self) -> float | None:
        """One unit of force [N], None when mass, radius or speed is not known."""
        if self.unit_gmm is None or self.speed_rpm is None:
            return None
        return force_n(self.unit_gmm, speed_rpm=self.speed_rpm)

    @property
    def couple_nm(self) -> float | None:
        """One unit of couple [N*m], None when mass, radius, spacing or speed is not known."""
        if self.unit_gmm is None or self.speed_rpm is None or self.spacing_mm is None:
            return None
        return couple_nm(self.unit_gmm * self.spacing_mm, speed_rpm=self.speed_rpm)


@dataclass(frozen=True, kw_only=True)
class Cost:
    """What a fraction leaves, and how it changes the bobs.

    ``bobs_g`` are the bobs [g]; ``planes_gmm`` what the change of the bobs from the engine's own fraction is on the
    balancing machine, left and right [g*mm]; None where masses or planes are not known.
    """

    left: FractionCost
    bobs_g: Mapping[str, float] | None
    planes_gmm: TwoPlanes[complex] | None


@dataclass(frozen=True, kw_only=True)
class EngineAnswer:
    """All that `bobplan engine` says.

    Attributes
    ----------
    engine : Engine
        Lengths [mm] and masses [g]; all 1 for a layout of the catalogue alone.
    layout_name : str or None
    job : Job or None
    scale : Scale
    firing : Firing or None
        None when no firing order is known, or it fits nothing.
    firing_fault : tuple of (str, str) or None
        What is wrong with the firing order, and the way out.
    need : BobNeed
    matter : {"needed", "hardly", "no"}
        Whether equal bobs matter on the machine.
    fraction : float
        The engine's own: of the parts, else one half.
    bare, left : Inherent
        Balanced for the rotating masses alone; balanced to the bobs.
    left_by : str
        Which bobs ``left`` is for.
    force, couple : FractionChoice or None
        None where the fraction does next to nothing.
    weights : tuple of float
        Of the axes: along, across.
    costs : tuple of Cost
        One half, the engine's own fraction and the one asked for.
    second, fourth : float
        Coefficients A2 and A4 of the first cylinder.
    notes, warnings : tuple of str
        What was assumed; what is odd.
    """

    engine: Engine
    layout_name: str | None
    job: Job | None
    scale: Scale
    firing: Firing | None
    firing_fault: tuple[str, str] | None
    need: BobNeed
    matter: Matter
    fraction: float
    bare: Inherent
    left: Inherent
    left_by: str
    force: FractionChoice | None
    couple: FractionChoice | None
    weights: tuple[float, float]
    costs: tuple[Cost, ...]
    second: float
    fourth: float
    notes: tuple[str, ...]
    warnings: tuple[str, ...]

    def curve(self) -> ShakingCurve:
        """Return force and couple over a turn with the bobs on, exact and from the harmonics."""
        return shaking_curve(self.engine, bobs_g=self.left.bobs_g, points=721)


def engine_answer(job: Job | None, wishes: EngineWishes) -> EngineAnswer:
    """Return what an engine leaves unbalanced.

    Parameters
    ----------
    job : Job or None
        None: a layout of the catalogue alone.
    wishes : EngineWishes
        What was typed; it wins over the job.

    Raises
    ------
    InputError
        If there is neither a layout nor cylinders, or something typed can't be.
    """
    built = build_engine(job, wishes)
    engine = built.engine
    need = bobs_needed(engine)
    static, couple = _shares(engine, need)
    matter: Matter = "needed"
    if max(static, couple) < NEXT_TO_NOTHING:
        matter = "hardly" if need.needed else "no"
    own = 0.5 if job is None or job.parts is None else job.parts.reciprocating_fraction
    notes = list(built.notes)
    if wishes.fraction is not None:
        notes += check_fraction(wishes.fraction)
    left, left_by = _left(
        job, engine, own, masses_known=built.masses_known and wishes.reciprocating_g is None
    )
    firing, fault = firing_of(built, wishes)
    cylinder = engine.cylinders[0]
    coefficients = acceleration_coefficients(cylinder.rod_length_mm / engine.throw(cylinder.throw).radius_mm)
    speed = wishes.speed_rpm
    if speed is None and job is not None:
        speed = job.crankshaft.service_speed_rpm

    def choice(quantity: Literal["force", "couple"], share: float) -> FractionChoice | None:
        along, across = wishes.weights
        if share < NEXT_TO_NOTHING:
            return None
        return choose_fraction(_nominal(engine), quantity=quantity, weight_along=along, weight_across=across)

    return EngineAnswer(
        engine=engine,
        layout_name=built.layout_name,
        job=job,
        scale=Scale(unit_gmm=built.unit_gmm, spacing_mm=built.spacing_mm, speed_rpm=speed),
        firing=firing,
        firing_fault=fault,
        need=need,
        matter=matter,
        fraction=own,
        bare=inherent(engine, fraction=0.0),
        left=left,
        left_by=left_by,
        force=choice("force", static),
        couple=choice("couple", couple),
        weights=wishes.weights,
        costs=_costs(job, engine, own, wishes.fraction, masses_known=built.masses_known),
        second=coefficients[2].real,
        fourth=coefficients[4].real,
        notes=tuple(notes),
        warnings=built.warnings,
    )


def _shares(engine: Engine, need: BobNeed) -> tuple[float, float]:
    """Return |static| and |couple| of equal bobs as shares of what all rods could do on one side."""
    all_rods = math.fsum(throw.rods * throw.radius_mm for throw in engine.throws)
    return abs(need.static) / all_rods, abs(need.couple) / (all_rods * engine.spacing_mm)


def _nominal(engine: Engine) -> Engine:
    """Return the engine with equal masses when they are nearly so: a criterion is about the layout, not about 0.1 g."""
    masses = [cylinder.reciprocating_g for cylinder in engine.cylinders]
    mean = math.fsum(masses) / len(masses)
    if max(masses) - min(masses) > _ALIKE * mean:
        return engine
    return replace(engine, cylinders=tuple(replace(c, reciprocating_g=mean) for c in engine.cylinders))


def _left(job: Job | None, engine: Engine, fraction: float, *, masses_known: bool) -> tuple[Inherent, str]:
    """Return what is left with the bobs on, and which bobs these are."""
    own = engine.bobs_g(fraction)
    wanted = None if job is None else job.bobs_wanted_g
    if wanted is not None and masses_known and any(abs(wanted[k] - own[k]) > 0.05 for k in own):
        return inherent(engine, bobs_g=wanted), "the bobs that the file states"
    return inherent(engine, fraction=fraction), f"bobs with {100 * fraction:g} percent"


def _costs(
    job: Job | None, engine: Engine, own: float, asked: float | None, *, masses_known: bool
) -> tuple[Cost, ...]:
    # without [parts] the rotating masses are not known: a change of fraction can be said, a bob cannot
    bobs_known = job is not None and job.parts is not None
    costs = []
    for fraction in sorted({0.5, own} | ({asked} if asked is not None else set())):
        bobs = engine.bobs_g(fraction) if masses_known else None
        planes = None
        if job is not None and bobs is not None:
            before = engine.bobs_g(own)
            change = bob_error_gmm(
                {name: bobs[name] - before[name] for name in bobs},
                throws=engine.throws,
                planes_z_mm=job.planes_z_mm,
            )
            planes = TwoPlanes.vectors(change)
        left = fraction_cost(engine, fraction=fraction)
        costs.append(Cost(left=left, bobs_g=bobs if bobs_known else None, planes_gmm=planes))
    return tuple(costs)
