"""The README keeps its word: its printed answer, its defaults, its calculators.

``BOBPLAN_REGENERATE=1`` rewrites the printed answer and the table (own output: a regression guard, not a validation).
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
    bobplan: Callable[..., Ran], example: Callable[[str], Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    out = bobplan("plan", example("cross_plane_v8")).out.rstrip()
    block = re.search(r"```text\n(.*?)\n```", TEXT, re.DOTALL)
    assert block is not None
    if os.environ.get("BOBPLAN_REGENERATE"):
        text = README.read_text(encoding="utf-8")
        README.write_text(text.replace(block.group(1), out), encoding="utf-8")
    else:
        assert block.group(1) == out


def test_every_default_is_in_the_table() -> None:
    from planner.jobfile.defaults import all_defaults

    rows = "\n".join(
        f"| {each.section} | {each.key} | {_text(each.metric)} | {_text(each.inch)} | {each.what} |"
        for each in all_defaults()
    )
    table = re.search(r"\| section \| key \| metric \| inch \| what \|\n\|[-|]+\|\n((?:\|.*\|\n?)+)", TEXT)
    assert table is not None
    if os.environ.get("BOBPLAN_REGENERATE"):
        text = README.read_text(encoding="utf-8")
        README.write_text(text.replace(table.group(1).rstrip("\n"), rows), encoding="utf-8")
    else:
        assert table.group(1).rstrip("\n") == rows


def test_every_command_is_in_the_readme(bobplan: Callable[..., Ran]) -> None:
    out = bobplan("--help").out
    commands = re.findall(r"^  ([a-z]+)  ", out.split("Commands")[1], re.MULTILINE)
    assert len(commands) > 10
    for command in commands:
        assert f"`bobplan {command}" in TEXT, f"the README does not speak of `bobplan {command}`"


def _text(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, tuple):
        return ", ".join(map(str, value))
    return f"{value:g}" if isinstance(value, float) else str(value)


@pytest.mark.parametrize(
    "command", list(re.findall(r"`(bobplan (?:cut|grade|profile) [^`]*)`", TEXT)), ids=lambda c: c[:24]
)
def test_the_calculators_of_the_table_run(command: str, bobplan: Callable[..., Ran]) -> None:
    ran = bobplan(*shlex.split(command)[1:], "--json")
    assert ran.code == 0, ran.err
    assert isinstance(ran.json, dict)


@pytest.mark.parametrize("link", re.findall(r"\]\(([^)#]+)\)", TEXT))
def test_links_lead_somewhere(link: str) -> None:
    assert (README.parent / link).exists()
