from __future__ import annotations

import json
import shutil
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from tests import json_schema
from tests.pristine import drop_plans

EXAMPLES = Path(__file__).parents[2] / "examples"


@dataclass(frozen=True)
class Ran:
    """What a command left: exit code, standard output, standard error."""

    code: int
    out: str
    err: str

    @property
    def json(self) -> Any:
        return json.loads(self.out)


@pytest.fixture(autouse=True)
def _own_user_folders(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> None:
    """No test touches the user's own cache or state, nor sees another test's state.

    The tables are kept for the whole run: they are known by their content, and making them anew in every test would be
    most of the time. ``tests/unit/test_search_store.py`` looks at keeping them.
    """
    folders = tmp_path_factory.mktemp("user")
    for name in ("XDG_STATE_HOME", "LOCALAPPDATA"):
        monkeypatch.setenv(name, str(folders / name.lower()))
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.getbasetemp() / "tables"))
    # a wide window, so that what a sentence says can be looked at; how it wraps: test_to_text.py and the transcripts
    monkeypatch.setenv("COLUMNS", "2000")
    monkeypatch.setenv("BOBPLAN_DEBUG", "1")  # a fault of the program must fail the test with its traceback


@pytest.fixture
def bobplan(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> Callable[..., Ran]:
    """Run the command line in this process, in a folder of its own unless one is given."""

    def ran(*arguments: str | Path, folder: Path | None = None) -> Ran:
        from planner.cli.main import run

        monkeypatch.chdir(folder or tmp_path)
        monkeypatch.setattr(sys, "argv", ["bobplan", *map(str, arguments)])
        capsys.readouterr()
        with pytest.raises(SystemExit) as end:
            run()
        shown = capsys.readouterr()
        code = end.value.code
        assert isinstance(code, int)
        if "--json" in arguments:
            json_schema.check(map(str, arguments), shown.out)
        return Ran(code=code, out=shown.out, err=shown.err)

    return ran


@pytest.fixture
def example(tmp_path: Path) -> Callable[[str], Path]:
    """Return a private copy of an example's folder, without a stored plan."""

    def copied(name: str) -> Path:
        target = tmp_path / name
        shutil.copytree(EXAMPLES / name, target)
        drop_plans(target)
        return target

    return copied


def prefer_least_metal(folder: Path) -> None:
    """Make the job's shop plan for the least metal inside the aim: a plan whose chances can be told apart."""
    path = folder / "job.toml"
    text = path.read_text(encoding="utf-8")
    wish = '[shop]\nprefer = "least metal"\nprefer_cuts = "fewest"\n'
    path.write_text(text.replace("[shop]\n", wish, 1), encoding="utf-8")
