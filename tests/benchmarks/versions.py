"""The lowest allowed versions of what the program stands on, and other Pythons: ``tests/benchmarks/versions.py [WHICH ...]``.

WHICH is ``lowest`` (every floor of pyproject.toml, as wheels, this Python) or a Python such as ``3.13`` (newest versions);
all when left out.  Each gets an environment of its own in a temporary folder, a smoke part of the tests, and the first
example planned, drawn and put on a sheet.  A Python that is not there is said to be not to be had.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PYTHONS = ("3.12", "3.13", "3.14")
SMOKE = (
    "tests/unit/test_units.py", "tests/unit/test_files.py", "tests/unit/test_job_reading.py", "tests/unit/test_job_writing.py",
    "tests/unit/test_search_store.py", "tests/unit/test_search_packing.py", "tests/unit/test_search_whole_grid.py",
    "tests/unit/test_lettered.py", "tests/unit/test_engine_matching.py",
    "tests/published/test_rao_trial_masses.py", "tests/published/test_iso_21940_11_grades.py",
    "tests/cli/test_examples.py", "tests/cli/test_spin_and_done.py", "tests/cli/test_sheet_command.py",
)  # fmt: skip
TOOLS = ("pytest", "pytest-xdist", "hypothesis", "jsonschema", "pint", "pypdf")


def floors() -> list[str]:
    """Return the dependencies pinned to their floors: ``numpy==1.26``."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    found = []
    for each in project["dependencies"]:
        match = re.fullmatch(r"([A-Za-z0-9._-]+)>=([0-9.]+)", each)
        assert match is not None, each
        found.append(f"{match[1]}=={match[2]}")
    return found


def python_of(version: str) -> str | None:
    """Return a Python of a version, None if there is none here: on the path, or where version managers put them."""
    found = shutil.which(f"python{version}")
    kept = sorted(Path.home().glob(f".pyenv/versions/{version}*/bin/python"))
    for each in ([found] if found else []) + [str(path) for path in kept]:
        said = subprocess.run([each, "-c", "import sys; print(sys.version)"], capture_output=True, text=True)
        if said.returncode == 0 and said.stdout.startswith(f"{version}."):
            return each
    return None


def tried(name: str, python: str, packages: list[str], folder: Path) -> bool:
    """Make an environment, run the smoke part in it and say what came of it; return whether it is good."""
    start = time.perf_counter()
    there = folder / name.replace(".", "-")
    subprocess.run([python, "-m", "venv", str(there)], check=True)
    own = str(there / "bin" / "python")
    pip = [own, "-m", "pip", "install", "--quiet", "--only-binary", ":all:"]
    installed = subprocess.run([*pip, *packages, *TOOLS], capture_output=True, text=True)
    if installed.returncode:
        errors = [line for line in installed.stderr.splitlines() if line.startswith("ERROR")]
        print(f"{name}: can't be installed as wheels: {' '.join(errors)[:600]}", flush=True)
        return False
    environment = {
        **os.environ, "PYTHONPATH": str(ROOT), "XDG_CACHE_HOME": str(folder), "XDG_STATE_HOME": str(folder),
        "OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1",
    }  # fmt: skip
    job = folder / f"job-{name}"
    shutil.copytree(ROOT / "examples" / "cross_plane_v8", job)
    good = True
    for command in (
        ["plan", str(job), "--plot", str(job / "p.png")],
        ["sheet", str(job), "-o", str(job / "s.pdf")],
    ):
        ran = subprocess.run(
            [own, "-m", "planner", *command], cwd=folder, env=environment, capture_output=True, text=True
        )
        if ran.returncode:
            print(f"{name}: bobplan {command[0]} ends with {ran.returncode}: {ran.stderr[-600:]}", flush=True)
            good = False
    # what other packages deprecate is theirs to mend: old versions of one meet new ones of another here
    ran = subprocess.run(
        [own, "-m", "pytest", "-q", "-n", "0", "-p", "no:cacheprovider", "-W", "ignore::DeprecationWarning",
         "-W", "ignore::PendingDeprecationWarning", *SMOKE],
        cwd=ROOT, env=environment, capture_output=True, text=True,
    )  # fmt: skip
    closing = (ran.stdout.strip().splitlines() or [ran.stderr[-300:]])[-1]
    listed = subprocess.run(
        [own, "-m", "pip", "list", "--format", "freeze"], capture_output=True, text=True
    ).stdout
    names = [re.split(r"[=><]", each)[0].lower() for each in packages]
    versions = [line for line in listed.splitlines() if line.split("==")[0].lower() in names]
    print(f"{name}: {closing}; {', '.join(versions)}; {time.perf_counter() - start:.0f} s", flush=True)
    for line in ran.stdout.splitlines():
        if line.startswith(("FAILED", "ERROR")):
            print(f"  {line[:200]}", flush=True)
    return good and ran.returncode == 0


def main() -> None:
    """Try what is asked for; end with an error when one is not good."""
    asked = sys.argv[1:] or ["lowest", *PYTHONS]
    plain = [each.split("==")[0] for each in floors()]
    good = True
    with tempfile.TemporaryDirectory() as name:
        for each in asked:
            if each == "lowest":
                good &= tried("lowest", sys.executable, floors(), Path(name))
                continue
            python = python_of(each)
            if python is None:
                print(f"Python {each}: not to be had here", flush=True)
                continue
            good &= tried(f"Python {each}".replace(" ", "-"), python, plain, Path(name))
    raise SystemExit(0 if good else 1)


if __name__ == "__main__":
    main()
