"""How often and how well the planner plans: random crankshafts, each plan verified by the other route.

Run ``python -m tests.benchmarks.planner_random --help`` in the project's folder.  All crankshafts are invented (see
``tests/generator.py``); those of the first kind are feasible by construction.  With ``--cp-sat N`` the first N
crankshafts are also solved on a coarse grid (one drill, 5 degrees, 3 mm, rim holes only) by OR-tools CP-SAT, a
general-purpose solver: it shares the planner's table of what fits, not the search.
"""

from __future__ import annotations

import argparse
import dataclasses
import os
import time
from collections.abc import Sequence

import numpy as np

from planner.correction.candidates.block import Block
from planner.correction.candidates.blocks import build_blocks
from planner.correction.problem import CorrectionProblem
from planner.correction.search.find_plan import find_plan
from planner.correction.search.working_plan import Pool
from planner.correction.verify.verify_plan import verify
from tests.generator import random_case


def main(arguments: Sequence[str] | None = None) -> None:
    """Print the ratios."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=300)
    parser.add_argument("--first-seed", type=int, default=0)
    parser.add_argument("--seconds", type=float, default=30.0, help="outer stop per crankshaft")
    parser.add_argument("--most-cuts", type=int, default=5, help="of the hidden plans")
    parser.add_argument("--any-reading", action="store_true", help="random readings, feasible or not")
    parser.add_argument("--cp-sat", type=int, default=0, metavar="N")
    chosen = parser.parse_args(arguments)
    os.environ["BOBPLAN_CACHE"] = "off"
    seeds = range(chosen.first_seed, chosen.first_seed + chosen.count)
    plans = proven = impossible = broken = unknown = worse_than_hidden = 0
    times, firsts, gaps = [], [], []
    for seed in seeds:
        case = random_case(seed, feasible=not chosen.any_reading, most_cuts=chosen.most_cuts)
        first: list[float] = []
        start = time.process_time()

        def told(text: str, first: list[float] = first, start: float = start) -> None:
            if text.startswith("a plan") and not first:
                first.append(time.process_time() - start)

        outcome = find_plan(case.problem, seconds=chosen.seconds, progress=told)
        times.append(time.process_time() - start)
        firsts += first
        if outcome.feasible:
            plans += 1
            proven += outcome.proof.fewest_cuts
            broken += bool(verify(case.problem, [item.cut for item in outcome.cuts]).faults)
            worse_than_hidden += bool(case.hidden) and len(outcome.cuts) > len(case.hidden)
            if outcome.proof.gap_cost is not None:
                gaps.append(outcome.proof.gap_cost)
        elif outcome.certificate is not None:
            impossible += 1
        else:
            unknown += 1
            print(f"seed {seed}: neither plan nor certificate, at least {outcome.proof.bound_cuts} cuts")
    count = len(times)
    print(f"{count} crankshafts, {'any reading' if chosen.any_reading else 'feasible by construction'}")
    print(
        f"plan {plans}, proven impossible {impossible}, neither {unknown}, plans with a broken rule {broken}"
    )
    print(f"fewest cuts proven {proven} of {plans} plans; more cuts than the hidden plan {worse_than_hidden}")
    print(
        f"processor seconds: first plan median {np.median(firsts):.2f}, p90 {np.quantile(firsts, 0.9):.2f}; "
        f"finished median {np.median(times):.2f}, p90 {np.quantile(times, 0.9):.2f}, max {max(times):.2f}"
    )
    if gaps:
        print(
            f"gap of the cost: median {np.median(gaps):.3f}, p90 {np.quantile(gaps, 0.9):.3f} ({len(gaps)} known)"
        )
    if chosen.cp_sat:
        compare_with_cp_sat(range(chosen.first_seed, chosen.first_seed + chosen.cp_sat), chosen.seconds)


def compare_with_cp_sat(seeds: Sequence[int], seconds: float) -> None:
    """Print how the number of cuts compares on the coarse grid."""
    better = equal = worse = open_ends = 0
    for seed in seeds:
        problem = coarse(random_case(seed, feasible=True, slugs=False).problem)
        outcome = find_plan(problem, seconds=seconds)
        cuts, proven = cp_sat_cuts(problem, seconds=20.0)
        own = len(outcome.cuts) if outcome.feasible else None
        if cuts is None:
            open_ends += 1
            if proven and own is not None:
                print(f"seed {seed}: planner {own} cuts, CP-SAT says impossible")
                worse += 1
        elif own is not None and own <= cuts:
            equal += own == cuts
            better += own < cuts
            if own < cuts and proven:
                print(f"seed {seed}: planner {own}, CP-SAT proved {cuts}")
        else:
            print(f"seed {seed}: planner {own}, CP-SAT {cuts} (proven: {proven})")
            worse += 1
    print(
        f"against CP-SAT on {len(seeds)}: fewer {better}, equal {equal}, more or none {worse}, unsolved {open_ends}"
    )


def coarse(problem: CorrectionProblem) -> CorrectionProblem:
    """Return the problem with one drill, rim holes only, 5 degrees and 3 mm."""
    shop = dataclasses.replace(
        problem.shop, drills_mm=problem.shop.drills_mm[-1:], allow=("rim hole",), angle_step_deg=5.0,
        depth_step_mm=3.0, aim=1.0,
    )  # fmt: skip
    return dataclasses.replace(problem, shop=shop)


def cp_sat_cuts(problem: CorrectionProblem, *, seconds: float) -> tuple[int | None, bool]:
    """Return the fewest cuts that CP-SAT finds, and whether it proved that (None, True: impossible)."""
    from ortools.sat.python import cp_model

    blocks: list[Block] = build_blocks(problem)
    pool = Pool(problem, problem.unbalance_gmm, blocks)
    model = cp_model.CpModel()
    chosen, parts = [], []
    for index, block in enumerate(blocks):
        settings, angles = np.nonzero(pool.legal(index))
        own = [model.NewBoolVar("") for _ in settings]
        chosen += own
        effect = block.amount_gmm[settings] * pool.phases(index)[angles]
        parts.append(pool.row_weights(index, settings) * effect)
        for one in range(settings.size):
            rest = slice(one + 1, None)
            count = settings.size - one - 1
            if not count:
                continue
            apart = pool.apart(
                (index, np.full(count, settings[one]), np.full(count, angles[one])),
                (index, settings[rest], angles[rest]),
            )
            for other in np.flatnonzero(~apart):
                model.AddBoolOr([own[one].Not(), own[one + 1 + int(other)].Not()])
    if not chosen:
        return None, True
    contribution = np.concatenate(parts, axis=1)
    scale = 10.0
    for row in range(contribution.shape[0]):
        for turn in np.exp(2j * np.pi * np.arange(48) / 48):
            weights = np.round((np.conj(turn) * contribution[row]).real * scale).astype(int)
            start = float((np.conj(turn) * pool.start[row]).real)
            # inside the circle: what it finds is a plan (its proofs are for the slightly smaller polygon)
            high = (pool.tolerance[row] * np.cos(np.pi / 48) - start) * scale
            model.Add(cp_model.LinearExpr.WeightedSum(chosen, weights.tolist()) <= int(np.floor(high)))
    model.Minimize(cp_model.LinearExpr.Sum(chosen))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 1
    status = solver.Solve(model)
    if status == cp_model.INFEASIBLE:
        return None, True
    if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return round(solver.ObjectiveValue()), status == cp_model.OPTIMAL
    return None, False


if __name__ == "__main__":
    main()
