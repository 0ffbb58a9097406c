"""Building an answer of the planner by hand from the records: a crankshaft, cuts, and what they would do.

All data here is invented; no real crankshaft stands behind it.  The effects of the cuts are the plain formulas of a
drilled cylinder with its cone (no rim sag), the unbalance is chosen so that a stated residual is left: the numbers fit
each other, but they are no plans that a search found and prove nothing about planning.
"""

from __future__ import annotations

import cmath
import dataclasses
import datetime
import math
from collections.abc import Sequence
from pathlib import Path

from geometry_profiles.shapes import fan
from planner.correction.problem import Certificate, CorrectionProblem, PlannedCut, PlanOutcome, Proof
from planner.cuts.cut import Cut, CutEffect, Shop
from planner.frames import MachineConvention, TwoPlanes
from planner.jobfile.job import Job, JobDetails, JobFiles
from planner.machine.spin import Spin
from planner.quantity import UnitSystem
from planner.rotor.crankshaft import (
    Counterweight,
    Crankshaft,
    CutKind,
    ExistingHole,
    KeepOut,
    OilDrilling,
    Throw,
)
from planner.rotor.tolerance import ToleranceSpec, limit_rows
from planner.rotor.vectors import difference_deg, plane_shares
from planner.rotor.verdict import judge, overall_verdict
from planner.steps.plan_answer import HeavyMetal, PlanAnswer, PlanStep

DENSITY = 7.85
ALL_CUTS: tuple[CutKind, ...] = ("rim hole", "face hole", "slug", "fill")
PLANES_Z_MM = TwoPlanes(40.0, 480.0)
ROOMY = TwoPlanes(80.0 + 40.0j, -30.0 + 60.0j)
"""A residual well inside the samples' tolerance [g*mm]."""


def crankshaft(*, counterweights: Sequence[Counterweight] | None = None, oil: bool = False) -> Crankshaft:
    """Return an invented cross-plane V8 crankshaft with six fan-shaped counterweights."""
    throws = tuple(
        Throw(name=name, angle_deg=angle, z_mm=z, radius_mm=44.2, rods=2)
        for name, angle, z in (("1", 0.0, 95.0), ("2", 90.0, 205.0), ("3", 270.0, 315.0), ("4", 180.0, 425.0))
    )
    drilling = OilDrilling(
        from_z_mm=30.0,
        from_radius_mm=0.0,
        from_angle_deg=0.0,
        to_z_mm=95.0,
        to_radius_mm=44.2,
        to_angle_deg=0.0,
        diameter_mm=6.0,
        clearance_mm=3.0,
    )
    return Crankshaft(
        throws=throws,
        counterweights=tuple(counterweights) if counterweights is not None else fans(),
        bearing_1_z_mm=0.0,
        bearing_2_z_mm=520.0,
        density_g_per_cm3=DENSITY,
        mass_kg=24.1,
        centre_of_mass_z_mm=255.0,
        service_speed_rpm=6500.0,
        oil_drillings=(drilling,) if oil else (),
    )


def fans(
    *, existing: Sequence[ExistingHole] = (), keep_outs: Sequence[KeepOut] = ()
) -> tuple[Counterweight, ...]:
    """Return six fans; the first carries the holes and keep-outs given."""
    outline = fan(outer_radius_mm=88.0, half_angle_deg=58.0, inner_radius_mm=36.0)
    places = (
        ("A", 52.0, 180.0),
        ("B", 138.0, 170.0),
        ("C", 162.0, 262.0),
        ("D", 358.0, 98.0),
        ("E", 382.0, 10.0),
        ("F", 468.0, 0.0),
    )
    return tuple(
        Counterweight(
            name=name,
            z_mm=z,
            angle_deg=angle,
            thickness_mm=24.0,
            outline=outline,
            cuts=ALL_CUTS,
            existing=tuple(existing) if name == "A" else (),
            keep_outs=tuple(keep_outs) if name == "A" else (),
        )
        for name, z, angle in places
    )


def rim(name: str, angle_deg: float, *, depth_mm: float = 22.5, diameter_mm: float = 14.0) -> Cut:
    """Return a rim hole."""
    return Cut(
        kind="rim hole",
        counterweight=name,
        angle_deg=angle_deg,
        diameter_mm=diameter_mm,
        depth_shoulder_mm=depth_mm,
    )


def slug(name: str, angle_deg: float, *, radius_mm: float = 70.0, diameter_mm: float = 19.05) -> Cut:
    """Return a slug through the full thickness."""
    return Cut(
        kind="slug",
        counterweight=name,
        angle_deg=angle_deg,
        diameter_mm=diameter_mm,
        radius_mm=radius_mm,
        length_mm=24.0,
        through=True,
    )


def effect(cut: Cut, counterweight: Counterweight, shop: Shop) -> CutEffect:
    """Return what a cut does, by the plain formulas (see the top of this file)."""
    density = DENSITY / 1000.0
    diameter = cut.diameter_mm + (shop.hole_oversize_mm if cut.kind in ("rim hole", "face hole") else 0.0)
    area = math.pi / 4.0 * diameter**2
    cone = shop.cone_height_mm(diameter)
    if cut.kind == "rim hole":
        assert cut.depth_shoulder_mm is not None
        depth, radius = cut.depth_shoulder_mm, counterweight.outline.greatest_radius_mm
        mass = density * area * (depth + cone / 3.0)
        moment = (
            density * area * (radius * depth - depth**2 / 2.0 + cone / 3.0 * (radius - depth - cone / 4.0))
        )
        return CutEffect(mass_g=-mass, unbalance_gmm=-moment, z_mm=counterweight.z_mm)
    assert cut.radius_mm is not None
    long = counterweight.thickness_mm
    if cut.kind == "face hole" and not cut.through:
        assert cut.depth_shoulder_mm is not None
        long = cut.depth_shoulder_mm + cone / 3.0
    if cut.kind == "face hole":
        mass = density * area * long
        return CutEffect(mass_g=-mass, unbalance_gmm=-mass * cut.radius_mm, z_mm=counterweight.z_mm)
    long = cut.length_mm or long
    heavy = shop.slug_density_g_per_cm3 / 1000.0 * area * long
    bored = density * area * long if cut.kind == "slug" else 0.0
    return CutEffect(
        mass_g=heavy - bored,
        unbalance_gmm=(heavy - bored) * cut.radius_mm,
        z_mm=counterweight.z_mm,
        slug_mass_g=heavy,
        bored_mass_g=-bored if cut.kind == "slug" else None,
    )


def answer_of(
    cuts: Sequence[Cut],
    *,
    crank: Crankshaft | None = None,
    machine: MachineConvention | None = None,
    units: UnitSystem | None = None,
    shop: Shop | None = None,
    tolerance: ToleranceSpec | None = None,
    planes_z_mm: TwoPlanes[float] = PLANES_Z_MM,
    residual_gmm: TwoPlanes[complex] = ROOMY,
    made: Sequence[Cut] = (),
    title: str = "Invented V8, lighter pistons",
    certificate: Certificate | None = None,
) -> PlanAnswer:
    """Return an answer with these cuts, whose unbalance is what they leave the stated residual of.

    ``made`` are cuts made since the spin; with a certificate the answer is "no plan".
    """
    crank = crank or crankshaft()
    machine = machine or MachineConvention()
    shop = shop or Shop(drills_mm=(10.0, 12.0, 14.0), slug_diameters_mm=(12.7, 19.05))
    tolerance = tolerance or ToleranceSpec(grade_mm_per_s=16.0, stated="G 16")
    limits = limit_rows(
        tolerance,
        planes_z_mm=planes_z_mm,
        bearings_z_mm=crank.bearings_z_mm,
        mass_kg=crank.mass_kg,
        speed_rpm=crank.service_speed_rpm,
        centre_of_mass_z_mm=crank.centre_of_mass_z_mm,
    )
    done = tuple((cut, effect(cut, crank.counterweight(cut.counterweight), shop)) for cut in made)
    now = tuple(_with_holes(each, made, shop) for each in crank.counterweights)
    planned = tuple(
        PlannedCut(cut=cut, effect=effect(cut, crank.counterweight(cut.counterweight), shop)) for cut in cuts
    )
    change = _sum([(p.cut, p.effect) for p in planned], planes_z_mm)
    made_shift = _sum(done, planes_z_mm)
    unbalance = TwoPlanes(residual_gmm[0] - change[0], residual_gmm[1] - change[1])
    reading = TwoPlanes(unbalance[0] - made_shift[0], unbalance[1] - made_shift[1])
    shown = reading.shown(machine)
    job = Job(
        files=JobFiles(job=Path("job.toml")),
        details=JobDetails(title=title, date=datetime.date(2026, 1, 31)),
        units=units or UnitSystem(),
        machine=machine,
        planes_z_mm=planes_z_mm,
        crankshaft=crank,
        shop=shop,
        tolerance=tolerance,
        spins=(Spin(left=shown[0], right=shown[1], bobs_g={t.name: 1729.0 for t in crank.throws}),),
    )
    problem = CorrectionProblem(
        unbalance_gmm=unbalance,
        planes_z_mm=planes_z_mm,
        limits=limits,
        counterweights=now,
        shop=shop,
        density_g_per_cm3=DENSITY,
        angle_phase_deg=machine.angle_phase_deg(shop.angle_step_deg),
        oil_drillings=crank.oil_drillings,
    )
    judged = judge(residual_gmm, limits)
    verdict = overall_verdict(judged)
    feasible = certificate is None and verdict == "in tolerance"
    steps = tuple(
        _step(number, cut, now=now, machine=machine, shop=shop) for number, cut in enumerate(planned, start=1)
    )
    return PlanAnswer(
        job=job,
        spin_number=1,
        problem=problem,
        outcome=PlanOutcome(
            feasible=feasible,
            cuts=planned if feasible else (),
            residual_gmm=residual_gmm,
            cost=-sum(min(p.effect.mass_g, 0.0) for p in planned),
            proof=Proof(fewest_cuts=False, bound_cuts=0),
            certificate=certificate,
        ),
        reading_gmm=reading,
        reading_scatter_gmm=TwoPlanes(0.0, 0.0),
        reading_count=1,
        known_error_gmm=TwoPlanes(0j, 0j),
        bob_shift_gmm=TwoPlanes(0j, 0j),
        mounted_shift_gmm=TwoPlanes(0j, 0j),
        made_shift_gmm=made_shift,
        unbalance_gmm=unbalance,
        steps=steps,
        residual_gmm=residual_gmm,
        foretold=residual_gmm.shown(machine),
        judged=judged,
        verdict=verdict,
        heavy_metal=HeavyMetal(needed=any(c.kind in ("slug", "fill") for c in cuts), why="as cut"),
        made=done,
    )


def _sum(cuts: Sequence[tuple[Cut, CutEffect]], planes_z_mm: tuple[float, float]) -> TwoPlanes[complex]:
    total = [0j, 0j]
    for cut, does in cuts:
        vector = does.unbalance_gmm * cmath.exp(1j * math.radians(cut.angle_deg))
        for side, share in enumerate(plane_shares(does.z_mm, planes_z_mm)):
            total[side] += share * vector
    return TwoPlanes(total[0], total[1])


def _with_holes(counterweight: Counterweight, made: Sequence[Cut], shop: Shop) -> Counterweight:
    """Return the counterweight with the rim holes made since the spin among its existing ones."""
    holes = tuple(
        ExistingHole(
            kind="rim hole",
            angle_deg=cut.angle_deg,
            diameter_mm=cut.diameter_mm + shop.hole_oversize_mm,
            depth_shoulder_mm=cut.depth_shoulder_mm,
            point_angle_deg=shop.point_angle_deg,
        )
        for cut in made
        if cut.counterweight == counterweight.name
    )
    return dataclasses.replace(counterweight, existing=counterweight.existing + holes)


def _step(
    number: int,
    planned: PlannedCut,
    *,
    now: Sequence[Counterweight],
    machine: MachineConvention,
    shop: Shop,
) -> PlanStep:
    cut = planned.cut
    counterweight = next(each for each in now if each.name == cut.counterweight)
    offset = difference_deg(cut.angle_deg, counterweight.angle_deg)
    depth = None if cut.through else cut.depth_shoulder_mm
    stop = None if depth is None else shop.stop_mm(depth_shoulder_mm=depth, diameter_mm=cut.diameter_mm)
    return PlanStep(
        number=number,
        cut=cut,
        effect=planned.effect,
        counterweight=counterweight,
        machine_angle_deg=machine.machine_angle_deg(cut.angle_deg),
        dial_deg=machine.dial_deg(cut.angle_deg),
        from_centre_deg=offset,
        from_centre_along_rim_mm=math.radians(offset) * counterweight.outline.greatest_radius_mm,
        depth_tip_mm=None if depth is None else depth + shop.cone_height_mm(cut.diameter_mm),
        stop_mm=stop,
        first_pass_mm=None if stop is None else 0.8 * stop,
        pinned=planned.pinned,
    )
