"""``bobplan quote``: before any spin, is heavy metal likely, how much, at what price.  All data are invented."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from planner.frames import TwoPlanes
from tests.cli.conftest import Ran

Run = Callable[..., Ran]
Copied = Callable[[str], Path]
GMM_PER_OZ_IN = 720.078
QUICK = ("--seconds", "120")


def without_spins(folder: Path, *, crankshaft: str = "") -> None:
    path = folder / "job.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text[: text.index("[[spins]]")], encoding="utf-8")
    if crankshaft:
        file = folder / "crankshaft.toml"
        text = file.read_text(encoding="utf-8")
        file.write_text(text.replace("[crankshaft]\n", f"[crankshaft]\n{crankshaft}\n"), encoding="utf-8")


@pytest.fixture
def light(bobplan: Run, example: Copied) -> Any:
    """The crankshaft was built for 2000 g and gets 2218 g."""
    folder = example("external_balance_v8")
    without_spins(folder, crankshaft='built_for_bob = "2000 g"\nbuilt_for_percent = 50')
    ran = bobplan(
        "quote",
        folder,
        "--json",
        *QUICK,
        "--labour-per-hour",
        "60",
        "--minutes-per-cut",
        "10",
        *(part for size in ("5/8", "3/4", "7/8", "1") for part in ("--slug-price", f"{size} in=50")),
    )
    assert ran.code == 0, ran.err
    return ran.json


def test_the_unbalance_is_the_change_of_the_bobs(light: Any) -> None:
    """By hand: throws 0, 90, 270, 180 at 3.74, 8.08, 12.42, 16.76 in, radius 2 in, planes 16.4 in apart: a couple."""
    along, across = (16.76 - 3.74) / 16.4, (12.42 - 8.08) / 16.4
    couple = 218.0 * 2.0 * 25.4 * math.hypot(along, across)
    for side in light["unbalance"]:
        assert side["amount_gmm"] == pytest.approx(couple, rel=1e-4)
    angles = [side["angle_deg"] for side in light["unbalance"]]
    assert (angles[0] - angles[1]) % 360.0 == pytest.approx(180.0)
    assert light["built_for_bob_g"] == 2000.0
    # two percent of what it was built for
    assert light["within_g"] == pytest.approx(40.0)
    assert "50 percent" in light["basis"]


def test_heavy_metal_yes_and_what_it_costs(light: Any) -> None:
    assert light["heavy_metal"] == "yes"
    low, high = light["bob_window_g"]
    assert low < high < 2218.0 - 40.0
    buy, *_, drill_only = light["options"]
    assert buy["lighter_bob_g"] == 0.0
    assert buy["slugs"]
    assert drill_only["slugs"] == []
    for row in light["options"]:
        assert row["feasible"]
        pieces = sum(slug["pieces"] for slug in row["slugs"])
        # 50 for every slug; 10 minutes a cut and 2 for a change of size, at 60 an hour
        assert row["labour_money"] == pytest.approx(row["minutes"])
        assert row["minutes"] >= 10.0 * row["cuts"]
        assert (row["slug_money"] or 0.0) == pytest.approx(50.0 * pieces)
        assert row["money"] == pytest.approx((row["slug_money"] or 0.0) + row["labour_money"])
        # half an ounce-inch a side is the limit
        for side in row["residual"]:
            assert side["amount_gmm"] <= 0.5 * GMM_PER_OZ_IN + 1e-6


def test_lighter_parts_need_less_metal(light: Any) -> None:
    rows = light["options"]
    grams = [row["heavy_metal_g"] for row in rows]
    assert grams == sorted(grams, reverse=True)
    for row in rows:
        # two rods on a throw, half of the reciprocating mass
        assert row["off_piston_or_pin_g"] == pytest.approx(row["lighter_bob_g"])
        assert row["off_rod_big_end_g"] == pytest.approx(row["lighter_bob_g"] / 2.0)
    assert light["bob_g"] - rows[-1]["lighter_bob_g"] <= light["bob_window_g"][1]


def test_one_screen(bobplan: Run, example: Copied) -> None:
    folder = example("external_balance_v8")
    ran = bobplan("quote", folder, *QUICK)
    assert ran.code == 0
    assert "HEAVY METAL: YES" in ran.out
    assert "BUY OR LIGHTEN" in ran.out
    assert "from the last spin" in ran.out
    assert "Prices are missing" in ran.out
    assert len(ran.out.splitlines()) <= 24


def test_no_heavy_metal_when_the_bobs_become_lighter(bobplan: Run, example: Copied) -> None:
    folder = example("external_balance_v8")
    without_spins(folder)
    ran = bobplan("quote", folder, "--built-for", "2000", "--bob", "1940", "--within", "0", "--json", *QUICK)
    assert ran.code == 0
    assert ran.json["heavy_metal"] == "no"
    (row,) = ran.json["options"]
    assert row["slugs"] == []
    assert row["drilled_g"] > 0.0


def external_made_internal(folder: Path, *, built_with: bool = True) -> None:
    without_spins(folder)
    path = folder / "crankshaft.toml"
    text = path.read_text(encoding="utf-8")
    said = "in_engine = false" + ("" if built_with else "\nbuilt_with = false")
    path.write_text(text.replace("in_engine = true", said), encoding="utf-8")


def test_an_external_balance_made_internal_carries_its_parts(bobplan: Run, example: Copied) -> None:
    """By hand, levers over planes at 2.05 and 18.45 in: damper 16.5 at z -2.6, flywheel 22 opposite at z 22.1.

    Left (18.45 + 2.6)/16.4 x 16.5 + (22.1 - 18.45)/16.4 x 22 = 26.07 oz-in, right 31.57 oz-in: what they carried is
    missing, so it is heavy opposite to them.  Same bobs as before.
    """
    folder = example("external_balance_v8")
    external_made_internal(folder)
    data = bobplan("quote", folder, "--built-for", "2218", "--json", *QUICK).json
    left = ((18.45 + 2.6) * 16.5 + (22.1 - 18.45) * 22.0) / 16.4
    right = ((22.1 - 2.05) * 22.0 + (2.05 + 2.6) * 16.5) / 16.4
    amounts = [side["amount_gmm"] / GMM_PER_OZ_IN for side in data["unbalance"]]
    assert amounts == pytest.approx([left, right], rel=1e-4)
    assert amounts == pytest.approx([26.1, 31.6], abs=0.05)
    assert [side["angle_deg"] for side in data["unbalance"]] == pytest.approx([18.0, 198.0])
    assert data["heavy_metal"] == "yes"
    assert any("balanced with damper, flywheel and will run without" in note for note in data["notes"])


def test_parts_it_was_not_built_with_change_nothing(bobplan: Run, example: Copied) -> None:
    folder = example("external_balance_v8")
    external_made_internal(folder, built_with=False)
    data = bobplan("quote", folder, "--built-for", "2218", "--json", *QUICK).json
    assert [side["amount_gmm"] for side in data["unbalance"]] == pytest.approx([0.0, 0.0], abs=1e-6)
    assert not any("balanced with" in note for note in data["notes"])


def test_lighter_bobs_never_make_heavy_metal_likely(bobplan: Run, example: Copied) -> None:
    """Metal has to come off where this shop may not drill: that is no reason to put heavy metal in."""
    folder = example("external_balance_v8")
    without_spins(folder)
    shop = folder / "shop.toml"
    text = shop.read_text(encoding="utf-8")
    shop.write_text(text.replace("[shop]\n", '[shop]\nforbid = ["front", "second"]\n'), encoding="utf-8")
    data = bobplan("quote", folder, "--built-for", "2218", "--bob", "1900", "--json", *QUICK).json
    assert data["heavy_metal"] == "no"
    assert "metal has to come off" in data["reason"]


def test_near_the_edge_it_is_likely(bobplan: Run, example: Copied) -> None:
    """Drilling just does it for 2000 g, but a crankshaft that is off by 2 percent would not be drilled into balance."""
    folder = example("external_balance_v8")
    without_spins(folder)
    ran = bobplan("quote", folder, "--built-for", "2000", "--bob", "2000", "--json", *QUICK)
    assert ran.json["heavy_metal"] == "likely"


def test_built_for_these_parts_at_another_percentage(bobplan: Run, example: Copied) -> None:
    """By hand: with 52 percent the same parts make 0.02 x 2 x (piston + pin + rings + clips + small end) more bob."""
    folder = example("cross_plane_v8")
    path = folder / "job.toml"
    text = path.read_text(encoding="utf-8")
    text = text[: text.index("[[spins]]")].replace("[crankshaft]\n", "[crankshaft]\nbuilt_for_percent = 52\n")
    path.write_text(text, encoding="utf-8")
    data = bobplan("quote", folder, "--json", *QUICK).json
    reciprocating = 412.05 + 118.0 + 38.5 + 2.2 + 182.0
    assert data["built_for_bob_g"] - data["bob_g"] == pytest.approx(0.02 * 2 * reciprocating, rel=1e-3)
    assert data["bob_g"] == pytest.approx(1724.5625)
    assert data["heavy_metal"] == "no"


def test_a_quote_that_finds_nothing_ends_with_one(bobplan: Run, example: Copied) -> None:
    """Nothing may be cut, and the last reading lies so that no bob mass cancels it."""
    folder = example("external_balance_v8")
    shop = folder / "shop.toml"
    text = shop.read_text(encoding="utf-8")
    shop.write_text(
        text.replace("[shop]\n", '[shop]\nforbid = ["front", "second", "third", "rear"]\n'), encoding="utf-8"
    )
    ran = bobplan("quote", folder, "--json", *QUICK)
    assert ran.code == 1
    assert ran.json["bob_window_g"] is None
    assert [row["feasible"] for row in ran.json["options"]] == [False]
    shown = bobplan("quote", folder, *QUICK)
    assert shown.code == 1
    assert "not possible, proven" in shown.out


@pytest.mark.parametrize(
    ("arguments", "match"),
    [
        ((), "neither what the crankshaft was built for nor a spin is known"),
        (("--built-for", "heavy"), "--built-for"),
        (("--built-for", "2000", "--slug-price", "40"), "can't be read"),
        (("--built-for", "2000", "--slug-price", "3/4 in=-1"), "a price is 0 or more"),
        (("--built-for", "2000", "--slug-price", "3/4 in=much"), "a number is needed"),
        (("--built-for", "2000", "--within", "-3"), "--within"),
    ],
)
def test_what_cannot_be(bobplan: Run, example: Copied, arguments: tuple[str, ...], match: str) -> None:
    folder = example("external_balance_v8")
    without_spins(folder)
    ran = bobplan("quote", folder, *arguments)
    assert ran.code == 2
    assert match in ran.err


def test_a_new_bob_is_needed(bobplan: Run, example: Copied) -> None:
    folder = example("external_balance_v8")
    without_spins(folder)
    path = folder / "job.toml"
    path.write_text(
        path.read_text(encoding="utf-8").replace("[bobs]\nwanted = 2218.0\n", ""), encoding="utf-8"
    )
    ran = bobplan("quote", folder, "--built-for", "2000")
    assert ran.code == 2
    assert "no wanted bob mass" in ran.err


@pytest.mark.parametrize("matters", [True, False])
def test_time_running_out_is_never_likely(matters: bool) -> None:
    from planner.correction.problem import Certificate, PlanOutcome, Proof
    from planner.steps.bob_window import BobWindow
    from planner.steps.quote import _likely

    window = BobWindow(bob_g=1700.0, matters=matters, proven_g=(1500.0, 2300.0))

    def outcome(late: bool, certificate: Certificate | None = None) -> PlanOutcome:
        return PlanOutcome(
            feasible=False, cuts=(), residual_gmm=TwoPlanes(0j, 0j), cost=0.0, certificate=certificate,
            proof=Proof(fewest_cuts=False, bound_cuts=0, stopped_by_time=late),
        )  # fmt: skip

    said, why = _likely(outcome(True), window, 20.0, None)
    assert said == "not known"
    assert "the time was up" in why
    # what was looked at to its end, or is proven, is another thing
    assert _likely(outcome(False), window, 20.0, None)[0] == "likely"
    proven = Certificate(excess_sum_gmm=1.0, excess_gmm=(1.0, 0.0), text="")
    assert _likely(outcome(True, proven), window, 20.0, None)[0] == "likely"
