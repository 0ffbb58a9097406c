"""Two thousand random jobs and command lines, and everything that longer runs have found."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.fuzz.harness import run_case, run_given

CORPUS = Path(__file__).parents[1] / "fuzz" / "corpus"
CASES, PARTS = 2000, 40


@pytest.mark.parametrize("part", range(PARTS))
def test_random_jobs_and_command_lines(part: int, tmp_path: Path) -> None:
    size = CASES // PARTS
    for number in range(part * size, (part + 1) * size):
        outcome = run_case(number, folder=tmp_path)
        assert not outcome.broken, (number, outcome.arguments, outcome.shown)


@pytest.mark.parametrize("name", sorted(path.stem for path in CORPUS.glob("*.toml")))
def test_what_was_found(name: str, tmp_path: Path) -> None:
    # the command lines stand in the first line, as a comment
    job = (CORPUS / f"{name}.toml").read_bytes()
    commands = json.loads(job.split(b"\n", 1)[0].removeprefix(b"# commands: "))
    outcome = run_given(job, commands, folder=tmp_path)
    assert not outcome.broken, (outcome.arguments, outcome.shown)


def test_the_harness_sees_what_must_not_be(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import planner.cli.check as check_command
    from tests.fuzz.harness import SMALL

    def fails(*_: object, **__: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr(check_command, "open_job", fails)
    assert run_given(SMALL.encode(), [["check"]], folder=tmp_path).broken == ["internal error"]

    def spoils(*_: object, **__: object) -> None:
        from planner.errors import InputError

        Path("job.toml").write_text("x", encoding="utf-8")
        raise InputError("no")

    monkeypatch.setattr(check_command, "open_job", spoils)
    assert run_given(SMALL.encode(), [["check"]], folder=tmp_path).broken == [
        "bad input, but the file is changed"
    ]

    def hangs(*_: object, **__: object) -> None:
        while True:
            pass

    monkeypatch.setattr("tests.fuzz.harness.MOST_SECONDS", 0.2)
    monkeypatch.setattr(check_command, "open_job", hangs)
    assert run_given(SMALL.encode(), [["check"]], folder=tmp_path).broken == ["more than its processor time"]
