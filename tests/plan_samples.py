"""Answers of the planner built by hand from the records, for tests of drawings, tables and sheets.

All data here is invented; no real crankshaft stands behind it (see plan_builder for what the numbers are worth).
"""

from __future__ import annotations

import dataclasses

import numpy as np
from plan_builder import answer_of, crankshaft, fans, rim, slug

from geometry_profiles.shapes import disc, fan, half_disc
from planner.correction.problem import Certificate
from planner.cuts.cut import Cut, Shop
from planner.frames import MachineConvention, TwoPlanes
from planner.quantity import UnitSystem
from planner.rotor.crankshaft import ExistingHole, KeepOut
from planner.rotor.tolerance import ToleranceSpec
from planner.rotor.vectors import vector_gmm
from planner.steps.plan_answer import PlanAnswer

__all__ = ["NAMED", "answer_of", "crankshaft", "fans", "random_answer", "rim", "slug"]


def one_cut() -> PlanAnswer:
    """Return one rim hole, beside old holes, a keep-out and an oil drilling."""
    counterweights = fans(
        existing=(
            ExistingHole(kind="rim hole", angle_deg=171.0, diameter_mm=12.0, depth_shoulder_mm=20.0),
            ExistingHole(kind="face hole", angle_deg=200.0, diameter_mm=12.0, radius_mm=66.0, through=True),
        ),
        keep_outs=(
            KeepOut(from_angle_deg=222.0, to_angle_deg=232.0, from_radius_mm=40.0, to_radius_mm=70.0),
        ),
    )
    return answer_of([rim("A", 131.0)], crank=crankshaft(counterweights=counterweights, oil=True))


def four_cuts() -> PlanAnswer:
    """Return four rim holes on four counterweights."""
    return answer_of(
        [
            rim("A", 131.0),
            rim("B", 205.0, depth_mm=18.0),
            rim("E", 330.0, depth_mm=31.5),
            rim("F", 20.0, diameter_mm=12.0),
        ]
    )


def eight_cuts() -> PlanAnswer:
    """Return eight cuts on three counterweights, face holes among them, with two cuts made since the spin."""
    blind = Cut(
        kind="face hole",
        counterweight="C",
        angle_deg=228.0,
        diameter_mm=12.0,
        depth_shoulder_mm=14.0,
        radius_mm=68.0,
        face="rear",
    )
    through = dataclasses.replace(blind, angle_deg=300.0, through=True, depth_shoulder_mm=None, face="front")
    return answer_of(
        [
            rim("A", 131.0),
            rim("A", 146.0, depth_mm=30.0),
            rim("A", 214.0),
            rim("A", 229.0, depth_mm=12.0),
            blind,
            through,
            rim("F", 352.0, depth_mm=35.0),
            rim("F", 8.0, depth_mm=35.0),
        ],
        made=[rim("A", 180.0, depth_mm=20.0), rim("F", 330.0, depth_mm=25.0)],
    )


def slugs() -> PlanAnswer:
    """Return two slugs, one of them blind, a fill of an old hole, and a rim hole with an oversize."""
    counterweights = fans(
        existing=(
            ExistingHole(kind="face hole", angle_deg=200.0, diameter_mm=14.0, radius_mm=66.0, through=True),
            ExistingHole(
                kind="face hole",
                angle_deg=150.0,
                diameter_mm=12.0,
                radius_mm=70.0,
                through=True,
                filled_density_g_per_cm3=17.0,
            ),
        )
    )
    fill = Cut(
        kind="fill",
        counterweight="A",
        angle_deg=200.0,
        diameter_mm=14.0,
        radius_mm=66.0,
        length_mm=24.0,
        through=True,
    )
    blind = dataclasses.replace(slug("F", 20.0), through=False, length_mm=16.0, face="rear")
    return answer_of(
        [fill, slug("A", 172.0), blind, rim("F", 330.0)],
        crank=crankshaft(counterweights=counterweights),
        shop=Shop(drills_mm=(12.0, 14.0), slug_diameters_mm=(14.0, 19.05), hole_oversize_mm=0.1),
    )


def rear_view() -> PlanAnswer:
    """Return a machine that counts clockwise seen from the rear, marks the light spot and has a drill offset."""
    machine = MachineConvention(
        direction="cw",
        viewed_from="rear",
        zero_deg=17.3,
        marks="light spot",
        drill_offset_deg=90.0,
    )
    return answer_of(
        [rim("A", 131.3), rim("D", 60.3, depth_mm=17.5), rim("F", 348.3)],
        machine=machine,
        shop=Shop(drills_mm=(12.0, 14.0), depth_to="tip"),
        tolerance=ToleranceSpec(each_side_gmm=180.0, stated="180 g*mm each side"),
        planes_z_mm=TwoPlanes(480.0, 40.0),
    )


def inches() -> PlanAnswer:
    """Return a job in inches and ounce-inches."""
    blind = Cut(
        kind="face hole",
        counterweight="F",
        angle_deg=30.0,
        diameter_mm=12.7,
        depth_shoulder_mm=12.7,
        radius_mm=63.5,
    )
    return answer_of(
        [rim("A", 142.0, diameter_mm=15.875, depth_mm=22.225), slug("E", 12.0), blind],
        units=UnitSystem(length="in", mass="g", unbalance="oz*in"),
        shop=Shop(drills_mm=(12.7, 15.875), slug_diameters_mm=(19.05,)),
        tolerance=ToleranceSpec(static_gmm=360.0, couple_gmm=360.0, stated="0.5 oz-in static and couple"),
    )


def other_outlines() -> PlanAnswer:
    """Return cuts on a half disc and a disc; amounts shown as masses at a radius."""
    made_of = fans()
    counterweights = (
        dataclasses.replace(
            made_of[0],
            angle_deg=90.0,
            outline=half_disc(outer_radius_mm=80.0, inner_radius_mm=30.0, flat_offset_mm=-10.0),
        ),
        dataclasses.replace(
            made_of[5], angle_deg=250.0, outline=disc(outer_radius_mm=75.0, inner_radius_mm=30.0)
        ),
    )
    machine = MachineConvention(
        direction="cw", zero_deg=90.0, mass_at_radius=True, left_radius_mm=80.0, right_radius_mm=75.0
    )
    return answer_of(
        [rim("A", 40.0), rim("A", 118.0), rim("F", 250.0), rim("F", 80.0)],
        crank=crankshaft(counterweights=counterweights),
        machine=machine,
    )


def nothing_to_cut() -> PlanAnswer:
    """Return an answer that is in tolerance as it is."""
    return answer_of([])


def no_plan() -> PlanAnswer:
    """Return an answer that says no."""
    return answer_of(
        [],
        residual_gmm=TwoPlanes(9000.0 + 2000.0j, -4000.0 + 7000.0j),
        certificate=Certificate(
            excess_sum_gmm=3200.0,
            excess_gmm=(1900.0, 900.0),
            text="the counterweights have too little metal at 40 to 80 degrees (invented)",
        ),
    )


NAMED = {
    "one cut": one_cut,
    "four cuts": four_cuts,
    "eight cuts": eight_cuts,
    "slugs": slugs,
    "rear view": rear_view,
    "inches": inches,
    "other outlines": other_outlines,
    "nothing to cut": nothing_to_cut,
    "no plan": no_plan,
}
"""Every sample by its name."""


def random_answer(seed: int) -> PlanAnswer:
    """Return up to twelve random cuts on random counterweights; the same seed gives the same answer.

    Cuts of one counterweight stand 15 degrees or more apart; walls are not checked beyond that.
    """
    draw = np.random.default_rng(seed)
    counterweights = [
        dataclasses.replace(
            each,
            angle_deg=float(draw.integers(0, 360)),
            outline=fan(
                outer_radius_mm=float(draw.integers(70, 95)),
                half_angle_deg=float(draw.integers(40, 75)),
                inner_radius_mm=float(draw.integers(25, 42)),
            ),
            thickness_mm=float(draw.integers(20, 32)),
        )
        for each in fans()
    ]
    cuts = []
    for each in counterweights:
        half = each.outline.half_angle_deg
        assert half is not None
        slots = [s for s in range(-60, 61, 15) if abs(s) < half - 10.0]
        for slot in draw.permutation(slots)[: int(draw.integers(0, 5))]:
            angle = each.angle_deg + float(slot)
            kind = draw.choice(["rim", "rim", "face", "slug"])
            if kind == "rim":
                depth = 0.5 * float(draw.integers(10, 56))
                cuts.append(
                    rim(each.name, angle, depth_mm=depth, diameter_mm=float(draw.choice([10, 12, 14])))
                )
            elif kind == "slug":
                radius = each.outline.greatest_radius_mm - 14.0
                fitted = slug(each.name, angle, radius_mm=radius, diameter_mm=15.0)
                cuts.append(dataclasses.replace(fitted, length_mm=each.thickness_mm))
            else:
                through = bool(draw.integers(0, 2))
                cuts.append(
                    Cut(
                        kind="face hole",
                        counterweight=each.name,
                        angle_deg=angle,
                        diameter_mm=10.0,
                        radius_mm=each.outline.greatest_radius_mm - 12.0,
                        through=through,
                        depth_shoulder_mm=None if through else 9.5,
                        face="rear" if draw.integers(0, 2) else "front",
                    )
                )
    machine = MachineConvention(
        direction="cw" if draw.integers(0, 2) else "ccw",
        viewed_from="rear" if draw.integers(0, 2) else "front",
        zero_deg=float(draw.integers(0, 360)),
        marks="light spot" if draw.integers(0, 2) else "heavy spot",
        drill_offset_deg=float(draw.integers(0, 4)) * 30.0,
    )
    residual = TwoPlanes(
        vector_gmm(float(draw.uniform(0.0, 300.0)), float(draw.uniform(0.0, 360.0))),
        vector_gmm(float(draw.uniform(0.0, 300.0)), float(draw.uniform(0.0, 360.0))),
    )
    in_inches = bool(draw.integers(0, 2))
    return answer_of(
        cuts[:12],
        crank=crankshaft(counterweights=counterweights, oil=bool(draw.integers(0, 2))),
        machine=machine,
        units=UnitSystem(length="in", unbalance="oz*in") if in_inches else UnitSystem(),
        residual_gmm=residual,
        title=f"Invented, seed {seed}",
    )
