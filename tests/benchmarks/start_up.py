"""What starting costs, in processor time, as ratios measured in one run: ``python -m tests.benchmarks.start_up [RUNS]``.

=================================== ===============================================
command                             against
=================================== ===============================================
``bobplan --help``                  ``import typer``                       (goal 2)
``bobplan plan``, tables kept       ``import numpy, scipy.optimize, shapely`` (1.2)
bare ``bobplan``, ``bobplan spin``  the same
=================================== ===============================================

Commands and imports run in turns, so that what else the machine does meets all alike; medians and least times are compared.
"""

from __future__ import annotations

import os
import resource
import shutil
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).parents[2]


def processor_s(arguments: list[str], *, folder: Path, environment: dict[str, str]) -> float:
    """Return the processor time [s] of a command as a process."""
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(
        [sys.executable, *arguments], cwd=folder, env=environment, capture_output=True, check=False
    )
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def main(runs: int = 12) -> None:
    """Measure and print."""
    imports = {"typer": "import typer", "numeric": "import numpy, scipy.optimize, shapely"}
    commands = {
        "bobplan --help": (["--help"], "typer"),
        "bobplan plan": (["plan", "--no-store"], "numeric"),
        "bobplan": ([], "numeric"),
        "bobplan spin": (["spin", "3000", "200", "2900", "30", "--no-store"], "numeric"),
    }
    asked = {name: ["-c", code] for name, code in imports.items()}
    asked |= {name: ["-m", "planner", *words] for name, (words, _) in commands.items()}
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        shutil.copytree(ROOT / "examples" / "cross_plane_v8", folder / "job")
        environment = os.environ | {"PYTHONPATH": str(ROOT), "BOBPLAN_CACHE": str(folder / "tables")}
        environment["PYTHONPYCACHEPREFIX"] = str(folder / "compiled")
        # who starts a program twice has its compiled modules
        environment.pop("PYTHONDONTWRITEBYTECODE", None)
        environment |= {"XDG_STATE_HOME": str(folder / "state"), "OMP_NUM_THREADS": "1"}
        times: dict[str, list[float]] = {each: [] for each in asked}
        for turn in range(runs + 1):
            for each, arguments in asked.items():
                took = processor_s(arguments, folder=folder / "job", environment=environment)
                if turn:  # the first makes the tables and the compiled modules
                    times[each].append(took)
    for each, (_, against) in commands.items():
        ratios = [statistics.median(times[each]) / statistics.median(times[against])]
        ratios.append(min(times[each]) / min(times[against]))
        print(f"{each:16s} {ratios[0]:5.2f} of `{imports[against]}` by medians, {ratios[1]:.2f} by the least")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:2]))
