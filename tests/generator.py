"""Random crankshafts and correction problems.  All data here is invented; no real engine stands behind it.

``random_case(seed)`` draws a crankshaft with throws and counterweights, a shop, a balancing machine's way of
counting and a reading.  With ``feasible=True`` the reading is built backwards from a hidden plan that keeps every
rule, so that a plan exists for certain.  The same seed gives the same case.

Ranges: 4 to 8 counterweights, rim radius 76 to 94 mm, half angle 45 to 65 degrees, one to three drills, grids of
1 degree and 0.5 mm or 5 degrees and 1 mm, 150 to 400 g*mm at each limit, 400 to 20000 g*mm per plane; 35 % of the
counterweights have old holes, some keep-outs; some shops allow slugs, face holes, count depth to the tip.
`tests.generator_job` writes a case as a job file.
"""

from __future__ import annotations

import dataclasses
import math
from dataclasses import dataclass

import numpy as np

from geometry_profiles.outline import Outline
from geometry_profiles.shapes import disc, fan, half_disc, points
from planner.correction.problem import CorrectionProblem, LimitRow
from planner.correction.verify.verify_plan import verify
from planner.cuts.cut import Cut, Shop
from planner.frames import MachineConvention, TwoPlanes
from planner.rotor.crankshaft import (
    Counterweight,
    Crankshaft,
    CutKind,
    ExistingHole,
    KeepOut,
    OilDrilling,
    Throw,
)
from planner.rotor.vectors import plane_shares

# Crank angles of the throws in order along the shaft [deg], and a split of each pin (0: one pin for all its rods)
LAYOUTS: dict[str, tuple[tuple[float, ...], float, int]] = {
    "V8 cross-plane": ((0.0, 90.0, 270.0, 180.0), 0.0, 2),
    "in-line 3": ((0.0, 120.0, 240.0), 0.0, 1),
    "in-line 4": ((0.0, 180.0, 180.0, 0.0), 0.0, 1),
    "in-line 6": ((0.0, 240.0, 120.0, 120.0, 240.0, 0.0), 0.0, 1),
    "V6": ((0.0, 120.0, 240.0), 60.0, 1),
}


@dataclass(frozen=True, kw_only=True)
class GeneratedCase:
    """A problem with what it was made from; ``hidden`` is a plan that solves it, empty when none was built in."""

    seed: int
    layout: str
    crankshaft: Crankshaft
    machine: MachineConvention
    problem: CorrectionProblem
    hidden: tuple[Cut, ...] = ()


def random_problem(
    seed: int, *, feasible: bool = False, slugs: bool | None = None, most_cuts: int = 5
) -> CorrectionProblem:
    """Return only the problem of `random_case`."""
    return random_case(seed, feasible=feasible, slugs=slugs, most_cuts=most_cuts).problem


def random_case(
    seed: int,
    *,
    feasible: bool = False,
    slugs: bool | None = None,
    layout: str | None = None,
    most_cuts: int = 5,
) -> GeneratedCase:
    """Return a random case.

    Parameters
    ----------
    seed : int
        Of numpy's default generator.
    feasible : bool
        Build the reading backwards from a hidden plan of at most ``most_cuts`` cuts that keeps every rule.
    slugs : bool, optional
        Whether slugs are allowed; None: in a quarter of the cases.
    layout : str, optional
        One of `LAYOUTS`; None: any.
    """
    rng = np.random.default_rng(seed)
    name = layout or str(rng.choice(list(LAYOUTS)))
    with_slugs = bool(rng.random() < 0.25) if slugs is None else slugs
    shop = _shop(rng, with_slugs=with_slugs)
    crankshaft = _crankshaft(rng, name, shop)
    machine = MachineConvention(
        direction="cw" if rng.random() < 0.5 else "ccw",
        viewed_from="rear" if rng.random() < 0.4 else "front",
        marks="light spot" if rng.random() < 0.3 else "heavy spot",
        zero_deg=float(rng.choice([0.0, 90.0, 17.0, 17.5, 231.25])),
        drill_offset_deg=float(rng.choice([0.0, 0.0, 90.0, -13.0, 12.5])),
    )
    ends = [c.z_mm for c in crankshaft.counterweights]
    planes = (min(ends) + float(rng.uniform(-8.0, 8.0)), max(ends) + float(rng.uniform(-8.0, 8.0)))
    planes = (round(planes[0], 1), round(planes[1], 1))
    if rng.random() < 0.3:
        planes = (planes[1], planes[0])  # the left plane may be the rear one
    problem = CorrectionProblem(
        unbalance_gmm=TwoPlanes(0j, 0j),
        planes_z_mm=TwoPlanes(*planes),
        limits=_limits(rng, crankshaft, planes),
        counterweights=crankshaft.counterweights,
        shop=shop,
        density_g_per_cm3=crankshaft.density_g_per_cm3,
        angle_phase_deg=machine.angle_phase_deg(shop.angle_step_deg),
        oil_drillings=crankshaft.oil_drillings,
    )
    hidden: tuple[Cut, ...] = ()
    if feasible:
        hidden = _hidden_plan(rng, problem, most_cuts)
        corrections = verify(problem, hidden).residual_gmm
        rest = _inside_limits(rng, problem)
        wanted = (rest[0] - corrections[0], rest[1] - corrections[1])
    else:
        amounts = np.exp(rng.uniform(math.log(400.0), math.log(20000.0), 2))
        turns = np.exp(1j * rng.uniform(0.0, 2.0 * math.pi, 2))
        wanted = (complex(amounts[0] * turns[0]), complex(amounts[1] * turns[1]))
    return GeneratedCase(
        seed=seed,
        layout=name,
        crankshaft=crankshaft,
        machine=machine,
        problem=dataclasses.replace(problem, unbalance_gmm=TwoPlanes(*wanted)),
        hidden=hidden,
    )


def random_cut(
    rng: np.random.Generator, problem: CorrectionProblem, *, kind: CutKind | None = None
) -> Cut | None:
    """Return a cut on the shop's grids in a random counterweight, walls not looked at; None if none is allowed."""
    choices = [
        (c, k)
        for c in problem.counterweights
        for k in c.cuts
        if k in problem.shop.allow and (kind is None or k == kind) and k != "fill"
    ]
    if not choices:
        return None
    counterweight, chosen = choices[int(rng.integers(len(choices)))]
    shop, outline = problem.shop, counterweight.outline
    half = outline.half_angle_deg or 85.0
    own = float(rng.uniform(-half, half))
    step = shop.angle_step_deg
    steps = round((counterweight.angle_deg + own - problem.angle_phase_deg) / step)
    angle = (problem.angle_phase_deg + steps * step) % 360.0
    rim = outline.greatest_radius_mm
    if chosen == "rim hole":
        diameter = float(rng.choice(shop.drills_mm))
        deepest = min(shop.greatest_depth_mm, rim - outline.inner_radius_mm)
        count = int((deepest - shop.least_depth_mm) / shop.depth_step_mm)
        stop = shop.least_depth_mm + shop.depth_step_mm * int(rng.integers(count + 1))
        depth = shop.shoulder_depth_mm(stop_mm=stop, diameter_mm=diameter)
        return Cut(
            kind="rim hole",
            counterweight=counterweight.name,
            angle_deg=angle,
            diameter_mm=diameter,
            depth_shoulder_mm=depth,
        )
    diameters = shop.slug_diameters_mm if chosen == "slug" else shop.drills_mm
    diameter = float(rng.choice(diameters))
    low, high = outline.inner_radius_mm + diameter / 2.0, rim - shop.least_wall_mm - diameter / 2.0
    if high <= low:
        return None
    radius = shop.slug_radius_step_mm * round(float(rng.uniform(low, high)) / shop.slug_radius_step_mm)
    if chosen == "slug":
        return Cut(
            kind="slug",
            counterweight=counterweight.name,
            angle_deg=angle,
            diameter_mm=diameter,
            radius_mm=radius,
            length_mm=counterweight.thickness_mm,
            through=True,
        )
    if rng.random() < 0.5:
        return Cut(
            kind="face hole",
            counterweight=counterweight.name,
            angle_deg=angle,
            diameter_mm=diameter,
            radius_mm=radius,
            through=True,
        )
    stop = shop.least_depth_mm + shop.depth_step_mm * int(rng.integers(8))
    return Cut(
        kind="face hole",
        counterweight=counterweight.name,
        angle_deg=angle,
        diameter_mm=diameter,
        radius_mm=radius,
        depth_shoulder_mm=shop.shoulder_depth_mm(stop_mm=stop, diameter_mm=diameter),
        face="rear" if rng.random() < 0.5 else "front",
    )


def _shop(rng: np.random.Generator, *, with_slugs: bool) -> Shop:
    drills = rng.choice([8.0, 10.0, 12.0, 14.0, 15.875, 16.0, 19.0], int(rng.integers(1, 4)), replace=False)
    fine = rng.random() < 0.6
    allow: tuple[CutKind, ...] = ("rim hole",)
    if rng.random() < 0.2:
        allow += ("face hole",)
    if with_slugs:
        allow += ("slug",)
    return Shop(
        drills_mm=tuple(sorted(float(d) for d in drills)),
        hole_oversize_mm=0.1 if rng.random() < 0.15 else 0.0,
        point_angle_deg=135.0 if rng.random() < 0.2 else 118.0,
        depth_to="tip" if rng.random() < 0.2 else "shoulder",
        depth_step_mm=0.5 if fine else 1.0,
        angle_step_deg=1.0 if fine else 5.0,
        least_wall_mm=float(rng.choice([2.5, 3.0, 4.0])),
        slug_diameters_mm=(12.7, 15.875, 19.05, 25.4) if with_slugs else (),
        slug_density_g_per_cm3=17.5,
        allow=allow,
    )


def _crankshaft(rng: np.random.Generator, layout: str, shop: Shop) -> Crankshaft:
    angles, split, rods = LAYOUTS[layout]
    spacing = float(np.round(rng.uniform(84.0, 112.0), 1))
    radius = float(np.round(rng.uniform(36.0, 48.0), 1))
    throws = []
    for index, angle in enumerate(angles):
        z = (index + 0.5) * spacing
        if split:
            first = Throw(name=f"{index + 1}a", angle_deg=angle, z_mm=z - 11.0, radius_mm=radius, rods=1)
            other = (angle + split) % 360.0
            throws += [
                first,
                dataclasses.replace(first, name=f"{index + 1}b", angle_deg=other, z_mm=z + 11.0),
            ]
        else:
            throws.append(Throw(name=str(index + 1), angle_deg=angle, z_mm=z, radius_mm=radius, rods=rods))
    webs = [(index, side) for index in range(len(angles)) for side in (-1, 1)]
    fewest = 4
    count = int(rng.integers(fewest, min(8, len(webs)) + 1))
    inner_webs = webs[1:-1]
    kept = sorted(int(i) for i in rng.choice(len(inner_webs), count - 2, replace=False))
    chosen = [webs[0], *[inner_webs[i] for i in kept], webs[-1]]
    outer, half, inner = (
        float(np.round(rng.uniform(76.0, 94.0), 1)),
        float(np.round(rng.uniform(45.0, 65.0), 1)),
        float(np.round(rng.uniform(32.0, 40.0), 1)),
    )
    # at least the smallest drill keeps its walls to both faces
    narrowest = shop.drills_mm[0] + 2.0 * shop.least_wall_mm + 0.5
    thickness = max(float(np.round(rng.uniform(20.0, 30.0), 1)), narrowest)
    counterweights = []
    for letter, (index, side) in zip("ABCDEFGH", chosen, strict=False):
        outline = _outline(rng, outer=outer, half=half, inner=inner)
        centre = (angles[index] + split / 2.0 + 180.0 + float(rng.choice([0.0, 0.0, -6.0, 8.0]))) % 360.0
        z = round((index + 0.5) * spacing + side * 0.32 * spacing, 1)
        counterweight = Counterweight(
            name=letter,
            z_mm=z,
            angle_deg=centre,
            thickness_mm=thickness,
            outline=outline,
            cuts=("rim hole", "face hole", "slug"),
            existing=_old_holes(rng, outline, centre, thickness) if rng.random() < 0.35 else (),
            keep_outs=_keep_outs(rng, outline, centre) if rng.random() < 0.12 else (),
        )
        counterweights.append(counterweight)
    oil = []
    if rng.random() < 0.2:
        # slants from the first main bearing through the first web to the first pin
        oil.append(
            OilDrilling(
                from_z_mm=0.0,
                from_radius_mm=0.0,
                from_angle_deg=0.0,
                to_z_mm=throws[0].z_mm,
                to_radius_mm=throws[0].radius_mm,
                to_angle_deg=throws[0].angle_deg,
                diameter_mm=6.0,
                clearance_mm=4.0,
            )
        )
    return Crankshaft(
        throws=tuple(throws),
        counterweights=tuple(counterweights),
        bearing_1_z_mm=0.0,
        bearing_2_z_mm=round(len(angles) * spacing, 1),
        density_g_per_cm3=7.1 if rng.random() < 0.3 else 7.85,
        mass_kg=round(float(rng.uniform(14.0, 30.0)), 1),
        oil_drillings=tuple(oil),
    )


def _outline(rng: np.random.Generator, *, outer: float, half: float, inner: float) -> Outline:
    which = rng.random()
    if which < 0.75:
        return fan(outer_radius_mm=outer, half_angle_deg=half, inner_radius_mm=inner)
    if which < 0.84:
        return half_disc(outer_radius_mm=outer, inner_radius_mm=inner, flat_offset_mm=0.0)
    if which < 0.92:
        return disc(outer_radius_mm=outer, inner_radius_mm=inner)
    # measured points: a rim of short chords, and straight cheeks that lean inward
    turns = [math.radians(a) for a in np.linspace(-half, half, 1 + 2 * math.ceil(half / 3.0))]
    rim = [(outer * math.cos(a), outer * math.sin(a)) for a in turns]
    return points(
        [*rim, (0.6 * inner, 0.75 * inner), (0.6 * inner, -0.75 * inner)],
        inner_radius_mm=inner,
        rim_radius_mm=outer,
    )


def _old_holes(
    rng: np.random.Generator, outline: Outline, centre_deg: float, thickness_mm: float
) -> tuple[ExistingHole, ...]:
    half = 0.75 * (outline.half_angle_deg or 80.0)
    rim = outline.greatest_radius_mm
    holes = []
    for own in rng.uniform(-half, half, int(rng.integers(1, 3))):
        angle = float(np.round((centre_deg + own) % 360.0, 1))
        diameter = float(rng.choice([10.0, 12.0, 15.875]))
        if rng.random() < 0.6:
            depth = float(np.round(rng.uniform(8.0, 25.0), 1))
            holes.append(
                ExistingHole(kind="rim hole", angle_deg=angle, diameter_mm=diameter, depth_shoulder_mm=depth)
            )
        else:
            radius = float(np.round(rng.uniform(outline.inner_radius_mm + 9.0, rim - 13.0)))
            holes.append(
                ExistingHole(
                    kind="face hole", angle_deg=angle, diameter_mm=diameter, radius_mm=radius, through=True
                )
            )
    return tuple(holes)


def _keep_outs(rng: np.random.Generator, outline: Outline, centre_deg: float) -> tuple[KeepOut, ...]:
    half = 0.8 * (outline.half_angle_deg or 80.0)
    start = float(np.round(centre_deg + rng.uniform(-half, half - 15.0), 1))
    low = outline.inner_radius_mm
    return (
        KeepOut(
            from_angle_deg=start % 360.0,
            to_angle_deg=(start + float(np.round(rng.uniform(6.0, 20.0), 1))) % 360.0,
            from_radius_mm=low,
            to_radius_mm=low + float(np.round(rng.uniform(8.0, 30.0), 1)),
        ),
    )


def _limits(
    rng: np.random.Generator, crankshaft: Crankshaft, planes: tuple[float, float]
) -> tuple[LimitRow, ...]:
    tolerances = [float(np.round(t)) for t in rng.uniform(150.0, 400.0, 2)]
    if rng.random() < 0.6:
        return (
            LimitRow(at="left", weight_1=1.0, weight_2=0.0, tolerance_gmm=tolerances[0], z_mm=planes[0]),
            LimitRow(at="right", weight_1=0.0, weight_2=1.0, tolerance_gmm=tolerances[1], z_mm=planes[1]),
        )
    bearings = crankshaft.bearings_z_mm
    shares = [plane_shares(z, bearings) for z in planes]
    return tuple(
        LimitRow(
            at=f"bearing {side + 1}",
            weight_1=shares[0][side],
            weight_2=shares[1][side],
            tolerance_gmm=tolerances[side],
            z_mm=bearings[side],
        )
        for side in range(2)
    )


def _hidden_plan(rng: np.random.Generator, problem: CorrectionProblem, most_cuts: int) -> tuple[Cut, ...]:
    """Return cuts that break no rule, added one by one."""
    wanted = int(rng.integers(1, most_cuts + 1))
    cuts: tuple[Cut, ...] = ()
    for _ in range(400):
        cut = random_cut(rng, problem)
        if cut is not None and not verify(problem, (*cuts, cut)).faults:
            cuts += (cut,)
            if len(cuts) == wanted:
                break
    if not cuts:
        raise ValueError("no cut fits anywhere in this crankshaft")
    return cuts


def _inside_limits(rng: np.random.Generator, problem: CorrectionProblem) -> tuple[complex, complex]:
    """Return a random residual that keeps every limit, at most 80 % of the strictest."""
    draw = rng.normal(size=4)
    rest = (complex(draw[0], draw[1]), complex(draw[2], draw[3]))
    most = max(
        abs(row.weight_1 * rest[0] + row.weight_2 * rest[1]) / row.tolerance_gmm for row in problem.limits
    )
    share = float(rng.uniform(0.0, 0.8)) / most
    return rest[0] * share, rest[1] * share
