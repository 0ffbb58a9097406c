"""Options of ``bobplan plan`` that pin or limit something: a what-if that leaves the job's file alone."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import pytest

from planner.errors import InputError
from planner.jobfile.job import Job
from planner.jobfile.read import load_job
from planner.steps.requested_cut import read_wish
from planner.steps.what_if import read_what_if
from tests.cli.conftest import EXAMPLES, Ran

Run = Callable[..., Ran]
Copied = Callable[[str], Path]


@pytest.fixture(scope="module")
def v8() -> Job:
    return load_job(EXAMPLES / "cross_plane_v8" / "job.toml")


@pytest.fixture(scope="module")
def inches() -> Job:
    return load_job(EXAMPLES / "external_balance_v8" / "job.toml")


def test_a_wish_is_read_in_the_jobs_units_and_the_dials_counting(inches: Job) -> None:
    wish = read_wish("5/8 in at 281 on front, depth 1.25", inches)
    assert wish.cut.kind == "rim hole"
    assert wish.cut.diameter_mm == pytest.approx(5 / 8 * 25.4)
    # the drill stands a quarter turn away from the pointer: 281 on the dial is 191 on the crankshaft
    assert wish.cut.angle_deg == pytest.approx(191.0)
    # the stop counts to the tip here: the cone of a 118 degree point is d / (2 tan 59)
    cone = 5 / 8 * 25.4 / (2 * math.tan(math.radians(59)))
    assert wish.cut.depth_shoulder_mm == pytest.approx(1.25 * 25.4 - cone)
    assert not wish.depth_open


@pytest.mark.parametrize(
    ("text", "kind", "extra"),
    [
        ("16 at 180 on A", "rim hole", {}),
        ("rim 16 mm at 180 on A", "rim hole", {}),
        ("FACE HOLE 14 mm at 180 deg on A, radius 70, through", "face hole", {"radius_mm": 70.0}),
        ("face 14 at 180° on A, radius 70, depth 12, from rear", "face hole", {"depth_shoulder_mm": 12.0}),
        ("slug 3/4 in at 200 on A, radius 72", "slug", {"through": True, "length_mm": None}),
        ("slug 19 at 200 on A, radius 72, length 12", "slug", {"through": False, "length_mm": 12.0}),
    ],
)
def test_wishes(v8: Job, text: str, kind: str, extra: dict[str, object]) -> None:
    wish = read_wish(text, v8)
    assert wish.cut.kind == kind
    for name, value in extra.items():
        assert getattr(wish.cut, name) == value
    assert wish.depth_open == (kind != "slug" and wish.cut.depth_shoulder_mm is None and not wish.cut.through)


@pytest.mark.parametrize(
    ("text", "match"),
    [
        ("16 mm on A", "can't be read as a cut"),
        ("16 mm at 180 on A, deep 22", "`deep 22` in .* can't be read"),
        ("16 mm at 1.2.3 on A", "is not an angle"),
        ("16 mm at 131 on Q", "there is no counterweight `Q`"),
        ("16 kg at 180 on A", "kg"),
        ("30 mm at 180 on A", "wider than counterweight A is thick"),
        ("16 mm at 180 on A, radius 70", "a rim hole has no radius"),
        ("slug 19 mm at 180 on A", "needs the radius"),
        ("face 19 mm at 180 on A, radius 60, depth 3, through", "`through` does not go with"),
        ("16 mm at 180 on A, depth -2", "depth"),
        ("16 mm at 20 on A", "has no metal there, 178 degrees"),
        ("slug 19 mm at 200 on A, radius 20", "has no metal there"),
    ],
)
def test_wishes_that_cannot_be(v8: Job, text: str, match: str) -> None:
    with pytest.raises(InputError, match=match):
        read_wish(text, v8)


def test_a_tip_depth_that_is_all_point(inches: Job) -> None:
    with pytest.raises(InputError, match="leaves no full-diameter hole"):
        read_wish("3/4 in at 281 on front, depth 1/8", inches)


@pytest.mark.parametrize(
    ("options", "match"),
    [
        ({"forbid": ["A,Q"]}, "there is no counterweight `Q`"),
        ({"only": ["lathe"]}, "there is no such cut"),
        ({"only": ["slug"]}, "no counterweight may have a slug"),
        ({"aim": 1.5}, "not a share of the tolerance"),
        ({"drill": ["big"]}, "--drill"),
        ({"greatest_depth": "-3"}, "--greatest-depth"),
    ],
)
def test_options_that_cannot_be(v8: Job, options: dict[str, object], match: str) -> None:
    with pytest.raises(InputError, match=match):
        read_what_if(v8, **options)  # type: ignore[arg-type]


def test_the_greatest_depth_below_the_least(bobplan: Run, example: Copied) -> None:
    ran = bobplan("plan", example("cross_plane_v8"), "--greatest-depth", "3 mm")
    assert ran.code == 2
    assert "below the shop's least depth" in ran.err


def test_a_pinned_cut_is_in_the_plan_and_the_file_stays(bobplan: Run, example: Copied) -> None:
    folder = example("cross_plane_v8")
    before = (folder / "job.toml").read_bytes()
    ran = bobplan("plan", folder, "--json", "--fix", "16 mm at 200 on A, depth 22")
    assert ran.code == 0
    pinned = [step for step in ran.json["steps"] if step["pinned"]]
    assert [(s["counterweight"], s["dial_deg"], s["depth_shoulder_mm"]) for s in pinned] == [
        ("A", 200.0, 22.0)
    ]
    assert any("not stored" in line for line in ran.json["what_if"])
    assert (folder / "job.toml").read_bytes() == before


def test_a_pinned_cut_that_runs_into_an_old_hole_is_warned_of(bobplan: Run, example: Copied) -> None:
    ran = bobplan("plan", example("cross_plane_v8"), "--fix", "16 mm at 175 on A, depth 30")
    assert "a pinned cut breaks a rule" in ran.out
    assert "old rim hole" in ran.out
    assert "counted again" in ran.out


def test_two_pinned_cuts_that_run_into_each_other_are_refused(bobplan: Run, example: Copied) -> None:
    pins = ("--fix", "5/8 in at 288 on front, depth 1", "--fix", "5/8 in at 292 on front, depth 1")
    ran = bobplan("plan", example("external_balance_v8"), *pins)
    assert ran.code == 2
    assert "pinned cuts run into each other: on front the" in ran.err
    assert "at 288 on the dial" in ran.err
    assert "at 292 on the dial" in ran.err


def test_two_pinned_cuts_with_a_thin_wall_are_warned_of_in_the_jobs_units(
    bobplan: Run, example: Copied
) -> None:
    pins = ("--fix", "5/8 in at 288 on front, depth 1", "--fix", "5/8 in at 303 on front, depth 1")
    pins += ("--prefer", "least metal", "--aim", "1", "--prefer-cuts", "fewest")
    ran = bobplan("plan", example("external_balance_v8"), *pins)
    warned = next(line for line in ran.out.splitlines() if "a pinned cut breaks a rule" in line)
    assert " mm" not in warned
    assert "needed 0.125 in" in warned


def test_a_pinned_cut_where_no_plan_is_possible(bobplan: Run, example: Copied) -> None:
    """The answer is no, with its proof; the pinned cut is not taken for made."""
    folder = example("cross_plane_v8")
    path = folder / "job.toml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("angle = 214", "angle = 34").replace("angle = 33 ", "angle = 213 "))
    ran = bobplan("plan", folder, "--fix", "16 mm at 31 on F, depth 20")
    assert ran.code == 1
    assert "NO PLAN IS POSSIBLE" in ran.out
    assert "its own check" not in ran.err
    without = bobplan("plan", folder)
    verdict = without.out[without.out.index("VERDICT") :].splitlines()[:3]
    assert ran.out[ran.out.index("VERDICT") :].splitlines()[:3] == verdict


def test_two_pinned_places_get_the_depths_that_do_alone(bobplan: Run, example: Copied) -> None:
    """The places of the best plan with the depths left open: no third cut is needed."""
    ran = bobplan(
        "plan", example("cross_plane_v8"), "--json", "--fix", "16 mm at 214 on A", "--fix", "16 at 32 on F"
    )
    assert ran.code == 0
    assert [step["pinned"] for step in ran.json["steps"]] == [True, True]
    assert any("chosen by the planner" in line for line in ran.json["what_if"])


def test_limits_are_kept(bobplan: Run, example: Copied) -> None:
    folder = example("cross_plane_v8")
    plan = bobplan(
        "plan",
        folder,
        "--json",
        "--forbid",
        "F",
        "--drill",
        "14 mm",
        "--greatest-depth",
        "20 mm",
        "--many-drills",
    ).json
    assert plan["feasible"]
    for step in plan["steps"]:
        assert step["counterweight"] != "F"
        assert step["diameter_mm"] == 14.0
        assert step["stop_mm"] <= 20.0


def test_aim_is_cheaper_at_one(bobplan: Run, example: Copied) -> None:
    folder = example("cross_plane_v8")
    cheap = bobplan("plan", folder, "--json", "--prefer", "least metal", "--aim", "1").json
    sure = bobplan("plan", folder, "--json", "--prefer", "least metal", "--aim", "0.3").json
    assert cheap["cost"] < sure["cost"]
    share = max(entry["amount_gmm"] / entry["tolerance_gmm"] for entry in sure["judged"])
    assert share <= 0.3 + 1e-9


def test_only_drilling_refuses_the_slugs(bobplan: Run, example: Copied) -> None:
    ran = bobplan("plan", example("external_balance_v8"), "--json", "--only", "drilling")
    assert ran.code == 1
    assert ran.json["feasible"] is False
    assert ran.json["certificate"] is not None


def test_a_stored_what_if_is_kept_once_a_step_is_cut(bobplan: Run, example: Copied) -> None:
    folder = example("cross_plane_v8")
    shown = bobplan("plan", folder, "--json", "--forbid", "A", "--store").json
    assert {step["counterweight"] for step in shown["steps"]}.isdisjoint({"A"})
    after = bobplan("done", "1", "--job", folder, "--json").json
    rest = [(s["number"], s["counterweight"], s["angle_deg"]) for s in after["steps"]]
    assert rest == [(s["number"], s["counterweight"], s["angle_deg"]) for s in shown["steps"][1:]]


def test_fixed_cuts_and_forbid_in_the_file(bobplan: Run, example: Copied) -> None:
    folder = example("cross_plane_v8")
    path = folder / "job.toml"
    text = path.read_text(encoding="utf-8").replace("[shop]\n", '[shop]\nforbid = ["F"]\n')
    text += (
        '\n[[fixed_cuts]]\ncounterweight = "A"\ncut = "rim hole"\nangle = 205\ndiameter = 16\ndepth = 20\n'
    )
    path.write_text(text, encoding="utf-8")
    plan = bobplan("plan", folder, "--json").json
    assert plan["feasible"]
    assert plan["what_if"] == []
    assert [s["angle_deg"] for s in plan["steps"] if s["pinned"]] == [205.0]
    assert "F" not in {s["counterweight"] for s in plan["steps"]}


def test_every_plan_says_its_chance(bobplan: Run, example: Copied) -> None:
    folder = example("external_balance_v8")
    ran = bobplan("plan", folder, "--no-store")
    assert "Chances by the job's error model: 9" in ran.out
    told = bobplan("plan", folder, "--no-store", "--json").json
    assert told["chance_to_pass"] == told["chance_inside"]
    assert 0.5 < told["chance_one_spin_proves"] < told["chance_inside"] <= 1.0
    refused = bobplan("plan", folder, "--json", "--only", "drilling").json
    assert refused["chance_to_pass"] is None
    assert refused["chance_one_spin_proves"] is None


def test_alternatives_as_table_and_data(bobplan: Run, example: Copied) -> None:
    folder = example("external_balance_v8")
    ran = bobplan("plan", folder, "--no-store", "--alternatives")
    assert ran.code == 0
    assert "OTHER WAYS" in ran.out
    data = bobplan("plan", folder, "--no-store", "--alternatives", "--json").json["alternatives"]
    assert [row["name"] for row in data][:2] == ["plan", "drilling only"]
    assert bobplan("plan", folder, "--no-store", "--json").json["alternatives"] == []


def test_the_bob_window_on_request(bobplan: Run, example: Copied) -> None:
    folder = example("cross_plane_v8")
    heavy = bobplan("plan", folder, "--no-store", "--window", "--seconds", "1", "--json").json["heavy_metal"]
    low, high = heavy["bob_window_g"]
    assert low < heavy["bob_g"] < high
    assert bobplan("plan", folder, "--no-store", "--json").json["heavy_metal"]["bob_window_g"] is None


def test_by_hand_beside_the_plan(bobplan: Run, example: Copied) -> None:
    folder = example("cross_plane_v8")
    ran = bobplan("plan", folder, "--no-store", "--method", "hand")
    assert ran.code == 0
    assert "BY HAND" in ran.out
    assert "Difference to the best plan" in ran.out
    wrong = bobplan("plan", folder, "--method", "luck")
    assert wrong.code == 2
    assert "there is no such method" in wrong.err


def test_the_bore_of_a_blind_slug_has_a_number_for_the_stop(bobplan: Run, example: Copied) -> None:
    """The stop is zeroed with the point touching: the bore's number is the slug's length and the cone."""
    pin = ("--fix", "slug 3/4 in at 285 on front, radius 2.5, length 0.5")
    folder = example("external_balance_v8")
    step = next(s for s in bobplan("plan", folder, *pin, "--json").json["steps"] if s["pinned"])
    cone = 0.375 / math.tan(math.radians(59))  # 118 degree point, in
    assert step["depth_shoulder_mm"] == pytest.approx(0.5 * 25.4)
    assert step["stop_mm"] == step["depth_tip_mm"] == pytest.approx((0.5 + cone) * 25.4)
    assert f"{0.5 + cone:.3f} in (" in bobplan("plan", folder, *pin).out
    assert "to the tip, slug 0.500 in (1/2) long, from the front" in bobplan("plan", folder, *pin).out
