"""Are the plans those of another checkout?  ``python -m tests.benchmarks.same_plans OTHER_CHECKOUT [COUNT] [FIRST]``.

Random crankshafts of the simulator are spun once and planned by this code and by that of the other checkout, each as its own
process; steps (counterweight, kind, drill, angle, depths, number on the stop) and residuals are compared.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

ROOT = Path(__file__).parents[2]
# runs in either checkout: takes command lines, prints the JSON of each on a line of its own
_ASK = """
import contextlib, io, json, sys
from planner.cli.main import run
for line in sys.stdin:
    sys.argv = ["bobplan", *json.loads(line)]
    out = io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(io.StringIO()):
        try:
            run()
        except SystemExit:
            pass
    print(json.dumps(json.loads(out.getvalue())), flush=True)
"""
_STEP = (
    "counterweight", "kind", "drill_mm", "diameter_mm", "angle_deg", "machine_angle_deg", "dial_deg", "depth_shoulder_mm",
    "depth_tip_mm", "stop_mm", "radius_mm", "length_mm",
)  # fmt: skip


def answers(checkout: Path, commands: list[list[str]]) -> list[dict[str, Any]]:
    """Return what each command prints there."""
    environment = os.environ | {"PYTHONPATH": str(checkout), "BOBPLAN_CACHE": "off"}
    ran = subprocess.run(
        [sys.executable, "-c", _ASK],
        input="".join(json.dumps(each) + "\n" for each in commands),
        capture_output=True,
        text=True,
        cwd=checkout,
        env=environment,
        check=False,
    )
    lines = ran.stdout.splitlines()
    if len(lines) != len(commands):
        raise SystemExit(f"{checkout}: {ran.stderr[-2000:]}")
    return [json.loads(each) for each in lines]


def amounts(value: Any) -> list[float]:
    """Return the amounts of a residual, however it is laid out [g*mm]."""
    if isinstance(value, dict):
        own = [round(float(value["amount_gmm"]), 3)] if "amount_gmm" in value else []
        return own + [each for key in sorted(value) for each in amounts(value[key])]
    return [each for one in value for each in amounts(one)] if isinstance(value, list) else []


def seen(answer: dict[str, Any]) -> tuple[Any, Any]:
    """Return the steps and the residual of an answer, as far as both checkouts name them alike."""
    steps = [
        {
            key: round(value, 4) if isinstance(value, float) else value
            for key, value in step.items()
            if key in _STEP
        }
        for step in answer.get("steps", [])
    ]
    return steps, amounts(answer.get("residual"))


def main(other: str, count: int = 100, first: int = 0) -> None:
    """Compare and print."""
    sys.path[:0] = [str(ROOT / "tests")]
    from simulator.jobs import random_job

    plans = 0
    differ: list[str] = []
    with tempfile.TemporaryDirectory() as name:
        asked: dict[str, list[list[str]]] = {"here": [], "there": []}
        for seed in range(first, first + count):
            for where, commands in asked.items():
                folder = Path(name) / where
                folder.mkdir(exist_ok=True)
                job = random_job(seed)
                spin = [str(each) for each in job.spin()]
                bobs = ["--bobs", str(job.crankshaft.bob_g), "--json"]
                commands.append(["spin", str(job.write(folder)), *spin, *bobs])
        here = answers(ROOT, asked["here"])
        there = answers(Path(other).resolve(), asked["there"])
    for seed, one, two in zip(range(first, first + count), here, there, strict=True):
        plans += bool(one.get("steps"))
        (steps, left), (other_steps, other_left) = seen(one), seen(two)
        if (steps, left) == (other_steps, other_left):
            continue
        how = [len(steps) - len(other_steps), max(left, default=0.0) - max(other_left, default=0.0)]
        differ.append(
            "fewer cuts" if how[0] < 0 else "more" if how[0] else "closer" if how[1] < 0 else "farther"
        )
        print(
            f"seed {seed}: {differ[-1]}; {len(steps)}, {left} here; {len(other_steps)}, {other_left} there",
            flush=True,
        )
    counted = ", ".join(f"{differ.count(each)} {each}" for each in sorted(set(differ)))
    print(f"{count} jobs, {plans} with cuts; {len(differ)} differ ({counted})")


if __name__ == "__main__":
    main(sys.argv[1], *map(int, sys.argv[2:4]))
