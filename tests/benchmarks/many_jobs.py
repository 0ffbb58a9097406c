"""Many jobs in one command, in linear time and flat memory: ``python -m tests.benchmarks.many_jobs [COUNTS ...]``.

The second example's crankshaft with another random reading in every job (the tables are kept, as in a shop with one kind of
crankshaft); ``bobplan plan FOLDER`` in a process for each count, with the processor time of
its first and its last quarter and its memory.
"""

from __future__ import annotations

import json
import os
import random
import re
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).parents[2]
EXAMPLE = ROOT / "examples" / "cross_plane_v8"

# the command in a process of its own, which notes after each job what it has used
_ONE = """
import json, resource, sys, time
MARKS = sys.argv[1]
from planner import library
from planner.cli.main import run
marks, real = [(time.process_time(), 0.0)], library.plan_many
def noted(*given, **named):
    for result in real(*given, **named):
        marks.append((time.process_time(), resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024.0))
        yield result
library.plan_many = noted
sys.argv = ["bobplan", *sys.argv[2:]]
try:
    run()
except SystemExit as end:
    code = end.code
with open(MARKS, "w") as file:
    json.dump([code, marks], file)
"""


def make_jobs(folder: Path, count: int, *, seed: int = 1) -> None:
    """Write that many jobs, each in a folder of its own, with another reading."""
    draw = random.Random(seed)
    text = (EXAMPLE / "job.toml").read_text(encoding="utf-8")

    def other(found: re.Match[str]) -> str:
        return f"{found[1]} = {{ amount = {draw.uniform(1500, 4200):.0f}, angle = {draw.uniform(0, 359):.0f}"

    for number in range(count):
        job = folder / f"{number:04d}"
        shutil.copytree(EXAMPLE, job)
        changed, replaced = re.subn(r"(?m)^(left|right) = \{ amount = [\d.]+, angle = [\d.]+", other, text)
        assert replaced >= 2
        (job / "job.toml").write_text(changed, encoding="utf-8")


def main(*counts: int) -> None:
    """Measure and print."""
    for count in counts or (50, 200, 1000):
        with tempfile.TemporaryDirectory() as name:
            folder = Path(name)
            make_jobs(folder / "jobs", count)
            environment = os.environ | {
                "PYTHONPATH": str(ROOT),
                "BOBPLAN_CACHE": str(folder / "tables"),
                "XDG_STATE_HOME": str(folder / "state"),
            }
            marked = folder / "marks.json"
            command = [sys.executable, "-c", _ONE, str(marked), "plan", str(folder / "jobs")]
            command += ["--workers", "1", "--csv", str(folder / "all.csv")]
            subprocess.run(command, capture_output=True, env=environment, check=True)
            code, marks = json.loads(marked.read_text(encoding="utf-8"))
            seconds, megabytes = zip(*marks, strict=True)
            quarter = max(count // 4, 1)
            first, last = (
                (seconds[quarter] - seconds[0]) / quarter,
                (seconds[-1] - seconds[-1 - quarter]) / quarter,
            )
            lines = len((folder / "all.csv").read_text(encoding="utf-8").splitlines())
            print(
                f"{count:5d} jobs: exit code {code}, {lines} lines of CSV, {seconds[-1]:7.1f} s of processor time "
                f"({1000.0 * seconds[-1] / count:.0f} ms a job; first quarter {1000.0 * first:.0f}, last {1000.0 * last:.0f}), "
                f"most memory {megabytes[-1]:.0f} MB ({megabytes[quarter]:.0f} after the first quarter)",
                flush=True,
            )


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
