"""`bobplan spin` asks for the bobs of a first spin, and refuses bobs that no throw carries.  The jobs are invented."""

from __future__ import annotations

import io
import sys
import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.cli.conftest import Ran

Bobplan = Callable[..., Ran]


@pytest.fixture
def folder(example: Callable[[str], Path]) -> Path:
    """The first example before its first spin; its parts want 1728.9 to 1729.0 g."""
    found = example("cross_plane_v8")
    job = found / "job.toml"
    job.write_text(job.read_text(encoding="utf-8").split("[[spins]]")[0], encoding="utf-8")
    return found


def spins(folder: Path) -> list[dict[str, Any]]:
    found = tomllib.loads((folder / "job.toml").read_text(encoding="utf-8")).get("spins", [])
    assert isinstance(found, list)
    return found


def answers(monkeypatch: pytest.MonkeyPatch, *lines: str) -> None:
    monkeypatch.setattr(sys, "stdin", io.StringIO("".join(f"{line}\n" for line in lines)))


def test_a_fifth_prompt_asks_for_them(
    bobplan: Bobplan, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    answers(monkeypatch, "3480", "214", "2910", "33", "1724")
    ran = bobplan("spin", "--seconds", "1", folder=folder)
    assert "bobs clamped on each throw, 0 = bare" in ran.err
    assert spins(folder)[0]["bobs"] == 1724


def test_enter_means_what_is_wanted(bobplan: Bobplan, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from planner.jobfile.read import load_job

    wanted = load_job(folder / "job.toml").bobs_wanted_g
    answers(monkeypatch, "3480", "214", "2910", "33", "")
    bobplan("spin", "--seconds", "1", folder=folder)
    assert load_job(folder / "job.toml").spins[0].bobs_g == pytest.approx(wanted)


def test_without_an_answer_nothing_is_written(
    bobplan: Bobplan, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    answers(monkeypatch, "3480", "214", "2910", "33")
    ran = bobplan("spin", folder=folder)
    assert ran.code == 2
    assert "the first spin must say what was clamped on" in ran.err
    assert spins(folder) == []


def test_later_spins_take_them_over_and_are_not_asked(
    bobplan: Bobplan, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    answers(monkeypatch, "3480", "214", "2910", "33", "1724")
    bobplan("spin", "--seconds", "1", folder=folder)
    answers(monkeypatch, "3400", "214", "2910", "33")
    ran = bobplan("spin", "--seconds", "1", folder=folder)
    assert "bobs clamped" not in ran.err
    assert spins(folder)[1]["bobs"] == 1724


@pytest.mark.parametrize("bobs", ["1.7", "1e9", "1e21", "1=1700,2=1700,3=1700,4=1.7"])
def test_bobs_beyond_reason_are_refused(bobplan: Bobplan, folder: Path, bobs: str) -> None:
    ran = bobplan("spin", "3480", "214", "2910", "33", "--bobs", bobs, folder=folder)
    assert ran.code == 2
    assert "is beyond reason for the bob mass of one throw: 20 g to 150 kg is allowed" in ran.err
    assert spins(folder) == []


@pytest.mark.parametrize("option", ["--bob", "--built-for"])
def test_so_are_those_of_a_quote(bobplan: Bobplan, folder: Path, option: str) -> None:
    ran = bobplan("quote", option, "1e21", folder=folder)
    assert ran.code == 2
    assert f"{option}: " in ran.err
    assert "beyond reason" in ran.err


@pytest.mark.parametrize(
    "arguments",
    [
        ("spin", "1e300", "1", "2910", "2", "--bobs", "1724"),
        ("spin", "3480", "1", "1e10", "2", "--bobs", "1724"),
        ("plan", "--greatest-depth", "1e9", "--no-store"),
        ("plan", "--greatest-depth", "301 mm", "--no-store"),
        ("plan", "--drill", "1e21", "--no-store"),
        ("chart", "--radius", "3.25 in", "--drills", "1/2 in", "--greatest-depth", "1e9", "-o", "c.pdf"),
        ("chart", "--radius", "88 m", "--drills", "1/2 in", "-o", "c.pdf"),
        ("chart", "--radius", "3.25 in", "--drills", "#7, 5 in", "-o", "c.pdf"),
    ],
)
def test_what_no_crankshaft_has_is_refused_before_any_work(
    bobplan: Bobplan, folder: Path, arguments: tuple[str, ...]
) -> None:
    job = folder / "job.toml"
    if arguments[0] == "plan":
        job.write_text(
            job.read_text(encoding="utf-8")
            + "\n[[spins]]\nbobs = 1724\nleft = { amount = 3480, angle = 214 }\nright = { amount = 2910, angle = 33 }\n"
        )
    before = job.read_bytes()
    ran = bobplan(*arguments, folder=folder)
    assert ran.code == 2, ran.out
    assert "beyond reason" in ran.err
    assert job.read_bytes() == before
    assert not (folder / "c.pdf").exists()
