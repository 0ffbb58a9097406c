"""Random correction problems of all kinds.  All data here is invented; no real engine stands behind it.

2 to 14 counterweights (fans, half discs, discs), one to six drills, grids of 0.1 mm to 1 mm and 1 to 5 degrees or inch
stops, rim holes, face holes, slugs, fills, old holes, keep-outs, limits in the reading planes, at bearings, or static and
couple, unbalance 1 to 60 times the limit in any direction, aims 0.3 to 1.  The same seed gives the same problem.
"""

from __future__ import annotations

import math

import numpy as np

from geometry_profiles.outline import Outline
from geometry_profiles.shapes import disc, fan, half_disc
from planner.correction.problem import CorrectionProblem, LimitRow
from planner.cuts.cut import Shop
from planner.frames import TwoPlanes
from planner.rotor.crankshaft import Counterweight, CutKind, ExistingHole, KeepOut

_IN = 25.4
_METRIC = (8.0, 10.0, 12.0, 14.0, 16.0, 18.0, 20.0)
_INCH = tuple(_IN * size / 16.0 for size in (6, 7, 8, 9, 10, 12))
_SLUGS = (12.7, 15.875, 19.05, 22.225, 25.4)


def wide_problem(seed: int) -> CorrectionProblem:
    """Return a random problem."""
    rng = np.random.default_rng([seed, 4711])
    inches = rng.random() < 0.3
    shop = _shop(rng, inches=inches)
    count = int(rng.integers(2, 15))
    z = np.round(np.sort(rng.uniform(40.0, 40.0 + 38.0 * count, count)), 1)
    counterweights = tuple(_counterweight(rng, index, float(each), shop) for index, each in enumerate(z))
    planes = (round(float(z[0] + rng.uniform(-15, 15)), 1), round(float(z[-1] + rng.uniform(-15, 15)), 1))
    if planes[1] - planes[0] < 20.0:
        planes = (planes[0], planes[0] + 60.0)
    if rng.random() < 0.3:
        planes = (planes[1], planes[0])
    limit = float(round(math.exp(rng.uniform(math.log(120.0), math.log(500.0)))))
    limits = _limits(rng, planes, limit)
    amounts = limit * np.exp(rng.uniform(0.0, math.log(60.0), 2))
    turns = rng.uniform(0.0, 2.0 * math.pi, 2)
    if rng.random() < 0.5:
        # where counterweights are: what a crankshaft with other parts in it shows
        for side, plane in enumerate(planes):
            nearest = min(counterweights, key=lambda each: abs(each.z_mm - plane))
            turns[side] = math.radians(nearest.angle_deg + float(rng.uniform(-50.0, 50.0)))
    unbalance = tuple(complex(a * np.exp(1j * t)) for a, t in zip(amounts, turns, strict=True))
    return CorrectionProblem(
        unbalance_gmm=TwoPlanes(unbalance[0], unbalance[1]),
        planes_z_mm=TwoPlanes(*planes),
        limits=limits,
        counterweights=counterweights,
        shop=shop,
        density_g_per_cm3=7.85,
        angle_phase_deg=float(rng.choice([0.0, 0.0, 0.5, 0.25])),
    )


def _shop(rng: np.random.Generator, *, inches: bool) -> Shop:
    sizes = _INCH if inches else _METRIC
    drills = tuple(sorted(rng.choice(sizes, int(rng.integers(1, 7)), replace=False).tolist()))
    step = _IN / 64.0 if inches else float(rng.choice([0.1, 0.25, 0.5, 0.5, 1.0]))
    allow: tuple[CutKind, ...] = ("rim hole",)
    draw = rng.random()
    if draw < 0.35:
        allow = ("rim hole", "slug", "fill")
    elif draw < 0.5:
        allow = ("rim hole", "face hole")
    elif draw < 0.65:
        allow = ("rim hole", "face hole", "slug", "fill")
    elif draw < 0.7:
        allow = ("slug", "fill")
    return Shop(
        drills_mm=drills,
        depth_to="tip" if rng.random() < 0.3 else "shoulder",
        depth_step_mm=step,
        angle_step_deg=float(rng.choice([1.0, 1.0, 1.0, 2.0, 5.0])),
        least_depth_mm=3.0 * _IN / 16.0 if inches else 5.0,
        greatest_depth_mm=1.75 * _IN if inches else float(rng.choice([30.0, 45.0])),
        least_wall_mm=_IN / 8.0 if inches else float(rng.choice([2.0, 3.0])),
        slug_diameters_mm=_SLUGS[: int(rng.integers(1, 6))],
        slug_radius_step_mm=_IN / 16.0 if inches else 1.0,
        slug_lengths_mm=(12.0, 20.0) if rng.random() < 0.15 else (),
        allow=allow,
        aim=float(rng.choice([0.3, 0.5, 0.7, 1.0])),
        one_drill=bool(rng.random() < 0.7),
    )


def _counterweight(rng: np.random.Generator, index: int, z: float, shop: Shop) -> Counterweight:
    radius = float(round(rng.uniform(70.0, 95.0), 1))
    inner = float(round(rng.uniform(28.0, 40.0), 1))
    draw = rng.random()
    outline: Outline
    if draw < 0.75:
        outline = fan(
            outer_radius_mm=radius,
            half_angle_deg=float(round(rng.uniform(35.0, 75.0))),
            inner_radius_mm=inner,
        )
    elif draw < 0.9:
        outline = half_disc(outer_radius_mm=radius, inner_radius_mm=min(inner, 30.0))
    else:
        outline = disc(outer_radius_mm=radius, inner_radius_mm=inner)
    angle = float(rng.choice([rng.integers(0, 360), round(float(rng.uniform(0.0, 360.0)), 1)]))
    half = outline.half_angle_deg or 80.0
    existing = []
    for _ in range(int(rng.integers(0, 3)) if rng.random() < 0.4 else 0):
        at = angle + float(round(rng.uniform(-0.7 * half, 0.7 * half)))
        if any(abs((hole.angle_deg - at + 180.0) % 360.0 - 180.0) < 25.0 for hole in existing):
            continue
        if rng.random() < 0.6:
            existing.append(
                ExistingHole(
                    kind="rim hole",
                    angle_deg=at,
                    diameter_mm=float(rng.choice(shop.drills_mm)),
                    depth_shoulder_mm=float(round(rng.uniform(8.0, 30.0))),
                )
            )
        else:
            existing.append(
                ExistingHole(
                    kind="face hole",
                    angle_deg=at,
                    diameter_mm=float(rng.choice([12.0, 16.0, 19.05])),
                    radius_mm=float(round(0.5 * (radius + inner))),
                    through=True,
                )
            )
    keep_outs = ()
    if rng.random() < 0.2:
        start = angle + float(round(rng.uniform(-half, 0.5 * half)))
        keep_outs = (
            KeepOut(
                from_angle_deg=start,
                to_angle_deg=start + float(rng.integers(8, 25)),
                from_radius_mm=inner,
                to_radius_mm=radius - float(rng.integers(0, 20)),
            ),
        )
    return Counterweight(
        name=f"W{index + 1}",
        z_mm=z,
        angle_deg=angle,
        thickness_mm=float(round(rng.uniform(18.0, 30.0), 1)),
        outline=outline,
        cuts=("rim hole", "face hole", "slug", "fill"),
        existing=tuple(existing),
        keep_outs=keep_outs,
    )


def _limits(rng: np.random.Generator, planes: tuple[float, float], limit: float) -> tuple[LimitRow, ...]:
    draw = rng.random()
    if draw < 0.5:
        return (
            LimitRow(at="left", weight_1=1.0, weight_2=0.0, tolerance_gmm=limit, z_mm=planes[0]),
            LimitRow(at="right", weight_1=0.0, weight_2=1.0, tolerance_gmm=limit, z_mm=planes[1]),
        )
    if draw < 0.8:
        low, high = sorted(planes)
        bearings = (low - 0.1 * (high - low), high + 0.15 * (high - low))
        rows = []
        for number, (own, other) in enumerate((bearings, bearings[::-1]), start=1):
            first, second = ((other - plane) / (other - own) for plane in planes)
            rows.append(
                LimitRow(
                    at=f"bearing {number}", weight_1=first, weight_2=second, tolerance_gmm=limit, z_mm=own
                )
            )
        return tuple(rows)
    return (
        LimitRow(at="static", weight_1=1.0, weight_2=1.0, tolerance_gmm=1.5 * limit),
        LimitRow(at="couple", weight_1=-0.5, weight_2=0.5, tolerance_gmm=0.8 * limit),
    )
