"""Start-up: the help loads none of the heavy libraries, and both ways of starting work as real processes."""

from __future__ import annotations

import subprocess
import sys

import pytest

HEAVY = ("ezdxf", "scipy", "matplotlib", "shapely", "tomlkit", "pint", "rich", "tomllib")


@pytest.mark.parametrize(
    "arguments",
    [
        ["--help"],
        ["plan", "--help"],
        ["spin", "--help"],
        ["cut", "--help"],
        ["trial", "--help"],
        ["machine", "--help"],
        ["--version"],
    ],
)
def test_help_loads_nothing_heavy(arguments: list[str]) -> None:
    code = (
        "import sys\n"
        f"sys.argv = ['bobplan', *{arguments!r}]\n"
        "from planner.cli.main import run\n"
        "try:\n    run()\nexcept SystemExit as end:\n    code = end.code\n"
        f"loaded = [name for name in {HEAVY!r} if name in sys.modules]\n"
        "sys.exit(f'loaded: {loaded}' if loaded or code else 0)\n"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stderr
    assert "bobplan" in ran.stdout


def test_python_dash_m() -> None:
    ran = subprocess.run(
        [sys.executable, "-m", "planner", "--version"], capture_output=True, text=True, check=False
    )
    assert ran.returncode == 0
    assert ran.stdout.startswith("bobplan ")


def test_a_real_process_ends_with_two_on_bad_input() -> None:
    ran = subprocess.run(
        [sys.executable, "-m", "planner", "plan", "no/such/job.toml"],
        capture_output=True,
        text=True,
        check=False,
    )
    assert ran.returncode == 2
    assert "Traceback" not in ran.stderr
    assert ran.stdout == ""
