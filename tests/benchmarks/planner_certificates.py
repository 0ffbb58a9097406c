"""Is "no plan" true?  Certificates of the wide problems attacked by a search of its own.

    python -m tests.benchmarks.planner_certificates --first 200 --count 100

A certificate says how much must remain above the limits, whatever is cut.  Here cuts are drawn at random, each as deep as the
checker lets it be, then added, taken away and swapped from several starts as long as less remains.  Of the product only
what the search does not use is used: the checker's rules and its integrals.  Less than the certificate's sum would prove it
wrong; the ratio says how near to it the best that was found comes (1.00: the certificate can't be sharpened).  The problems
are invented (``tests/benchmarks/wide_problems.py``).
"""

from __future__ import annotations

import argparse
import functools
import random
from collections.abc import Callable, Iterator
from typing import Any

from planner.correction.problem import CorrectionProblem
from planner.correction.search.find_plan import find_plan
from planner.correction.verify.verify_plan import broken_rules, verify
from planner.cuts.cut import Cut
from planner.frames import TwoPlanes
from planner.rotor.crankshaft import Counterweight
from tests.benchmarks.wide_problems import wide_problem

DRAWN, STARTS, MOVES = 700, 6, 60
LOOKED_AT = 400
"""Cuts looked at for one move, after the first start."""


def excess_gmm(problem: CorrectionProblem, residual_gmm: TwoPlanes[complex]) -> float:
    """Return what remains above the limits, summed up [g*mm]."""
    first, second = residual_gmm
    return sum(
        max(0.0, abs(limit.weight_1 * first + limit.weight_2 * second) - limit.tolerance_gmm)
        for limit in problem.limits
    )


def drawn_cuts(problem: CorrectionProblem, rng: random.Random) -> Iterator[Cut]:
    """Yield cuts that the checker allows, each by itself."""
    shop = problem.shop
    for _ in range(DRAWN):
        counterweight = rng.choice(problem.counterweights)
        kinds = [kind for kind in counterweight.cuts if kind in shop.allow]
        half = counterweight.outline.half_angle_deg or 180.0
        beside = counterweight.angle_deg + rng.uniform(-half, half) - problem.angle_phase_deg
        angle = problem.angle_phase_deg + round(beside / shop.angle_step_deg) * shop.angle_step_deg
        kind = rng.choice(kinds) if kinds else ""
        if kind == "rim hole":
            cut = _deepest(problem, counterweight, angle % 360.0, rng.choice(shop.drills_mm))
        elif kind in ("face hole", "slug"):
            cut = _through(problem, counterweight, kind, angle % 360.0, rng)
        else:
            continue
        if cut is not None and not broken_rules(problem, [cut]):
            yield cut


def _deepest(
    problem: CorrectionProblem, counterweight: Counterweight, angle_deg: float, drill_mm: float
) -> Cut:
    """Return the deepest rim hole there that the checker allows (halving; the shallowest where it allows none)."""
    shop = problem.shop

    def hole(steps: int) -> Cut:
        depth = shop.shoulder_depth_mm(stop_mm=steps * shop.depth_step_mm, diameter_mm=drill_mm)
        return Cut(
            kind="rim hole", counterweight=counterweight.name, angle_deg=angle_deg, diameter_mm=drill_mm,
            depth_shoulder_mm=depth,
        )  # fmt: skip

    low = -int(-(shop.least_depth_mm - 1e-9) // shop.depth_step_mm)
    high = int((shop.greatest_depth_mm + 1e-9) // shop.depth_step_mm)
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (low, middle - 1) if broken_rules(problem, [hole(middle)]) else (middle, high)
    return hole(low)


def _through(
    problem: CorrectionProblem, counterweight: Counterweight, kind: str, angle_deg: float, rng: random.Random
) -> Cut | None:
    shop, outline = problem.shop, counterweight.outline
    radius = rng.uniform(outline.inner_radius_mm, outline.greatest_radius_mm)
    radius = round(radius / shop.slug_radius_step_mm) * shop.slug_radius_step_mm
    here: dict[str, Any] = {"counterweight": counterweight.name, "angle_deg": angle_deg, "radius_mm": radius}
    if kind == "face hole":
        return Cut(kind="face hole", diameter_mm=rng.choice(shop.drills_mm), through=True, **here)
    thickness = counterweight.thickness_mm
    lengths = shop.stacks_mm() if shop.slug_lengths_mm else (thickness,)
    length = max((each for each in lengths if each <= thickness), default=None)
    if length is None:
        return None
    through = abs(length - thickness) < 1e-9
    return Cut(
        kind="slug", diameter_mm=rng.choice(shop.slug_diameters_mm), length_mm=length, through=through, **here
    )


def least_found_gmm(problem: CorrectionProblem, rng: random.Random) -> float:
    """Return the least that any set of cuts tried here leaves above the limits [g*mm]."""
    cuts = list(drawn_cuts(problem, rng))
    start = problem.unbalance_gmm
    changes = [
        tuple(left - before for left, before in zip(verify(problem, [cut]).residual_gmm, start, strict=True))
        for cut in cuts
    ]

    @functools.cache
    def meet(one: int, other: int) -> bool:
        pair = [cuts[one], cuts[other]]
        return pair[0].counterweight == pair[1].counterweight and bool(broken_rules(problem, pair))

    best = excess_gmm(problem, start)
    for attempt in range(STARTS):
        looked_at = len(cuts) if attempt == 0 else LOOKED_AT
        chosen = _descent(problem, changes, meet, rng, looked_at)
        made = [cuts[place] for place in chosen]
        if not broken_rules(problem, made):
            best = min(best, excess_gmm(problem, verify(problem, made).residual_gmm))
    return best


def _descent(
    problem: CorrectionProblem,
    changes: list[tuple[complex, ...]],
    meet: Callable[[int, int], bool],
    rng: random.Random,
    looked_at: int,
) -> set[int]:
    """Return cuts, by their places, such that no cut more, less or exchanged among those looked at leaves less."""
    chosen: set[int] = set()

    def left(cuts: set[int]) -> float:
        sums = [
            before + sum(changes[cut][side] for cut in cuts)
            for side, before in enumerate(problem.unbalance_gmm)
        ]
        return excess_gmm(problem, TwoPlanes(*sums))

    for _ in range(MOVES):
        tried = rng.sample(range(len(changes)), min(looked_at, len(changes)))
        moves = [
            chosen - {cut}
            if cut in chosen
            else {cut, *(other for other in chosen if not meet(min(cut, other), max(cut, other)))}
            for cut in tried
        ]
        best = min(moves, key=left, default=chosen)
        if left(best) >= left(chosen) - 1e-9:
            break
        chosen = best
    return chosen


def main() -> None:
    """Print every certificate beside the best that was found against it."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--first", type=int, default=200)
    parser.add_argument("--count", type=int, default=100)
    parser.add_argument("--only", type=int, nargs="*", help="these seeds")
    parser.add_argument("--seconds", type=float, default=900.0, help="outer stop of one problem")
    chosen = parser.parse_args()
    attacked = wrong = 0
    for seed in chosen.only or range(chosen.first, chosen.first + chosen.count):
        problem = wide_problem(seed)
        outcome = find_plan(problem, seconds=chosen.seconds)
        if outcome.certificate is None:
            continue
        told = outcome.certificate.excess_sum_gmm
        made = verify(problem, [item.cut for item in outcome.best_effort])
        found = min(excess_gmm(problem, made.residual_gmm), least_found_gmm(problem, random.Random(seed)))
        attacked += 1
        wrong += found < told - 1e-6
        print(
            f"{seed}: at least {told:.1f} g*mm above the limits, found {found:.1f}, {found / told:.2f}",
            flush=True,
        )
    print(f"{attacked} certificates attacked, {wrong} wrong")


if __name__ == "__main__":
    main()
