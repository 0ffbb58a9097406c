"""``--help``: in the order of the job, whole sentences, plain words."""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from typing import Any

import pytest

from planner.cli.main import COMMANDS, _command, command_line
from planner.cli.plain_help import in_plain_words, word_for
from tests.cli.conftest import Ran

ORDER = (
    *("start", "match", "bobs", "quote", "prove", "spin", "plan", "done"),
    *("check", "odds", "history", "undo", "sheet", "cut"),
)


def commands() -> Iterator[tuple[str, Any]]:
    def below(name: str, command: Any) -> Iterator[tuple[str, Any]]:
        yield name, command
        for each, sub in getattr(command, "commands", {}).items():
            yield from below(f"{name} {each}".strip(), sub)

    yield "", command_line()
    for each in COMMANDS:
        yield from below(each, _command(each))


def test_commands_stand_in_the_order_of_the_job(bobplan: Callable[..., Ran]) -> None:
    out = bobplan("--help").out
    places = [out.index(f"\n  {name} ") for name in ORDER]
    assert places == sorted(places)


def test_every_command_is_explained_in_whole_sentences(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    for name, command in commands():
        says = (command.help or "").strip()
        assert re.match(r"[A-Z].*[.]$", says, re.DOTALL), name
        if name in COMMANDS:
            assert re.fullmatch(r"[A-Z][^.]*[.]", COMMANDS[name][2]), name
        for each in command.params:
            if each.param_type_name == "option" and "--help" not in each.opts:
                assert re.match(r"[A-Zz`\"].*[.]$", each.help or "", re.DOTALL), (
                    f"{name} {each.opts}: {each.help}"
                )


def test_no_option_is_said_to_take_a_type_of_the_language(bobplan: Callable[..., Ran]) -> None:
    for name, command in commands():
        out = bobplan(*name.split(), "--help").out
        assert not re.search(
            r"<[a-z]+|\b(?:FLOAT|INTEGER|INT|STR|PATH|BOOLEAN|FILENAME)\b|x>=|\.\.\.$", out, re.M
        ), name
        for each in command.params:
            if each.param_type_name == "option" and not each.is_flag:
                assert each.metavar or word_for(each) != "value", f"{name} {each.opts}"


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("plan", "--aim", "x"), "a number is needed"),
        (("undo", "--spin", "x"), "a whole number is needed"),
        (("odds", "--seconds", "0"), "at least 0.1 is allowed"),
    ],
)
def test_what_is_wrong_is_said_plainly(
    bobplan: Callable[..., Ran], arguments: tuple[str, ...], says: str
) -> None:
    ran = bobplan(*arguments)
    assert ran.code == 2
    assert says in ran.err
    assert not re.search(r"valid (?:float|integer|number)|Input should|parse", ran.err)


def test_other_errors_stay_as_they_are() -> None:
    error = ValueError("nothing to change")
    in_plain_words(error)
    assert str(error) == "nothing to change"


def test_the_list_of_commands_reads_none_of_them() -> None:
    code = (
        "import sys; sys.argv = ['bobplan', '--help']\n"
        "from planner.cli.main import run\n"
        "try:\n    run()\nexcept SystemExit:\n    pass\n"
        "print([name for name in sys.modules if name in "
        "('numpy', 'pydantic', 'planner.cli.plan', 'planner.cli.spin', 'planner.jobfile.job')])"
    )
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert out.rstrip().endswith("[]")
