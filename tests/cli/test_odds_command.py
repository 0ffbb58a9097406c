"""`bobplan odds`: the chance that the next spin passes.  All data invented."""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.cli.conftest import Ran, prefer_least_metal

Bobplan = Callable[..., Ran]
Example = Callable[[str], Path]


def test_chance_shares_and_first_cut(bobplan: Bobplan, example: Example) -> None:
    folder = example("cross_plane_v8")
    prefer_least_metal(folder)
    before = (folder / "job.toml").read_bytes()
    ran = bobplan("odds", "--json", folder=folder)
    assert ran.code == 0
    answer = ran.json
    assert 0.9 < answer["chance"] <= min(row["chance"] for row in answer["judged"]) <= 1.0
    for row in answer["shares"]:
        assert sum(each["share"] for each in row["sources"]) == pytest.approx(1.0)
    assert answer["first_cut"]["table"][0]["passes"] == answer["chance"]
    # nothing is written
    assert (folder / "job.toml").read_bytes() == before
    text = bobplan("odds", folder=folder).out
    assert "CHANCES: 99.0 % inside the limit; 93 % that one spin proves it (98 % with two)" in text
    assert "Which error matters, at bearing" in text
    assert "Cut all of it at once" in text


def test_the_same_seed_gives_the_same_answer(bobplan: Bobplan, example: Example) -> None:
    folder = example("cross_plane_v8")
    prefer_least_metal(folder)
    one, same, other = (
        bobplan("odds", "--json", "--draws", "20000", "--seed", seed, folder=folder).json["chance"]
        for seed in ("1", "1", "2")
    )
    assert one == same
    assert one != other
    assert one == pytest.approx(other, abs=0.01)


def test_errors_of_the_file_count(bobplan: Bobplan, example: Example) -> None:
    folder = example("cross_plane_v8")
    prefer_least_metal(folder)
    path = folder / "job.toml"
    usual = bobplan("odds", "--json", folder=folder).json["chance"]
    text = path.read_text(encoding="utf-8")
    path.write_text(text + "\n[errors]\nangle = 4\ndepth_bias = 0.5\n", encoding="utf-8")
    worse = bobplan("odds", "--json", folder=folder).json
    assert worse["chance"] < usual - 0.2
    assert worse["shares"][0]["sources"][0]["source"] == "angle"
    assert worse["chance_without"]["angle"] > worse["chance"] + 0.1
    assert "known to be off on average: depths +0.5 mm" in bobplan("odds", folder=folder).out


def test_dear_over_drilling_cuts_less_first(bobplan: Bobplan, example: Example) -> None:
    folder = example("cross_plane_v8")
    path = folder / "job.toml"
    path.write_text(path.read_text(encoding="utf-8") + "\n[errors]\nreading_percent = 8\n", encoding="utf-8")
    free = bobplan("odds", "--json", "--over-cost", "0", folder=folder).json["first_cut"]["share"]
    dear = bobplan("odds", "--json", "--over-cost", "500", folder=folder).json["first_cut"]["share"]
    assert dear < free
    assert "of the unbalance first, then spin" in bobplan("odds", "--over-cost", "500", folder=folder).out


def test_after_cuts_only_the_rest_is_still_open(bobplan: Bobplan, example: Example) -> None:
    folder = example("cross_plane_v8")
    bobplan("plan", folder=folder)
    bobplan("done", "1", "2", folder=folder)
    ran = bobplan("odds", folder=folder)
    assert "as it stands, with nothing left to cut" in ran.out
    assert ran.code == 0


@pytest.mark.parametrize(
    ("option", "value", "words"),
    [("--draws", "5", "100 to 10000000"), ("--over-cost", "-1", "0 or more is allowed")],
)
def test_numbers_that_make_no_sense(
    option: str, value: str, words: str, bobplan: Bobplan, example: Example
) -> None:
    ran = bobplan("odds", option, value, folder=example("cross_plane_v8"))
    assert ran.code == 2
    assert words in ran.err


def test_the_working_of_the_odds_adds_up(bobplan: Bobplan, example: Example) -> None:
    """Squares and quotients as printed, summed again."""
    folder = example("cross_plane_v8")
    prefer_least_metal(folder)
    ran = bobplan("odds", "--show-work", "--json", "--draws", "20000", folder=folder).json
    work = "\n".join(ran["working"])
    assert work in bobplan("odds", "--show-work", "--draws", "20000", folder=folder).out
    rows = re.findall(r"bearing \d: ([^\n]*) = (\d+); standard uncertainty ([\d.]+)", work)
    assert len(rows) == 2
    for terms, variance, spread in rows:
        squares = sum(float(each) ** 2 for each in re.findall(r"([\d.]+)\^2", terms))
        assert squares == pytest.approx(float(variance), rel=0.01)
        assert float(spread) == pytest.approx(math.sqrt(squares), rel=0.01)
    counted = re.findall(r"(bearing \d|all limits): (\d+) of 20000 = ([\d.]+) \+- ([\d.]+)", work)
    assert len(counted) == 3
    for _, inside, chance, unsure in counted:
        p = int(inside) / 20000
        assert float(chance) == pytest.approx(p, abs=5e-5)
        assert float(unsure) == pytest.approx(2 * math.sqrt(p * (1 - p) / 20000), abs=6e-5) or p == 1.0
    assert int(counted[-1][1]) <= min(int(each[1]) for each in counted[:-1])
    for passed, over, over_again, cost in re.findall(
        r": 1 - ([\d.]+) - ([\d.]+) \+ 10 x ([\d.]+) = ([\d.]+)", work
    ):
        assert over == over_again
        assert float(cost) == pytest.approx(1 - float(passed) + 9 * float(over), abs=2e-3)
