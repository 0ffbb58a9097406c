"""The documentation keeps its word: screens that exist, all sections of the job file, blocks that run, a page by tests."""

from __future__ import annotations

import importlib.util
import os
import re
import subprocess
import sys
from pathlib import Path
from types import ModuleType

import pytest

from planner.jobfile.defaults import all_defaults
from planner.jobfile.schema.sections import ARRAYS, TABLES
from tests import validation_page

ROOT = Path(__file__).parents[2]
DOCS = ROOT / "docs"
PAGES = sorted(DOCS.rglob("*.md"))


def _hooks() -> ModuleType:
    spec = importlib.util.spec_from_file_location("docs_hooks", DOCS / "hooks.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["docs_hooks"] = module
    spec.loader.exec_module(module)
    return module


HOOKS = _hooks()


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.stem)
def test_every_screen_of_a_page_is_in_a_transcript(page: Path) -> None:
    """The transcripts themselves are typed again by tests/cli/test_transcripts.py."""
    text = page.read_text(encoding="utf-8")
    shown = HOOKS.with_screens(text)
    assert "<!-- screen" not in shown  # none is misspelt
    assert shown.count("```") % 2 == 0


def test_the_tutorial_tells_every_screen_of_its_story() -> None:
    text = (DOCS / "tutorial.md").read_text(encoding="utf-8")
    story = (HOOKS.TRANSCRIPTS / "metric.txt").read_text(encoding="utf-8")
    typed = re.findall(r"(?m)^\$ (.*)$", story)
    told = [found["command"] for found in HOOKS.SCREEN.finditer(text)]
    # a bare `bobplan` only says what comes next
    assert told == [each for each in typed if each != "bobplan"]


def test_a_screen_that_is_not_there_is_said() -> None:
    with pytest.raises(HOOKS.MissingError, match=r"no screen 9 of `bobplan plan`"):
        HOOKS.screen("metric", "bobplan plan", 9)


def test_the_job_file_page_has_every_section_and_every_default() -> None:
    keys = HOOKS.job_file_keys()
    # parts and plausible take names of one's own: told in words
    for name in {*TABLES, *ARRAYS} - {"parts", "plausible"}:
        heading = f"## `[[{name}]]`" if name in ARRAYS else f"## `[{name}]`"
        assert heading in keys, name
    for default in all_defaults():
        if default.section == "parts":
            continue
        part = keys.split(f"[{default.section}]", 1)[1].split("\n## ", 1)[0]
        row = next(line for line in part.splitlines() if line.startswith(f"| `{default.key}` "))
        assert default.what.replace("`", "") in row
    assert "_mm`" not in keys  # keys as in the file, not as in the code


def test_python_blocks_run(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """In a process of their own, because jobs in parallel start processes."""
    text = (DOCS / "how_to" / "many_jobs.md").read_text(encoding="utf-8")
    blocks = "\n".join(re.findall(r"```python\n(.*?)```", text, re.DOTALL))
    script = tmp_path / "blocks.py"
    body = "\n".join(f"    {line}" for line in blocks.splitlines())
    script.write_text(f"if __name__ == '__main__':\n{body}\n", encoding="utf-8")
    environment = os.environ | {"PYTHONPATH": str(ROOT), "BOBPLAN_CACHE": str(tmp_path / "cache")}
    ran = subprocess.run(
        [sys.executable, str(script)], cwd=ROOT, env=environment, capture_output=True, text=True, check=False
    )
    assert ran.returncode == 0, ran.stderr
    lines = ran.stdout.splitlines()
    assert lines[0].startswith("in tolerance ")
    assert lines[-1] == "[True, True, True]"


def _rows(page: str) -> list[list[str]]:
    return [[cell.strip() for cell in line.strip("|").split(" | ")] for line in page.splitlines()]


def test_the_validation_page_is_what_the_published_tests_compare() -> None:
    made = validation_page.page_of(validation_page.run_published())
    if os.environ.get("BOBPLAN_REGENERATE"):
        validation_page.PAGE.write_text(made, encoding="utf-8")
    kept = validation_page.PAGE.read_text(encoding="utf-8")
    now, before = _rows(made), _rows(kept)
    assert len(now) == len(before)
    for new, old in zip(now, before, strict=True):
        if len(new) == 7 and re.match(r"[-\d]", new[5]):
            # the last digits may differ from one processor to another
            assert new[:5] == old[:5]
            assert float(new[5]) == pytest.approx(float(old[5]), rel=1e-4, abs=1e-6)
        else:
            assert new == old


def test_a_comparison_becomes_a_row_with_both_sides() -> None:
    noted = [
        {
            "file": "test_x.py",
            "test": "test_y",
            "orig": "balance.amount / 200.0 == pytest.approx(116.0, rel=0.002)",
            "expl": "(23219.789 / 200.0) == 116.0 ± 0.232\n  +  where 23219.789 = ToAdd(...).amount",
        },
        {"file": "test_x.py", "test": "test_z", "orig": "x.angle_deg == D", "expl": "359.5 == -1 ± 2 deg"},
        {
            "file": "test_x.py",
            "test": "test_w",
            "orig": "a == b",
            "expl": "[1.0, 2.0] == approx([1.1 ± 0.2, 2.0 ± 0.1])",
        },
        {"file": "test_x.py", "test": "test_v", "orig": "a in b", "expl": "'a' in 'abc'"},
    ]
    first, second, third, fourth = validation_page.checks_of(noted)  # type: ignore[arg-type]
    assert (first.expected, first.got, first.within) == (116.0, pytest.approx(116.098945), "0.23")
    assert first.relative == pytest.approx(8.5e-4, rel=0.01)
    assert (second.got, second.within, second.relative) == (-0.5, "2 deg", None)
    assert [(each.expected, each.got) for each in (third, fourth)] == [(1.1, 1.0), (2.0, 2.0)]
