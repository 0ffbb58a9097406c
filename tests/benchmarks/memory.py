"""Peak memory of one plan on ever finer grids: `python -m tests.benchmarks.memory [--seconds 60]`  (POSIX only).

Each case is a process of its own, without kept tables.  A grid must either be refused in words or stay below 1 GB.
"""

from __future__ import annotations

import argparse
import os
import re
import subprocess
import sys
import tempfile
import time
from pathlib import Path

JOB = Path(__file__).resolve().parents[2] / "examples" / "cross_plane_v8" / "job.toml"
MOST_MB = 1000.0

# kinds of cut, depth step [mm], angle step [deg], radius step [mm], drills, outer radius [mm]
CASES = [
    (("rim hole",), 0.01, 0.2, 1.0, 3, 88.0),
    (("rim hole",), 0.01, 0.05, 1.0, 3, 88.0),
    (("rim hole",), 0.01, 0.05, 1.0, 8, 88.0),
    (("rim hole",), 0.05, 1.0, 1.0, 60, 47000.0),
    (("face hole",), 0.1, 1.0, 0.1, 3, 88.0),
    (("face hole",), 0.1, 3.0, 0.2, 7, 88.0),
    (("face hole",), 0.01, 0.05, 0.01, 3, 88.0),
    (("slug",), 0.5, 1.0, 0.01, 3, 88.0),
    (("rim hole", "face hole", "slug"), 0.2, 0.5, 0.5, 20, 88.0),
    (("rim hole", "face hole", "slug"), 0.5, 1.0, 1.0, 3, 47000.0),
]


def job_text(
    kinds: tuple[str, ...], depth_step: float, angle_step: float, radius_step: float, drills: int, rim: float
) -> str:
    """Return the V8 of the examples with a shop of its own; invented."""
    text = JOB.read_text(encoding="utf-8")
    quoted = ", ".join(f'"{kind}"' for kind in kinds)
    text = re.sub(r"cuts = \[.*?\]", f"cuts = [{quoted}]", text)
    text = re.sub(r"(?m)^depth_step = .*", f"depth_step = {depth_step}", text)
    more = f'slug_radius_step = {radius_step}\nslug_diameters = [20, 25]\nallow = ["rim hole", "face hole", "slug"]'
    text = re.sub(r"(?m)^angle_step = .*", f"angle_step = {angle_step}\n{more}", text)
    sizes = ", ".join(f"{8 + 24 * number / drills:g}" for number in range(drills))
    text = re.sub(r"(?m)^drills = .*", f"drills = [{sizes}]", text)
    text = text.replace("outer_radius = 88.0", f"outer_radius = {rim}")
    if rim > 250.0:
        text += '\n[plausible]\ncounterweight_radius = "100 m"\ncounterweights_heavy = true\n'
    return text


_STARTER = """
import os, sys
out = os.open(sys.argv[1], os.O_WRONLY | os.O_CREAT)
pid = os.fork()
if not pid:
    os.dup2(out, 1), os.dup2(out, 2)
    os.execv(sys.argv[2], sys.argv[2:])
_, status, used = os.wait4(pid, 0)
print(os.waitstatus_to_exitcode(status), used.ru_utime + used.ru_stime, used.ru_maxrss)
"""


def measured(text: str, *, seconds: float) -> tuple[int, float, float, str]:
    """Return exit code, processor time [s], peak memory [MB] and the first words of a plan of a job."""
    with tempfile.TemporaryDirectory() as folder:
        job = Path(folder) / "job.toml"
        job.write_text(text, encoding="utf-8")
        said = Path(folder) / "said.txt"
        environment = {**os.environ, "BOBPLAN_CACHE": "off", "XDG_STATE_HOME": folder}
        command = [
            sys.executable,
            "-m",
            "planner",
            "plan",
            str(job),
            "--no-store",
            "--seconds",
            f"{seconds:g}",
        ]
        # a small process starts it: a process's peak counts what it was forked from, which may be a whole test run
        told = subprocess.run(
            [sys.executable, "-I", "-S", "-c", _STARTER, str(said), *command],
            env=environment,
            capture_output=True,
            text=True,
            check=True,
        ).stdout.split()
        words = said.read_text(encoding="utf-8")
    code, processor_s = int(told[0]), float(told[1])
    # Linux counts kilobytes, macOS bytes
    peak_mb = float(told[2]) / (1e6 if sys.platform == "darwin" else 1024.0)
    telling = [line for line in words.splitlines() if line.startswith(("error", "PLAN"))]
    return code, processor_s, peak_mb, (telling or [words[:200]])[0]


def main() -> None:
    """Measure all cases; end with an error when one needs more than it may."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seconds", type=float, default=60.0)
    asked = parser.parse_args()
    worst = 0.0
    for case in CASES:
        start = time.perf_counter()
        code, used, peak, words = measured(job_text(*case), seconds=asked.seconds)
        worst = max(worst, peak)
        print(
            f"{case}: exit {code}, {used:.0f} s of processor time, {time.perf_counter() - start:.0f} s, {peak:.0f} MB; "
            f"{words:.110}",
            flush=True,
        )
    assert worst <= MOST_MB, f"{worst:.0f} MB"


if __name__ == "__main__":
    main()
