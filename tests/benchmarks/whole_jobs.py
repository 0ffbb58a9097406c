"""Whole jobs on a simulated machine and drill press, in every way of counting; and whether the stated chance is honest.

``python -m tests.benchmarks.whole_jobs jobs FIRST COUNT [TABLE]``      whole jobs of so many seeds from FIRST on
``python -m tests.benchmarks.whole_jobs chance FIRST COUNT [TABLE]``    one plan each, carried out 20 times
``python -m tests.benchmarks.whole_jobs show TABLE...``                 the figures of tables made before
(PYTHONPATH=.:tests)

Every seed is a job of its own (see `tests/simulator/jobs.py: random_job`), so parts can be run apart and put together.
Errors of drilling and reading (standard uncertainties): depth 0.5 mm, angle 1 degree, reading 2 % and 1 degree; the file
says so too.  Results go to the table (one JSON object a line) and are summed up at the end.
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
from collections import Counter
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))
sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from simulator.jobs import random_job
from simulator.whole_job import quick_plan, tell

CARRIED_OUT = 20
_VERDICTS = ("in tolerance", "too close to call", "out of tolerance")


def jobs(first: int, count: int, out: Path | None) -> list[dict[str, Any]]:
    """Tell so many jobs; one row each."""
    rows = []
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(first, first + count):
            job = random_job(seed)
            told = tell(job, Path(folder))
            row = {
                "kind": "job",
                "convention": job.convention(),
                "counterweights": len(job.crankshaft.fans),
                **dataclasses.asdict(told),
                "inside": told.inside,
                "worse": told.first_cut_made_it_worse,
            }
            rows.append(_kept(row, out))
    return rows


def chances(first: int, count: int, out: Path | None) -> list[dict[str, Any]]:
    """Plan so many jobs once and carry every plan out again and again, each time with its own errors.

    What was truly there before is drawn anew each time: what the reading can have come from.  The limit is drawn so that
    chances of every size come up.
    """
    rows = []
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(first, first + count):
            job = random_job(seed)
            # tight limits have small chances: from a third of the usual limit on
            job.limit_gmm = round(job.limit_gmm * random.Random(f"limit {seed}").uniform(0.06, 0.5))
            shown = job.machine.shown(*job.crankshaft.in_planes(job.machine))
            exact = copy.deepcopy(job)
            exact.errors = dataclasses.replace(job.errors, reading_percent=0.0, reading_angle_deg=0.0)
            exact.stated_errors = job.errors
            plan = quick_plan(exact, Path(folder))
            if not plan.get("steps") or not plan["feasible"]:
                continue
            inside = 0
            for turn in range(CARRIED_OUT):
                again = copy.deepcopy(job)
                again.draw = random.Random(f"carried out {seed} {turn}")
                again.crankshaft.hidden = _what_was_there(again, shown)
                for step in plan["steps"]:
                    again.carry_out(step)
                inside += again.inside
            row = {
                "kind": "chance",
                "seed": seed,
                "chance": plan["chance_inside"],
                "inside": inside,
                "of": CARRIED_OUT,
            }
            rows.append(_kept(row, out))
    return rows


def _what_was_there(job: Any, shown: tuple[float, float, float, float]) -> list[tuple[float, complex]]:
    """The true vectors that are read as shown, with an error of the reading drawn."""
    e, draw = job.errors, job.draw
    places = (job.machine.left_z_mm, job.machine.right_z_mm)
    result = []
    for z_mm, vector in zip(places, job.machine.read(shown), strict=True):
        turn = math.radians(draw.gauss(0.0, e.reading_angle_deg))
        factor = (1.0 + draw.gauss(0.0, e.reading_percent / 100.0)) * complex(math.cos(turn), math.sin(turn))
        result.append((z_mm, vector / factor))
    return result


def _kept(row: dict[str, Any], out: Path | None) -> dict[str, Any]:
    if out is not None:
        with out.open("a", encoding="utf-8") as file:
            file.write(json.dumps(row) + "\n")
    return row


def summary(rows: list[dict[str, Any]]) -> str:
    """The figures in words."""
    lines: list[str] = []
    told = [row for row in rows if row["kind"] == "job"]
    if told:
        cut = [row for row in told if row["rounds"]]
        n = len(told)
        inside = sum(row["inside"] for row in told)
        lines += [
            f"{n} jobs, {len(cut)} cut; truly inside at the end {inside} ({inside / n:.1%}), after one round "
            f"{sum(row['rounds'][0]['inside'] for row in cut)} of {len(cut)}",
            f"first cut made it worse: {sum(row['worse'] for row in told)}",
            f"rounds: {dict(Counter(len(row['rounds']) for row in told))}; cuts in the first: "
            f"{sum(row['rounds'][0]['cuts'] for row in cut) / max(1, len(cut)):.2f} on average",
            f"stopped: {dict(Counter(row['stopped'] for row in told if row['stopped']))}",
            f"false alarm of the diagnosis: {sum(not r['good'] for row in cut for r in row['rounds'])} of "
            f"{sum(len(row['rounds']) for row in cut)} spins after cuts",
            "",
            f"{'check says':<20}{'truly inside':>14}{'truly out':>12}",
        ]
        verdicts = Counter((r["verdict"], r["inside"]) for row in cut for r in row["rounds"])
        for verdict in _VERDICTS:
            lines.append(f"{verdict:<20}{verdicts[verdict, True]:>14}{verdicts[verdict, False]:>12}")
        lines += ["", f"{'convention':<20}{'jobs':>6}{'inside':>8}"]
        each = Counter(word for row in told for word in row["convention"])
        good = Counter(word for row in told if row["inside"] for word in row["convention"])
        lines += [f"{word:<20}{each[word]:>6}{good[word]:>8}" for word in sorted(each)]
        lines += [f"not inside: seeds {[row['seed'] for row in told if not row['inside']]}"]
    drawn = [row for row in rows if row["kind"] == "chance"]
    if drawn:
        lines += [
            "",
            f"{len(drawn)} plans, each carried out {CARRIED_OUT} times",
            f"{'chance stated':<16}{'plans':>7}{'mean stated':>13}{'came out':>10}{'expected scatter':>18}",
        ]
        for low in range(10):
            here = [row for row in drawn if min(9, int(10 * row["chance"])) == low]
            if not here:
                continue
            tries = sum(row["of"] for row in here)
            stated = sum(row["chance"] * row["of"] for row in here) / tries
            came = sum(row["inside"] for row in here) / tries
            scatter = (
                math.sqrt(max(1e-12, sum(r["of"] * r["chance"] * (1 - r["chance"]) for r in here))) / tries
            )
            lines.append(
                f"{low / 10:.1f} to {(low + 1) / 10:.1f}{'':<6}{len(here):>7}{stated:>13.3f}{came:>10.3f}{scatter:>18.3f}"
            )
    return "\n".join(lines)


def main() -> None:
    """See the module's text."""
    what, *rest = sys.argv[1:]
    if what == "show":
        rows = [json.loads(line) for path in rest for line in Path(path).read_text().splitlines()]
    else:
        first, count = int(rest[0]), int(rest[1])
        out = Path(rest[2]) if len(rest) > 2 else None
        start = time.process_time()
        rows = (jobs if what == "jobs" else chances)(first, count, out)
        print(f"{time.process_time() - start:.0f} s of processor")
    print(summary(rows))


if __name__ == "__main__":
    main()
