"""The README keeps its word: its printed answer, its defaults, its calculators.

``BOBPLAN_REGENERATE=1`` rewrites the printed answer (own output: a regression guard, not a validation).
"""

from __future__ import annotations

import os
import re
import shlex
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.cli.conftest import Ran

README = Path(__file__).parents[2] / "README.md"
TEXT = README.read_text(encoding="utf-8")


def test_the_first_paragraph_states_the_job() -> None:
    first = TEXT.split("\n\n")[1]
    for word in ("crankshaft", "balancing machine", "unbalance", "drill", "heavy-metal", "tolerance"):
        assert word in first


def test_the_printed_answer_is_what_the_command_prints(
    bobplan: Callable[..., Ran], example: Callable[[str], Path]
) -> None:
    out = bobplan("plan", example("cross_plane_v8")).out.rstrip()
    block = re.search(r"```text\n(.*?)\n```", TEXT, re.DOTALL)
    assert block is not None
    if os.environ.get("BOBPLAN_REGENERATE"):
        README.write_text(TEXT.replace(block.group(1), out), encoding="utf-8")
    else:
        assert block.group(1) == out


def test_every_default_is_in_the_table() -> None:
    from planner.job.defaults import all_defaults

    rows = {
        tuple(cell.strip() for cell in line.split("|")[1:5])
        for line in TEXT.splitlines()
        if line.count("|") == 6
    }
    for default in all_defaults():
        row = (default.section, default.key, _text(default.metric), _text(default.inch))
        assert row in rows, f"the README's table of defaults lacks {row}"


def _text(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, tuple):
        return ", ".join(map(str, value))
    return f"{value:g}" if isinstance(value, float) else str(value)


@pytest.mark.parametrize(
    "command", [c for c in re.findall(r"`(bobplan (?:cut|grade|profile) [^`]*)`", TEXT)], ids=lambda c: c[:24]
)
def test_the_calculators_of_the_table_run(command: str, bobplan: Callable[..., Ran]) -> None:
    ran = bobplan(*shlex.split(command)[1:], "--json")
    assert ran.code == 0, ran.err
    assert isinstance(ran.json, dict)


@pytest.mark.parametrize("link", re.findall(r"\]\(([^)#]+)\)", TEXT))
def test_links_lead_somewhere(link: str) -> None:
    assert (README.parent / link).exists()
