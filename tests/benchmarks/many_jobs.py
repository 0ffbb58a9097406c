"""Many jobs in one command, in linear time and flat memory: ``python -m tests.benchmarks.many_jobs [COUNTS ...]``.

The second example's crankshaft with another random reading in every job (the tables are kept, as in a shop with one kind of
crankshaft); ``bobplan plan FOLDER`` as a process for each count, with its processor time and its largest process.
"""

from __future__ import annotations

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

# runs in a process of its own, so that the largest of its children is told apart
_ONE = """
import resource, subprocess, sys
ran = subprocess.run(sys.argv[1:], capture_output=True, text=True)
used = resource.getrusage(resource.RUSAGE_CHILDREN)
print(ran.returncode, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024.0)
print(ran.stderr[-300:], file=sys.stderr)
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
            command = [sys.executable, "-m", "planner", "plan", str(folder / "jobs")]
            command += ["--workers", "1", "--csv", str(folder / "all.csv")]
            ran = subprocess.run(
                [sys.executable, "-c", _ONE, *command],
                capture_output=True,
                text=True,
                env=environment,
                check=True,
            )
            code, seconds, megabytes = ran.stdout.split()
            lines = len((folder / "all.csv").read_text(encoding="utf-8").splitlines())
            print(
                f"{count:5d} jobs: exit code {code}, {lines} lines of CSV, {float(seconds):7.1f} s "
                f"({1000.0 * float(seconds) / count:.0f} ms a job), largest process {float(megabytes):.0f} MB",
                flush=True,
            )


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
