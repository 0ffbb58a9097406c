"""What starting costs, in processor time, as ratios measured in one run: ``python -m tests.benchmarks.start_up [RUNS]``.

=================================== ===============================================
command                             against
=================================== ===============================================
``bobplan --help``                  ``import typer``                       (goal 2)
``bobplan plan``, tables kept       ``import numpy, scipy.optimize, shapely`` (1.2)
bare ``bobplan``, ``bobplan spin``  the same
=================================== ===============================================

The least of the runs counts: what else the machine does can only add.
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


def processor_s(arguments: list[str], *, runs: int, folder: Path, environment: dict[str, str]) -> float:
    """Return the least processor time [s] of a command as a process."""
    times = []
    for _ in range(runs):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        subprocess.run(
            [sys.executable, *arguments], cwd=folder, env=environment, capture_output=True, check=False
        )
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        times.append(after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
    return min(times)


def main(runs: int = 7) -> None:
    """Measure and print."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        shutil.copytree(ROOT / "examples" / "cross_plane_v8", folder / "job")
        environment = os.environ | {"PYTHONPATH": str(ROOT), "BOBPLAN_CACHE": str(folder / "tables")}
        environment["PYTHONPYCACHEPREFIX"] = str(folder / "compiled")
        # who starts a program twice has its compiled modules
        environment.pop("PYTHONDONTWRITEBYTECODE", None)
        environment |= {"XDG_STATE_HOME": str(folder / "state"), "OMP_NUM_THREADS": "1"}

        def measured(*arguments: str) -> float:
            return processor_s(list(arguments), runs=runs, folder=folder / "job", environment=environment)

        measured("-m", "planner", "plan", "--no-store")  # makes the tables
        typer = measured("-c", "import typer")
        numeric = measured("-c", "import numpy, scipy.optimize, shapely")
        print(
            f"import typer: {typer:.3f} s; import numpy, scipy.optimize, shapely: {numeric:.3f} s (processor time)"
        )
        print(f"bobplan --help           {measured('-m', 'planner', '--help') / typer:5.2f} of import typer")
        for words in (["plan", "--no-store"], [], ["spin", "3000", "200", "2900", "30", "--no-store"]):
            ratio = measured("-m", "planner", *words) / numeric
            print(f"bobplan {' '.join(words[:1]):16s} {ratio:5.2f} of the imports")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:2]))
