"""How many spins it takes until a crankshaft is truly inside: today's wish, the former rule and the method by hand, side by side.

    python -m tests.benchmarks.spins_to_inside 0 500 TABLE     jobs of so many seeds from the first on; goes on where TABLE ends
    python -m tests.benchmarks.spins_to_inside show TABLE      the figures of a table
    (PYTHONPATH=.:tests)

Crankshaft, machine and drill press are those of `tests/simulator/`, without product code; what is truly left is asked of
them alone.  Every job is feasible by drilling: there is too much metal in some counterweights.  In every second job the
shop also has slugs, so that heavy metal in a plan is heavy metal that drilling could have spared.  Errors of drilling and
reading (standard uncertainties): depth 0.5 mm, angle 1 degree, reading 2 % and 1 degree; the file says so too.  All three
begin with the same reading; then each has its own errors.  Invented data.

rules
  wish    the defaults: drilling before heavy metal, the fewest cuts that pass with the wanted chance, then closest
  former  fewest cuts on the bare tolerance at any price, least metal, aim 1
  hand    one or two holes a side in the end counterweights, by the parallelogram
"""

from __future__ import annotations

import copy
import dataclasses
import json
import math
import random
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from simulator import holes
from simulator.jobs import SimulatedJob, random_job
from simulator.tool import bobplan, checked

ROUNDS = 4
RULES = ("wish", "former", "hand")
FORMER = (
    "--heavy-metal", "allowed", "--prefer-cuts", "fewest", "--prefer", "least metal", "--aim", 1,
)  # fmt: skip


def told(seed: int, folder: Path) -> dict[str, Any]:
    """Return one job's row: per rule the spins until truly inside (None: not within the rounds), cuts, slugs."""
    job = random_job(seed)
    if seed % 2:
        job.kinds = ("rim hole", "slug")
        job.workshop = dataclasses.replace(job.workshop, slugs_mm=(19.05, 25.4))
    first = job.spin()
    row: dict[str, Any] = {"seed": seed, "start": job.worst, "slugs": bool(seed % 2)}
    if job.inside:
        return row
    for rule in RULES:
        mine = copy.deepcopy(job)
        mine.draw = random.Random(f"errors of {seed} by {rule}")
        own = folder / f"{seed}-{rule}"
        own.mkdir(parents=True, exist_ok=True)
        row[rule] = _told(mine, first, own, rule)
    return row


def _told(
    job: SimulatedJob, first: tuple[float, float, float, float], folder: Path, rule: str
) -> dict[str, Any]:
    path = job.write(folder)
    shown = first
    cuts: list[int] = []
    slugs = 0
    after: list[float] = []
    why = ""
    for number in range(ROUNDS):
        as_planned = ["--cut-as-planned", "--unproved"] if number and rule != "hand" else []
        checked(
            "spin", path, *shown, *(() if number else ("--bobs", job.crankshaft.bob_g)), "-y", *as_planned
        )
        steps = _steps(job, path, rule)
        if not steps:
            why = "nothing to cut, or no plan"
            break
        for step in steps:
            if not job.carry_out(step, by="centre line" if rule == "hand" else "dial"):
                raise AssertionError(f"job {job.seed}: {step['cut']} finds no metal")
            slugs += step["cut"] in ("slug", "fill")
        cuts.append(len(steps))
        after.append(round(job.worst, 4))
        if job.inside:
            break
        shown = job.spin()
        if rule == "hand":
            _enter(job, path, steps)
    return {
        "spins": len(cuts) + 1 if job.inside else None,
        "cuts": cuts,
        "slugs": slugs,
        "after": after,
        "why": why,
    }


def _steps(job: SimulatedJob, path: Path, rule: str) -> list[dict[str, Any]]:
    if rule != "hand":
        options = FORMER if rule == "former" else ()
        # stored, so that the next spin takes these cuts as made
        plan = checked("plan", path, *options, *(("--store",) if options else ()))
        return list(plan["steps"]) if plan["feasible"] else []
    hand = checked("plan", path, "--method", "hand")["hand"]
    shop = job.workshop
    found = []
    for side in hand["sides"]:
        fan = job.crankshaft.fan(side["counterweight"])
        for hole in side["holes"]:
            tip = holes.cone_mm(hole["diameter_mm"], shop.point_angle_deg) if shop.depth_to == "tip" else 0.0
            found.append({
                "counterweight": fan.name, "cut": "rim hole", "diameter_mm": hole["diameter_mm"],
                "stop_mm": hole["depth_shoulder_mm"] + tip,
                "from_centre_deg": hole["angle_deg"] - fan.angle_deg,
                "dial_deg": _dial_deg(job, hole["angle_deg"]),
            })  # fmt: skip
    return found


def _dial_deg(job: SimulatedJob, place_deg: float) -> float:
    """Return the number on the dial that brings a place under the drill."""
    zero = job.machine.under_drill_deg(0.0)
    sense = math.cos(math.radians(job.machine.under_drill_deg(90.0) - zero - 90.0))
    return ((place_deg - zero) * (1.0 if sense > 0.0 else -1.0)) % 360.0


def _enter(job: SimulatedJob, path: Path, steps: list[dict[str, Any]]) -> None:
    for step in steps:
        said = bobplan(
            "done", "--job", path, "--on", step["counterweight"], "--drill", f"{step['diameter_mm']} mm",
            "--dial", f"{step['dial_deg']:.4f}", "--depth", f"{step['stop_mm']} mm", "--kind", "rim",
            "-y", "--unproved", "--seconds", 0.2, "--json",
        )  # fmt: skip
        if said.code == 2:
            raise AssertionError(f"job {job.seed}: {said.err}{said.out}")


def summary(rows: list[dict[str, Any]]) -> str:
    """Return the figures in words."""
    cut = [row for row in rows if "wish" in row]
    lines = [
        f"{len(rows)} jobs, {len(cut)} not inside at first; {sum(r['slugs'] for r in cut)} with slugs at hand"
    ]
    lines.append(
        f"{'rule':<8}{'mean spins':>12}{'inside by 2':>13}{'never inside':>14}{'cuts, round 1':>15}{'with slugs':>12}"
    )
    for rule in RULES:
        own = [row[rule] for row in cut]
        spins = [each["spins"] if each["spins"] is not None else ROUNDS + 2 for each in own]
        lines.append(
            f"{rule:<8}{sum(spins) / max(1, len(spins)):>12.3f}"
            f"{sum(each['spins'] == 2 for each in own):>13}{sum(each['spins'] is None for each in own):>14}"
            f"{sum(each['cuts'][0] if each['cuts'] else 0 for each in own) / max(1, len(own)):>15.2f}"
            f"{sum(each['slugs'] > 0 for each in own):>12}"
        )
    lines.append(f"never inside within {ROUNDS} rounds counts as {ROUNDS + 2} spins; all jobs can be drilled")
    bad = [row["seed"] for row in cut if row["wish"]["spins"] is None or row["wish"]["slugs"]]
    lines.append(f"wish: not inside, or with heavy metal: seeds {bad}")
    return "\n".join(lines)


def main() -> None:
    """See the module's text."""
    if sys.argv[1] == "show":
        print(summary([json.loads(line) for line in Path(sys.argv[2]).read_text().splitlines()]))
        return
    first, count, table = int(sys.argv[1]), int(sys.argv[2]), Path(sys.argv[3])
    rows = [json.loads(line) for line in table.read_text().splitlines()] if table.exists() else []
    known = {row["seed"] for row in rows}
    until = time.monotonic() + float(sys.argv[4]) if len(sys.argv) > 4 else math.inf
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(first, first + count):
            if seed in known or time.monotonic() > until:
                continue
            rows.append(told(seed, Path(folder)))
            with table.open("a", encoding="utf-8") as file:
                file.write(json.dumps(rows[-1]) + "\n")
    print(summary(rows))


if __name__ == "__main__":
    main()
