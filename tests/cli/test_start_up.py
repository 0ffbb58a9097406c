"""Start-up: the help loads none of the heavy libraries, and both ways of starting work as real processes."""

from __future__ import annotations

import itertools
import os
import shutil
import subprocess
import sys
from pathlib import Path

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


def test_the_list_of_commands_loads_no_command() -> None:
    """Neither numbers nor files are needed for it, nor any command's options."""
    code = (
        "import sys\nsys.argv = ['bobplan', '--help']\nfrom planner.cli.main import run\n"
        "try:\n    run()\nexcept SystemExit:\n    pass\n"
        "own = {name for name in sys.modules if name.startswith('planner.')}\n"
        "light = ('cli', 'cli.main', 'cli.console', 'cli.plain_help', 'errors', 'files', 'records', 'visible_text')\n"
        "own -= {f'planner.{name}' for name in light}\n"
        "heavy = {'numpy', 'pydantic'} & set(sys.modules)\n"
        "sys.exit(f'{own} {heavy}' if own or heavy else 0)\n"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stderr


def test_the_list_s_lines_are_whole_and_in_the_order_of_the_job() -> None:
    from planner.cli.main import COMMANDS

    names = list(COMMANDS)
    for earlier, later in itertools.pairwise(
        ["start", "match", "bobs", "spin", "plan", "done", "check", "sheet"]
    ):
        assert names.index(earlier) < names.index(later)
    for _, _, line in COMMANDS.values():
        assert line[0].isupper()
        assert line.endswith(".")
        assert len(line) <= 72


@pytest.mark.parametrize(
    "arguments", [[], ["spin", "3000", "200", "2900", "30", "--no-store"], ["plan", "--no-store"]]
)
def test_scipy_is_not_loaded_before_it_must_be(arguments: list[str], tmp_path: Path) -> None:
    """Where the tables are kept and two cuts do it, no program of scipy is asked."""
    folder = tmp_path / "job"
    shutil.copytree(Path(__file__).parents[2] / "examples" / "cross_plane_v8", folder)
    environment = os.environ | {"BOBPLAN_CACHE": str(tmp_path / "tables")}
    code = (
        f"import sys\nsys.argv = ['bobplan', *{arguments!r}]\nfrom planner.cli.main import run\n"
        "try:\n    run()\nexcept SystemExit as end:\n    pass\n"
        "loaded = [name for name in ('scipy', 'matplotlib') if name in sys.modules]\n"
        "print('LOADED', loaded)\n"
    )
    for _ in range(2):  # the first run makes the tables
        ran = subprocess.run(
            [sys.executable, "-c", code],
            capture_output=True,
            text=True,
            check=False,
            cwd=folder,
            env=environment,
        )
    assert "LOADED []" in ran.stdout, ran.stdout[-500:] + ran.stderr[-500:]


@pytest.mark.parametrize("arguments", [["plan", "--no-store"], ["spin", "--help"], ["sheet", "--help"]])
def test_nothing_of_the_page_is_loaded_by_other_commands(arguments: list[str]) -> None:
    folder = Path(__file__).parents[2] / "examples" / "cross_plane_v8"
    code = (
        f"import sys\nsys.argv = ['bobplan', *{arguments!r}]\nfrom planner.cli.main import run\n"
        "try:\n    run()\nexcept SystemExit as end:\n    pass\n"
        "page = ('starlette', 'uvicorn', 'segno', 'h11', 'anyio', 'planner.bench')\n"
        "print('LOADED', [name for name in page if name in sys.modules])\n"
    )
    ran = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=False, cwd=folder
    )
    assert "LOADED []" in ran.stdout, ran.stdout[-500:] + ran.stderr[-500:]


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
