"""The known-mass walk-through: a machine that counts otherwise than its file says is found out before any metal is lost.

What the display shows is worked out here by the lever rule and the machine's own way of counting, without the program.
"""

from __future__ import annotations

import cmath
import math
import re
import tomllib
from pathlib import Path

import pytest
from bench_pages import Page

JOB = "external_balance_v8/job.toml"
PROVE = f"/job/{JOB}/shop/prove"
GRAMS_PER_OUNCE = 28.349523125  # the avoirdupois ounce (exact by definition)
LEFT_Z_IN, RIGHT_Z_IN = 2.05, 18.45  # the file's planes [in]
PLACES = {  # angle [deg], z and radius [in] as the crankshaft's file has them
    "counterweight front": (198.0, 2.05, 3.45),
    "counterweight second": (176.0, 5.5, 3.35),
    "counterweight third": (356.0, 15.0, 3.35),
    "counterweight rear": (18.0, 18.45, 3.45),
    "throw 1": (0.0, 3.74, 2.0),
    "throw 2": (90.0, 8.08, 2.0),
    "throw 3": (270.0, 12.42, 2.0),
    "throw 4": (180.0, 16.76, 2.0),
}
BASE = ((7.85, 12.0), (7.07, 205.0))  # the file's spin, as it was read


def shown(place: str, grams: float, *, sense: int, zero_deg: float = 0.0) -> dict[str, str]:
    """Return what a machine shows with a mass on: ``sense`` +1 counts counter-clockwise seen from the front, -1 the other way.

    Its display marks the heavy spot; the crankshaft's own unbalance is what it showed before the mass came on.
    """
    angle, z_in, radius_in = PLACES[place]
    number = sense * (angle - zero_deg)
    right = (z_in - LEFT_Z_IN) / (RIGHT_Z_IN - LEFT_Z_IN)
    numbers = {}
    for side, (amount, at), share in zip(("left", "right"), BASE, (1.0 - right, right), strict=True):
        mass = grams / GRAMS_PER_OUNCE * radius_in * share
        total = cmath.rect(amount, math.radians(at)) + cmath.rect(mass, math.radians(number))
        numbers[f"{side}_amount"] = f"{abs(total):.2f}"
        numbers[f"{side}_angle"] = f"{math.degrees(cmath.phase(total)) % 360:.1f}"
    return numbers


@pytest.fixture
def unproved(folder: Path) -> Path:
    """The job with nothing proved."""
    for name in ("job.toml", "shop.toml"):
        path = folder / "external_balance_v8" / name
        path.write_text(re.sub(r"(?m)^(\[proof\].*\n)?proved = .*\n", "", path.read_text()))
    return folder


def reading(page: Page, *, sense: int, zero_deg: float = 0.0, with_number: bool = True) -> str:
    """Enter a reading at the place that the page proposes; return the place."""
    if not page.has_form("/shop/prove"):
        page.get(PROVE)
    form = next(f for f in forms(page) if ("act", "reading") in f)
    place, grams = dict(form)["at"], float(dict(form)["mass"])
    typed = shown(place, grams, sense=sense, zero_deg=zero_deg)
    if with_number:
        typed["pointer"] = f"{(sense * (PLACES[place][0] - zero_deg)) % 360:.0f}"
    page.post(PROVE, [pair for pair in form if pair[0] not in typed] + list(typed.items()))
    return place


def forms(page: Page) -> list[list[tuple[str, str]]]:
    from bench_pages import _Forms

    found = _Forms()
    found.feed(page.html)
    return [each.fields for each in found.forms]


def act(page: Page, what: str, **typed: str) -> Page:
    form = next(f for f in forms(page) if ("act", what) in f)
    return page.post(PROVE, [pair for pair in form if pair[0] not in typed] + list(typed.items()))


def stored(folder: Path, name: str = "job.toml") -> dict[str, object]:
    return tomllib.loads((folder / "external_balance_v8" / name).read_text())


def test_the_proposal_says_mass_and_place_and_marks_it(page: Page, unproved: Path) -> None:
    page.get(PROVE)
    assert page.status == 200
    assert "150.0 g at counterweight front" in page.text
    # the file's angle 198, at the drawing's rim: x = cos, y = -sin on the screen
    dot = re.search(r'<circle class="known" cx="([-\d.]+)" cy="([-\d.]+)"', page.html)
    assert dot is not None
    at = math.degrees(math.atan2(-float(dot[2]), float(dot[1]))) % 360
    assert at == pytest.approx(198.0, abs=0.1)
    # a caution stands before the boxes
    assert page.html.index("fly off") < page.html.index('name="left_amount"')


def test_a_right_machine_is_proved(page: Page, unproved: Path) -> None:
    page.get(PROVE)
    first = reading(page, sense=1)
    assert page.status == 200
    second = reading(page, sense=1)
    assert first != second
    assert "The readings fit the settings." in page.text
    act(page, "write")
    assert "Written into" in page.text
    shop, job = stored(unproved, "shop.toml"), stored(unproved)
    assert shop["machine"]["proved"]["direction"] == "ccw seen from the front"  # type: ignore[index]
    assert job["proof"]["proved"]["zero"] == "0"  # type: ignore[index]
    assert [spin.get("known_mass", {}).get("at") for spin in job["spins"]] == [None, first, second]  # type: ignore[attr-defined]


def test_a_wrong_direction_is_found_and_mended_by_one_tap(page: Page, unproved: Path) -> None:
    before = (unproved / "external_balance_v8/shop.toml").read_text()
    spin_before = stored(unproved)["spins"][0]  # type: ignore[index]
    page.get(PROVE)
    reading(page, sense=-1)
    reading(page, sense=-1)
    assert "Set wrong: the angle direction is reversed" in page.text
    assert "angle_direction under [machine]" in page.text
    # no cut list meanwhile
    page.get(f"/job/{JOB}/cut")
    assert "No cut list" in page.text
    page.get(PROVE)
    act(page, "write")
    assert page.status == 200
    after = (unproved / "external_balance_v8/shop.toml").read_text()
    changed = {(a, b) for a, b in zip(before.splitlines(), after.splitlines(), strict=False) if a != b}
    assert ('angle_direction = "ccw"', 'angle_direction = "cw"') in changed
    # the spin entered before stands as it was read; the cuts can be asked for again
    assert stored(unproved)["spins"][0] == spin_before  # type: ignore[index]
    page.get(f"/job/{JOB}/cut")
    assert "No cut list" not in page.text


def test_a_turned_zero_is_mended(page: Page, unproved: Path) -> None:
    page.get(PROVE)
    reading(page, sense=1, zero_deg=90.0)
    reading(page, sense=1, zero_deg=90.0)
    assert "the zero mark is off by 90 degrees: it lies at throw 2" in page.text
    act(page, "write")
    assert stored(unproved, "shop.toml")["machine"]["angle_zero"] == "throw 2"  # type: ignore[index]


def test_the_line_under_the_drill(page: Page, unproved: Path) -> None:
    page.get(PROVE)
    reading(page, sense=1)
    reading(page, sense=1)
    # throw 2 stands at 90; with a drill 90 machine degrees from the pointer the dial shows 180, the file says the same
    act(page, "line", place="throw 2", dial="180")
    assert "it showed 180° : right" in page.text
    # a drill on the other side: 90 - 90
    act(page, "line", place="throw 2", dial="0")
    assert "drill_offset: -90 fits" in page.text
    act(page, "write")
    assert stored(unproved, "shop.toml")["machine"]["drill_offset"] == -90  # type: ignore[index]
    assert stored(unproved, "shop.toml")["machine"]["proved"]["drill_offset"] == "-90"  # type: ignore[index]


def test_a_line_before_anything_is_settled_is_refused(page: Page, unproved: Path) -> None:
    page.get(PROVE)
    seen = dict(forms(page)[-1])["seen"]
    page.post(PROVE, [("seen", seen), ("act", "line"), ("place", "throw 1"), ("dial", "90")])
    assert page.status == 422
    assert "not settled" in page.text
    assert "proof" not in stored(unproved)


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"left_amount": ""}, "still missing: left amount"),
        ({"left_amount": "<script>alert(1)</script>"}, "left amount"),
        ({"pointer": "400"}, "allowed -360 to 360"),
        ({"mass": "-5"}, "mass"),
        ({"at": "throw 9"}, "there is no place `throw 9`"),
        ({"radius": "0"}, "radius"),
        ({"offset": "x"}, "degrees from it"),
    ],
)
def test_a_bad_reading_is_refused_and_kept(
    page: Page, unproved: Path, typed: dict[str, str], said: str
) -> None:
    before = (unproved / JOB).read_bytes()
    page.get(PROVE)
    numbers = {"left_amount": "7,5", "left_angle": "11.5", "right_amount": "7.1", "right_angle": "200"}
    act(page, "reading", **(numbers | typed))
    assert page.status == 422
    assert said.replace("`", "") in page.text
    assert 'value="11.5"' in page.html
    assert "<script>alert" not in page.html
    assert (unproved / JOB).read_bytes() == before


def test_decimal_commas_are_read(page: Page, unproved: Path) -> None:
    page.get(PROVE)
    act(page, "reading", left_amount="7,5", left_angle="11,5", right_amount="7.1", right_angle="200")
    assert page.status == 200
    assert stored(unproved)["spins"][1]["left"] == {"amount": 7.5, "angle": 11.5}  # type: ignore[index]


def test_a_stale_form_writes_nothing(page: Page, unproved: Path) -> None:
    page.get(PROVE)
    old = next(f for f in forms(page) if ("act", "reading") in f)
    reading(page, sense=-1)
    before = (unproved / JOB).read_bytes()
    page.post(
        PROVE,
        [
            *old[:1],
            *[p for p in old[1:] if p[0] not in shown("throw 1", 1, sense=1)],
            *shown("throw 1", 100, sense=1).items(),
        ],
    )
    assert page.status == 409
    assert "a spin was entered" in page.text
    assert (unproved / JOB).read_bytes() == before
    # the same for writing: the settings were changed by hand meanwhile
    reading(page.get(PROVE), sense=-1)
    write = next(f for f in forms(page) if ("act", "write") in f)
    shop = unproved / "external_balance_v8/shop.toml"
    shop.write_text(shop.read_text().replace("angle_step = 1", "angle_step = 2"))
    kept = shop.read_bytes()
    page.post(PROVE, write)
    assert page.status == 409
    assert shop.read_bytes() == kept


def test_numbers_typed_under_spin_come_along(page: Page, unproved: Path) -> None:
    job = unproved / JOB
    job.write_text(job.read_text().split("[[spins]]")[0])
    page.get(f"/job/{JOB}/spin")
    pairs = page.form("/spin").filled(
        bobs="2218", left_amount="7.85", left_angle="12", right_amount="7.07", right_angle="205"
    )
    page.post(f"/job/{JOB}/spin/look", pairs)
    assert f'formaction="/job/{JOB}/shop/prove"' in page.html
    page.post(PROVE, [*pairs, ("act", "from_spin")])
    assert "The heavy spot was not where these numbers put it" in page.text
    act(page, "base")
    assert page.status == 200
    assert stored(unproved)["spins"][0]["left"] == {"amount": 7.85, "angle": 12}  # type: ignore[index]
    assert "With the mass" in page.text


def test_a_shop_file_outside_the_folder_is_not_written(
    page: Page, unproved: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    outside = tmp_path / "elsewhere"
    outside.mkdir()
    (unproved / "external_balance_v8/shop.toml").rename(outside / "shop.toml")
    monkeypatch.setenv("BOBPLAN_SHOP_FOLDERS", str(outside))
    job = unproved / JOB
    job.write_text(job.read_text().replace('shop = "shop.toml"', f'shop = "{outside}/shop.toml"'))
    kept = (outside / "shop.toml").read_bytes()
    page.get(PROVE)
    reading(page, sense=-1)
    reading(page, sense=-1)
    act(page, "write")
    assert page.status == 422
    assert "outside the folder of this page" in page.text
    assert (outside / "shop.toml").read_bytes() == kept


def test_undo_takes_back_a_reading_and_stays_here(page: Page, unproved: Path) -> None:
    page.get(PROVE)
    reading(page, sense=1)
    page.submit("/undo")
    assert page.at == PROVE
    assert len(stored(unproved)["spins"]) == 1  # type: ignore[arg-type]


def test_a_form_without_a_purpose_is_refused(page: Page) -> None:
    page.post(PROVE, {"act": "delete"})
    assert page.status == 422


def test_nothing_is_written_while_several_things_would_explain_it(page: Page, unproved: Path) -> None:
    page.get(PROVE)
    reading(page, sense=-1)
    assert "Not settled: don't cut." in page.text
    before = {name: stored(unproved, name) for name in ("job.toml", "shop.toml")}
    seen = dict(forms(page)[-1])["seen"]
    page.post(PROVE, {"seen": seen, "act": "write", "on": "2026-01-31", "by": ""})
    assert page.status == 422
    assert "nothing is settled yet" in page.text
    assert {name: stored(unproved, name) for name in ("job.toml", "shop.toml")} == before


def test_after_a_cut_a_new_spin_without_the_mass_comes_first(page: Page, unproved: Path) -> None:
    page.get(PROVE)
    old = next(f for f in forms(page) if ("act", "reading") in f)
    job = unproved / JOB
    job.write_text(
        job.read_text()
        + """
[[cuts_made]]
after_spin = 1
counterweight = "front"
cut = "rim hole"
angle = 190
diameter = "1/2 in"
depth = "1 in"
depth_to = "tip"
"""
    )
    page.get(PROVE)
    assert "Spin without the mass" in page.text
    assert "cuts were made since spin 1" in page.text.casefold()
    seen = dict(forms(page)[-1])["seen"]
    typed = shown("counterweight front", 150, sense=1) | {"seen": seen}
    page.post(PROVE, [pair for pair in old if pair[0] not in typed] + list(typed.items()))
    assert page.status == 422
    assert len(stored(unproved)["spins"]) == 1  # type: ignore[arg-type]


def test_what_changes_at_the_last_moment_refuses_the_writing(
    page: Page, unproved: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import planner.bench.prove_part as part

    page.get(PROVE)
    reading(page, sense=-1)
    reading(page, sense=-1)
    shop = unproved / "external_balance_v8/shop.toml"
    real = part.write_checked

    def late(*args: object, **kinds: object) -> object:
        # somebody else writes after the form was compared with the files, before the lock is taken
        shop.write_text(shop.read_text().replace("angle_step = 1", "angle_step = 2"))
        return real(*args, **kinds)  # type: ignore[arg-type]

    monkeypatch.setattr(part, "write_checked", late)
    act(page, "write")
    assert page.status == 409
    assert stored(unproved, "shop.toml")["machine"]["angle_direction"] == "ccw"  # type: ignore[index]
    assert stored(unproved, "shop.toml")["shop"]["angle_step"] == 2  # type: ignore[index]


def test_a_date_that_is_none_is_refused(page: Page, unproved: Path) -> None:
    page.get(PROVE)
    reading(page, sense=1)
    reading(page, sense=1)
    act(page, "write", on="yesterday")
    assert page.status == 422
    assert "2026-01-31" in page.text
    assert "proof" not in stored(unproved)
    act(page, "write", on="2026-03-01", by="A. Tester")
    proved = stored(unproved)["proof"]["proved"]  # type: ignore[index]
    assert str(proved["on"]) == "2026-03-01"
    assert proved["by"] == "A. Tester"


def test_a_mass_of_ones_own_at_a_place_of_ones_own(page: Page, unproved: Path) -> None:
    page.get(f"{PROVE}?again=yes&at=counterweight+rear&mass=80&radius=3&offset=45")
    assert "80.0 g at counterweight rear, 45° from it counter-clockwise seen from the front" in page.text
    dot = re.search(r'<circle class="known" cx="([-\d.]+)" cy="([-\d.]+)"', page.html)
    assert dot is not None
    x, y = float(dot[1]), -float(dot[2])
    # the counterweight's 18 degrees and 45 more, 3 inches from the axis
    assert math.degrees(math.atan2(y, x)) == pytest.approx(63.0, abs=0.1)
    assert math.hypot(x, y) == pytest.approx(3 * 25.4, abs=0.05)
    act(page, "reading", left_amount="7.5", left_angle="11", right_amount="9", right_angle="200")
    known = stored(unproved)["spins"][1]["known_mass"]  # type: ignore[index]
    assert known == {"mass": 80, "radius": 3, "at": "counterweight rear", "offset": 45, "z": 18.45}


def test_an_address_that_asks_nonsense_says_so(page: Page, unproved: Path) -> None:
    page.get(f"{PROVE}?at=throw+9&mass=x&radius=-1&offset=north")
    assert page.status == 422
    assert "radius: given -1" in page.text
    # what is proposed stands there all the same
    assert "150.0 g at counterweight front" in page.text


def test_a_proof_made_again_has_the_new_day_and_what_was_not_read_keeps_its_own(
    page: Page, folder: Path
) -> None:
    page.get(PROVE)
    reading(page, sense=1)
    reading(page, sense=1)
    act(page, "write", on="2026-05-01")
    proved = stored(folder, "shop.toml")["machine"]["proved"]  # type: ignore[index]
    assert str(proved["on"]) == "2026-05-01"
    assert proved["direction"] == "ccw seen from the front"
    # nobody looked at the drill: its day is the one before
    assert "drill_offset" not in proved
    assert [str(each["on"]) for each in proved["earlier"] if "drill_offset" in each] == ["2026-02-14"]
    # all of it stands there now: nothing is left to write
    page.get(PROVE)
    assert not any(("act", "write") in form for form in forms(page))


def test_one_place_alone_says_what_it_does_not_prove(page: Page, unproved: Path) -> None:
    page.get(PROVE)
    reading(page, sense=1, with_number=False)
    assert "They do not prove all of them yet" in page.text
    assert "Written as proved: plane order, unit, radius of the planes, kind of amounts." in page.text
    assert "Direction, viewing end and zero are only tested by a mass at two places" in page.text
    # the second place is what comes next, and a line under the drill says nothing before it
    assert "With the mass, reading 2" in page.text
    assert "<summary>The mass at another place" not in page.html
    assert "The line under the drill" not in page.text
