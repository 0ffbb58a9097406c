"""Spin: what the four numbers mean while they are typed, and that nothing is entered before the heavy spot was looked at."""

from __future__ import annotations

import re
import time
import tomllib
from pathlib import Path

import pytest
from bench_pages import Page
from entering import add_spin

from planner.bench.typed import with_point
from planner.errors import InputError
from planner.jobfile.read import load_job

JOB = "cross_plane_v8/job.toml"
SPIN = f"/job/{JOB}/spin"
NUMBERS = {"left_amount": "3490", "left_angle": "214", "right_amount": "2910", "right_angle": "33"}


def spins(folder: Path, job: str = JOB) -> list[dict[str, object]]:
    return tomllib.loads((folder / job).read_text()).get("spins", [])


def without_proof(folder: Path, job: str = JOB) -> None:
    """Take away what says that the settings were proved."""
    path = folder / job
    path.write_text(re.sub(r"(?m)^proved = .*\n", "", path.read_text()))


def planned(page: Page, address: str = f"/job/{JOB}/cut") -> Page:
    """Load the cuts, waiting for the search as a browser does."""
    for _ in range(600):
        page.get(address)
        if "data-stream" not in page.html:
            return page
        time.sleep(0.1)
    raise AssertionError("no plan came")


def enter(page: Page, path: str = SPIN, **typed: str) -> Page:
    """Type the numbers, look at the drawing of them, and say yes."""
    shown = {key: value for key, value in typed.items() if key != "there"}
    page.get(path).submit("/spin", act="look", **shown)
    return page.submit("/spin", there="yes", **shown)


def look(page: Page, **typed: str) -> str:
    page.get(SPIN)
    form = page.form("/spin")
    page.post(f"{SPIN}/look", form.filled(**typed))
    return page.text


def test_what_is_missing_is_said(page: Page) -> None:
    said = look(page, left_amount="100", left_angle="20")
    assert "still missing: right amount, right angle" in said
    assert not page.has_form("/cut")


def test_the_heavy_spot_is_said_and_drawn_while_typing(page: Page) -> None:
    said = look(page, **NUMBERS)
    assert "left: 3490 g*mm heavy at 214°, 16° from the centre line of counterweight A" in said
    assert 'class="heavy left"' in page.html
    assert "left heavy at 214°; right heavy at 33°" in page.html


def test_a_light_spot_is_drawn_on_the_heavy_side(page: Page) -> None:
    page.get("/job/inline_three_light_spot/job.toml/spin")
    pairs = page.form("/spin").filled(left_amount="10", left_angle="200", right_amount="10", right_angle="20")
    page.post("/job/inline_three_light_spot/job.toml/spin/look", pairs)
    # the display shows the light spot: the heavy one is opposite
    assert "left heavy at 20°; right heavy at 200°" in page.html


def test_nothing_is_entered_before_it_was_looked_at(page: Page, folder: Path) -> None:
    page.get(SPIN).submit("/spin", **NUMBERS, cut="no", as_read="yes")
    assert page.status == 422
    assert "is the heavy spot there?" in page.text
    assert 'value="3490"' in page.html
    assert len(spins(folder)) == 1


def test_enter_in_a_box_says_nothing_about_the_heavy_spot(page: Page, folder: Path) -> None:
    """A browser presses the first button of the form when Enter is pressed in a box."""
    page.get(SPIN)
    first = page.form("/spin").buttons[0]
    page.submit("/spin", **NUMBERS, **{first[0]: first[1]})
    assert page.status == 200
    assert len(spins(folder)) == 1
    assert "heavy at 214°" in page.text


def test_a_yes_to_other_numbers_is_none(page: Page, folder: Path) -> None:
    page.get(SPIN).submit("/spin", act="look", **NUMBERS)
    page.submit("/spin", left_angle="210", there="yes", repeat="yes", as_read="yes")
    assert page.status == 422
    assert "the numbers are others than those that the drawing was made from" in page.text
    assert "heavy at 210°" in page.text
    assert len(spins(folder)) == 1


def test_a_spin_is_entered_and_the_cuts_are_shown(page: Page, folder: Path) -> None:
    enter(page, **NUMBERS, repeat="yes")
    assert page.status == 200
    assert page.at.endswith("/cut")
    entered = spins(folder)[-1]
    assert entered["left"] == {"amount": 3490, "angle": 214}
    assert entered["repeat"] is True
    assert entered["spot_seen"] is True
    assert load_job(folder / JOB).spins[-1].spot_seen


def test_open_cuts_are_asked_about_and_entered_with_the_spin(page: Page, folder: Path) -> None:
    planned(page)
    page.get(SPIN).submit(
        "/spin", left_amount="30", left_angle="210", right_amount="35", right_angle="30", there="yes"
    )
    assert page.status == 422
    assert "Steps 1 and 2 of the plan for spin 1 are not entered as made" in page.text
    assert len(spins(folder)) == 1
    page.submit("/spin", there="yes", cut="yes")
    job = load_job(folder / JOB)
    assert len(job.spins) == 2
    assert [made.number for made in job.cuts_made] == [1, 2]


def test_a_reading_that_makes_no_sense_is_questioned(page: Page, folder: Path) -> None:
    said = look(page, left_amount="97440", left_angle="214", right_amount="81480", right_angle="33")
    assert "This reading is questioned" in said
    page.get(SPIN).submit(
        "/spin",
        left_amount="97440",
        left_angle="214",
        right_amount="81480",
        right_angle="33",
        there="yes",
        cut="no",
    )
    assert page.status == 422
    assert len(spins(folder)) == 1


@pytest.mark.parametrize(
    ("typed", "read"),
    [
        ("5,85", "5.85"),
        ("1.234,5", "1234.5"),
        (" 0,5 ", " 0.5 "),
        ("5,85 oz-in", "5.85 oz-in"),
        ("13 1/2", "13 1/2"),
        ("53/64", "53/64"),
        ("5.85", "5.85"),
        ("-3,5", "-3.5"),
        ("1,234.5", "1,234.5"),
    ],
)
def test_decimal_commas_become_points(typed: str, read: str) -> None:
    assert with_point(typed, name="amount") == read


def test_a_comma_that_may_part_thousands_is_asked_about(page: Page, folder: Path) -> None:
    with pytest.raises(InputError, match=r"`1,234` can be 1234 or 1\.234"):
        with_point("1,234", name="amount", thousands="likely")
    assert with_point("0,234", name="amount", thousands="likely") == "0.234"
    said = look(page, **{**NUMBERS, "left_amount": "3,480"})
    assert "can be 3480 or 3.480" in said


def test_commas_and_fractions_are_read_in_the_boxes(page: Page, folder: Path) -> None:
    job = "external_balance_v8/job.toml"
    typed = {"left_amount": "7,85", "left_angle": "12", "right_amount": "7 1/14", "right_angle": "205"}
    enter(page, f"/job/{job}/spin", **typed, repeat="yes", as_read="yes")
    assert page.status == 200
    entered = load_job(folder / job)
    assert entered.spins[-1].left.amount == pytest.approx(7.85 * 28.349523125 * 25.4)
    assert entered.spins[-1].right.amount == pytest.approx((7 + 1 / 14) * 28.349523125 * 25.4)


@pytest.mark.parametrize(
    "wrong",
    [
        {"left_amount": "much"},
        {"left_angle": "400"},
        {"left_amount": "-3"},
        {"bobs": "x=3"},
        {"speed": "fast"},
        {"speed": "0"},
        {"left_amount": "1e99"},
        {"left_amount": "nan"},
    ],
)
def test_what_can_t_be_read_is_said_and_kept(page: Page, folder: Path, wrong: dict[str, str]) -> None:
    before = (folder / JOB).read_bytes()
    enter(page, **{**NUMBERS, **wrong}, repeat="yes", as_read="yes", cut="no")
    assert page.status == 422
    assert f'value="{next(iter(wrong.values()))}"' in page.html
    assert (folder / JOB).read_bytes() == before


def test_a_stale_form_overwrites_nothing(page: Page, folder: Path) -> None:
    page.get(SPIN).submit("/spin", act="look", **NUMBERS)
    form = page.form("/spin")
    job = load_job(folder / JOB)
    add_spin(folder / JOB, job.spins[0])
    before = (folder / JOB).read_bytes()
    page.post(SPIN, form.filled(**NUMBERS, there="yes", repeat="yes"))
    assert page.status == 409
    assert "this job was changed meanwhile: a spin was entered" in page.text
    assert 'value="3490"' in page.html
    assert (folder / JOB).read_bytes() == before
    # looked at again, with the job as it is now, it goes in
    page.submit("/spin", there="yes", repeat="yes")
    assert len(spins(folder)) == 3


def test_a_stale_form_after_another_shop(page: Page, folder: Path) -> None:
    job = "external_balance_v8/job.toml"
    page.get(f"/job/{job}/spin")
    form = page.form("/spin")
    shop = folder / "external_balance_v8/shop.toml"
    shop.write_text(shop.read_text().replace('angle_direction = "ccw"', 'angle_direction = "cw"'))
    assert "cw" in shop.read_text()
    page.post(
        f"/job/{job}/spin",
        form.filled(
            left_amount="7",
            left_angle="12",
            right_amount="7",
            right_angle="205",
            there="yes",
            repeat="yes",
            as_read="yes",
        ),
    )
    assert page.status == 409
    assert "sizes, weights or settings in the files are others" in page.text


def test_a_form_without_a_state_is_refused(page: Page, folder: Path) -> None:
    for seen in ("", "1.2", "a.b.c.d.e", "1.0.0.x.y.z", "99999999999999999999.0.0.a.b"):
        page.post(SPIN, {**NUMBERS, "seen": seen, "there": "yes", "repeat": "yes"})
        assert page.status in (409, 422)
    assert len(spins(folder)) == 1


def test_script_texts_are_texts(page: Page) -> None:
    nasty = "\"><script>alert(1)</script><img src=x onerror=alert(1)>'"
    enter(page, **dict.fromkeys(NUMBERS, nasty), bobs=nasty, speed=nasty)
    assert page.status == 422
    assert "<script>alert" not in page.html
    assert "<img" not in page.html


def test_cuts_wait_for_the_yes_when_a_command_entered_the_spin(page: Page, folder: Path) -> None:
    without_proof(folder)
    page.get(f"/job/{JOB}/cut")
    assert "Is the heavy spot there?" in page.text
    assert '<article class="cut"' not in page.html
    assert page.get(f"/job/{JOB}/sheet.pdf").status == 422
    page.get(f"/job/{JOB}/cut").submit("/cut/confirm")
    assert page.status == 200
    assert '<article class="cut"' in page.html or "being sought" in page.text
    assert load_job(folder / JOB).spins[0].spot_seen
