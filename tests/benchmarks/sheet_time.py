"""Processor time of ``sheet -o x.pdf`` against that of ``plan --plot x.pdf`` for the same job, each as a process of its own.

``python tests/benchmarks/sheet_time.py [runs]``: the least of the runs counts; the tables of places are kept from a first run.
"""

from __future__ import annotations

import os
import resource
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).parents[2]
EXAMPLES = ("cross_plane_v8", "external_balance_v8", "inline_three_light_spot")


def seconds(arguments: list[str], folder: Path, cache: Path) -> float:
    """Return the processor time that a command takes [s]."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    environment = {
        **os.environ,
        "PYTHONPATH": str(ROOT),
        "XDG_CACHE_HOME": str(cache),
        "OMP_NUM_THREADS": "1",
    }
    ran = subprocess.run(
        [sys.executable, "-m", "planner", *arguments],
        cwd=folder,
        env=environment,
        capture_output=True,
        check=False,
    )
    if ran.returncode not in (0, 1):
        raise SystemExit(ran.stderr.decode())
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def main() -> int:
    """Print both times and their ratio for every example."""
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 3
    worst = 0.0
    with tempfile.TemporaryDirectory() as kept:
        cache = Path(kept) / "cache"
        for name in EXAMPLES:
            folder = Path(kept) / name
            shutil.copytree(ROOT / "examples" / name, folder)
            commands = (["plan", ".", "--plot", "p.pdf"], ["sheet", ".", "-o", "s.pdf"])
            for command in commands:
                seconds(command, folder, cache)
            plan, sheet = (min(seconds(command, folder, cache) for _ in range(runs)) for command in commands)
            worst = max(worst, sheet / plan)
            print(
                f"{name}: plan --plot {plan:.2f} s, sheet {sheet:.2f} s, ratio {sheet / plan:.2f}", flush=True
            )
    print(f"worst ratio {worst:.2f} (1.5 is allowed)")
    return int(worst > 1.5)


if __name__ == "__main__":
    sys.exit(main())
