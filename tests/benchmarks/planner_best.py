"""Is the plan the best there is?  Small problems against all plans of one and two cuts, and against integer programs.

Run ``python -m tests.benchmarks.planner_best --pairs 60 --programs 40`` in the project's folder.  The problems are invented:
two to four fans, one drill, coarse grids.  Nothing of the product is used for what a hole does or where it may stand:

* first moment of a hole: columns up to the round rim, and the point (elementary integrals, written out below)
* walls: distances between polygons, by shapely
* one and two cuts: all of them; three to five: HiGHS over every place and depth of the grid, a pair of holes that are too near
  each other never together.  It is asked for a plan of fewer cuts, and for one that leaves less by more than 0.02 of a limit;
  limits are polygons of 64 sides around their circles, so that "there is none" is proven (``answered for certain``)

What is compared: never fewer cuts elsewhere; with as many cuts the greatest share of a limit that remains, down to what
is close enough, to within 0.02.
"""

from __future__ import annotations

import argparse
import itertools
import json
import math
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from shapely import affinity
from shapely.geometry import LineString, Polygon

from geometry_profiles.shapes import fan
from planner.correction.problem import CorrectionProblem, LimitRow
from planner.correction.search.find_plan import find_plan
from planner.cuts.cut import Shop
from planner.frames import TwoPlanes
from planner.rotor.crankshaft import Counterweight

STEEL, POINT_DEG, WALL_MM = 7.85, 118.0, 3.0
LEAST_MM, CLOSE_ENOUGH, NEAR = 5.0, 0.1, 0.02
SIDES = 64


@dataclass(frozen=True)
class Fan:
    """A counterweight: where it is and its sizes [mm, deg]."""

    z_mm: float
    angle_deg: float
    radius_mm: float
    half_deg: float
    inner_mm: float
    thickness_mm: float


@dataclass(frozen=True)
class Small:
    """A small problem: reading [g*mm] in two planes, limit, drill, steps and the greatest depth."""

    fans: tuple[Fan, ...]
    planes_mm: tuple[float, float]
    unbalance_gmm: TwoPlanes[complex]
    limit_gmm: float
    drill_mm: float
    angle_step_deg: float
    depth_step_mm: float
    greatest_mm: float


@dataclass(frozen=True)
class Places:
    """All holes that fit: which fan, where, how deep, what each takes off in the two planes, and its polygon."""

    fan: Any
    angle_deg: Any
    depth_mm: Any
    left_gmm: Any
    right_gmm: Any
    polygons: tuple[Polygon, ...]


def hole_gmm(drill_mm: float, depth_mm: float, radius_mm: float) -> float:
    """First moment of a radial hole [g*mm]: its columns up to the round rim, and its point."""
    a = drill_mm / 2.0
    bottom = radius_mm - depth_mm
    cylinder = math.pi * a**2 * ((radius_mm**2 - a**2 / 4.0) - bottom**2) / 2.0
    c = a / math.tan(math.radians(POINT_DEG) / 2.0)
    return STEEL / 1000.0 * (cylinder + math.pi * a**2 * c / 3.0 * (bottom - c / 4.0))


def places(problem: Small) -> Places:
    """Return all holes that keep their walls to the flanks and the body."""
    rows: list[tuple[int, float, float, complex, complex]] = []
    polygons = []
    a = problem.drill_mm / 2.0
    cone = a / math.tan(math.radians(POINT_DEG) / 2.0)
    low, high = problem.planes_mm
    for number, one in enumerate(problem.fans):
        if problem.drill_mm > one.thickness_mm - 2.0 * WALL_MM + 1e-9:
            continue
        share = (one.z_mm - low) / (high - low)
        flanks = [
            LineString([(0.0, 0.0), (one.radius_mm * math.cos(turn), one.radius_mm * math.sin(turn))])
            for turn in (math.radians(one.half_deg), -math.radians(one.half_deg))
        ]
        depths = np.arange(LEAST_MM, problem.greatest_mm + 1e-9, problem.depth_step_mm)
        # the dial's whole steps, wherever the counterweight stands
        for step in range(round(360.0 / problem.angle_step_deg)):
            at = step * problem.angle_step_deg
            beside = (at - one.angle_deg + 180.0) % 360.0 - 180.0
            if abs(beside) > one.half_deg - math.degrees(math.asin(a / one.radius_mm)) + 1e-9:
                continue
            for depth in depths:
                shoulder = one.radius_mm - float(depth)
                tip = shoulder - cone
                if tip < one.inner_mm - 1e-9:
                    break
                section = affinity.rotate(
                    Polygon(
                        [(one.radius_mm, -a), (one.radius_mm, a), (shoulder, a), (tip, 0.0), (shoulder, -a)]
                    ),
                    beside,
                    origin=(0.0, 0.0),
                )
                if any(section.distance(flank) < WALL_MM - 1e-7 for flank in flanks):
                    break
                turn = math.radians(at)
                vector = hole_gmm(problem.drill_mm, float(depth), one.radius_mm) * complex(
                    math.cos(turn), math.sin(turn)
                )
                rows.append((number, at, float(depth), (1.0 - share) * vector, share * vector))
                polygons.append(affinity.rotate(section, one.angle_deg, origin=(0.0, 0.0)))
    columns = [np.array(column) for column in zip(*rows, strict=True)]
    return Places(*columns, tuple(polygons))


def far_enough(all_places: Places, one: int, other: int) -> bool:
    """Whether two holes keep the wall to each other."""
    if all_places.fan[one] != all_places.fan[other]:
        return True
    return bool(all_places.polygons[one].distance(all_places.polygons[other]) >= WALL_MM - 1e-7)


def shares(problem: Small, left: Any, right: Any) -> Any:
    """Return the greatest share of a limit that remains after removing vectors."""
    u, v = problem.unbalance_gmm
    return np.maximum(np.abs(u - left), np.abs(v - right)) / problem.limit_gmm


def best_of_one(problem: Small, given: Places) -> float:
    """Return the least share that one hole leaves."""
    return float(shares(problem, given.left_gmm, given.right_gmm).min(initial=np.inf))


def best_of_two(problem: Small, given: Places) -> float:
    """Return the least share that two holes leave, all pairs looked at."""
    best = np.inf
    for one in range(len(given.polygons)):
        left = given.left_gmm[one] + given.left_gmm[one + 1 :]
        right = given.right_gmm[one] + given.right_gmm[one + 1 :]
        share = shares(problem, left, right)
        for other in np.argsort(share, kind="stable"):
            if share[other] >= best:
                break
            if far_enough(given, one, one + 1 + int(other)):
                best = float(share[other])
                break
    return best


@dataclass(frozen=True)
class Answer:
    """What an integer program says of "is there a plan of these many cuts that leaves at most this share?".

    ``share`` is what the cuts found leave (None: none were found); ``ended``: without them there is proof that there are none.
    """

    cuts: int | None
    share: float | None
    ended: bool


def program(
    problem: Small, given: Places, *, cuts: int, share: float, inside: bool, seconds: float
) -> Answer:
    """Return whether so many cuts, or fewer where ``share`` is 1, leave at most a share of the limits.

    Limits are polygons of 64 sides: around their circles, so that "none" is proven for the circles too; or inside them, so
    that what is found is a plan.
    """
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import csr_matrix, vstack

    count = len(given.polygons)
    around = np.exp(2j * np.pi * np.arange(SIDES) / SIDES)
    room = share * (math.cos(math.pi / SIDES) if inside else 1.0)
    rows, high = [], []
    for unbalance, vectors in zip(problem.unbalance_gmm, (given.left_gmm, given.right_gmm), strict=True):
        rows.append(-(np.conj(around)[:, None] * vectors[None, :]).real / problem.limit_gmm)
        high.append(room - (np.conj(around) * unbalance).real / problem.limit_gmm)
    near = [
        (one, other)
        for one, other in itertools.combinations(range(count), 2)
        if given.fan[one] == given.fan[other]
        and abs((given.angle_deg[one] - given.angle_deg[other] + 180.0) % 360.0 - 180.0) < 60.0
        and not far_enough(given, one, other)
    ]
    parts = [csr_matrix(np.vstack(rows)), csr_matrix(np.ones((1, count)))]
    limits = [np.concatenate(high), np.array([float(cuts)])]
    if near:
        index = np.repeat(np.arange(len(near)), 2)
        parts.append(
            csr_matrix((np.ones(2 * len(near)), (index, np.array(near).ravel())), (len(near), count))
        )
        limits.append(np.ones(len(near)))
    low = [np.full(each.size, -np.inf) for each in limits]
    if share < 1.0:
        low[1] = np.array([float(cuts)])
    answer = milp(
        np.zeros(count),
        integrality=np.ones(count),
        bounds=Bounds(0.0, 1.0),
        constraints=LinearConstraint(vstack(parts).tocsr(), np.concatenate(low), np.concatenate(limits)),
        options={"time_limit": seconds},
    )
    if answer.x is None:
        return Answer(None, None, answer.status == 2)
    chosen = np.flatnonzero(answer.x > 0.5)
    if any(not far_enough(given, i, j) for i, j in itertools.combinations(chosen.tolist(), 2)):
        raise AssertionError("holes too near each other")
    left = shares(problem, given.left_gmm[chosen].sum(), given.right_gmm[chosen].sum())
    return Answer(len(chosen), float(left), True)


def best_known(
    problem: Small, given: Places, *, cuts: int, share: float, seconds: float
) -> tuple[Answer, bool]:
    """Return a plan that leaves at most a share, if there is one, and whether the question was answered for certain."""
    around = program(problem, given, cuts=cuts, share=share, inside=False, seconds=seconds)
    if around.share is None or around.share <= share:
        return around, around.ended
    inner = program(problem, given, cuts=cuts, share=share, inside=True, seconds=seconds)
    return inner, inner.share is not None


def small(seed: int, *, holes: int, coarse: bool) -> Small:
    """Return a random problem that so many hidden holes solve."""
    rng = np.random.default_rng([seed, holes, 815])
    count = int(rng.integers(2, 5))
    fans = tuple(
        Fan(
            z_mm=60.0 + 90.0 * number,
            angle_deg=float(rng.integers(0, 72) * 5),
            radius_mm=float(rng.integers(72, 92)),
            half_deg=float(rng.integers(40, 66)),
            inner_mm=30.0,
            thickness_mm=24.0,
        )
        for number in range(count)
    )
    problem = Small(
        fans=fans,
        planes_mm=TwoPlanes(50.0, 70.0 + 90.0 * (count - 1)),
        unbalance_gmm=TwoPlanes(0j, 0j),
        limit_gmm=float(rng.integers(120, 320)),
        drill_mm=float(rng.choice([12.0, 14.0, 16.0])),
        angle_step_deg=10.0 if coarse else 5.0,
        depth_step_mm=4.0 if coarse else 1.0,
        greatest_mm=33.0,
    )
    given = places(problem)
    chosen: list[int] = []
    for one in rng.permutation(len(given.polygons)).tolist():
        if all(far_enough(given, one, other) for other in chosen):
            chosen.append(one)
        if len(chosen) == holes:
            break
    off = 0.7 * problem.limit_gmm * rng.random(2) * np.exp(2j * np.pi * rng.random(2))
    left = complex(given.left_gmm[chosen].sum() + off[0])
    right = complex(given.right_gmm[chosen].sum() + off[1])
    return Small(**{**problem.__dict__, "unbalance_gmm": TwoPlanes(left, right)})


def asked(problem: Small) -> CorrectionProblem:
    """Return the question as the planner is asked it."""
    low, high = problem.planes_mm
    return CorrectionProblem(
        unbalance_gmm=problem.unbalance_gmm,
        planes_z_mm=TwoPlanes(*problem.planes_mm),
        limits=(
            LimitRow(at="left", weight_1=1.0, weight_2=0.0, tolerance_gmm=problem.limit_gmm, z_mm=low),
            LimitRow(at="right", weight_1=0.0, weight_2=1.0, tolerance_gmm=problem.limit_gmm, z_mm=high),
        ),
        counterweights=tuple(
            Counterweight(
                name=f"W{number}",
                z_mm=one.z_mm,
                angle_deg=one.angle_deg,
                thickness_mm=one.thickness_mm,
                outline=fan(
                    outer_radius_mm=one.radius_mm, half_angle_deg=one.half_deg, inner_radius_mm=one.inner_mm
                ),
                cuts=("rim hole",),
            )
            for number, one in enumerate(problem.fans)
        ),
        shop=Shop(
            drills_mm=(problem.drill_mm,),
            depth_step_mm=problem.depth_step_mm,
            angle_step_deg=problem.angle_step_deg,
            least_depth_mm=LEAST_MM,
            greatest_depth_mm=problem.greatest_mm,
            least_wall_mm=WALL_MM,
            point_angle_deg=POINT_DEG,
            allow=("rim hole",),
            close_enough=CLOSE_ENOUGH,
        ),
        density_g_per_cm3=STEEL,
    )


def against_all(seed: int) -> tuple[str, bool]:
    """Return what is wrong with a plan of one or two cuts, empty if nothing; all plans were looked at."""
    problem = small(seed, holes=1 + seed % 2, coarse=False)
    given = places(problem)
    one, two = best_of_one(problem, given), best_of_two(problem, given)
    fewest, best = (1, one) if one <= 1.0 else (2, two)
    outcome = find_plan(asked(problem), seconds=3600.0)
    share = outcome.aim_reached or 0.0
    if not outcome.feasible or len(outcome.cuts) != fewest:
        return f"{len(outcome.cuts)} cuts where {fewest} do", True
    if share > max(best, CLOSE_ENOUGH) + NEAR or share < best - 1e-6:
        return f"leaves {share:.3f} of a limit where {best:.3f} can be had", True
    return "", True


def against_programs(seed: int, seconds: float = 60.0) -> tuple[str, bool]:
    """Return what is wrong with a plan of more cuts, empty if nothing, and whether the programs came to their ends."""
    problem = small(seed, holes=3 + seed % 3, coarse=True)
    given = places(problem)
    outcome = find_plan(asked(problem), seconds=3600.0)
    share, count = outcome.aim_reached or 0.0, len(outcome.cuts)
    if not outcome.feasible:
        return "no plan where there is one", True
    fewer, sure = best_known(problem, given, cuts=count - 1, share=1.0, seconds=seconds)
    if fewer.cuts is not None:
        return f"{count} cuts where {fewer.cuts} do", True
    wanted = share - NEAR
    if wanted <= CLOSE_ENOUGH:
        return "", sure
    closer, certain = best_known(problem, given, cuts=count, share=wanted, seconds=seconds)
    if closer.share is not None:
        return f"leaves {share:.3f} of a limit with {count} cuts where {closer.share:.3f} can be had", True
    return "", sure and certain


def main() -> None:
    """Print what is not the best."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument(
        "--pairs", type=int, default=60, help="problems against all plans of one and two cuts"
    )
    parser.add_argument("--programs", type=int, default=40, help="problems against integer programs")
    parser.add_argument("--seconds", type=float, default=60.0, help="for one integer program")
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument(
        "--rows", type=Path, help="a file for one line of JSON per problem: goes on where it ends"
    )
    parser.add_argument("--stop-after", type=float, default=math.inf, help="begin no other problem then")
    chosen = parser.parse_args()
    known = {}
    if chosen.rows is not None and chosen.rows.exists():
        for line in chosen.rows.read_text(encoding="utf-8").splitlines():
            row = json.loads(line)
            known[row["kind"], row["seed"]] = row
    until = time.monotonic() + chosen.stop_after
    for name, count, judge in (
        ("all plans of one and two cuts", chosen.pairs, against_all),
        ("integer programs", chosen.programs, lambda seed: against_programs(seed, chosen.seconds)),
    ):
        done = []
        for seed in range(chosen.first, chosen.first + count):
            if (name, seed) not in known:
                if time.monotonic() > until:
                    continue
                fault, sure = judge(seed)
                known[name, seed] = {"kind": name, "seed": seed, "fault": fault, "sure": sure}
                if chosen.rows is not None:
                    with chosen.rows.open("a", encoding="utf-8") as file:
                        file.write(json.dumps(known[name, seed]) + "\n")
                if fault:
                    print(f"{name}, seed {seed}: {fault}", flush=True)
            done.append(known[name, seed])
        wrong, certain = sum(bool(row["fault"]) for row in done), sum(row["sure"] for row in done)
        print(
            f"{name}: {len(done)} problems, {wrong} with a better plan elsewhere, {certain} answered for certain",
            flush=True,
        )


if __name__ == "__main__":
    main()
