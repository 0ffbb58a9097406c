"""Shop: settings shown in plain words, changed in the file that has them, everything else in it kept."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
from bench_pages import Page

JOB = "external_balance_v8/job.toml"
SHOP = f"/job/{JOB}/shop"
FILE = "external_balance_v8/shop.toml"


def forms(page: Page) -> dict[str, list[tuple[str, str]]]:
    from bench_pages import _Forms

    found = _Forms()
    found.feed(page.html)
    return {dict(each.fields)["act"]: each.fields for each in found.forms if "act" in dict(each.fields)}


def write(page: Page, what: str, **typed: str) -> Page:
    named = {key.replace("__", "."): value for key, value in typed.items()}
    pairs = forms(page.get(SHOP))[what]
    return page.post(SHOP, [pair for pair in pairs if pair[0] not in named] + list(named.items()))


def test_it_says_what_counts_and_where_it_stands(page: Page) -> None:
    page.get(SHOP)
    assert page.status == 200
    assert "The numbers grow counter-clockwise seen from the front, zero at throw 1." in page.text
    assert "external_balance_v8/shop.toml" in page.text
    boxes = dict(forms(page)["shop"])
    assert boxes["shop.drills"] == "1/2 in, 5/8 in, 3/4 in"
    assert boxes["shop.slug_class"] == "ASTM B777 class 2"
    assert "shop.slug_density" not in boxes  # the file names a class: a density beside it would be a fault
    assert "direction and viewing end" in page.text
    assert "proved" in page.text


def test_only_what_was_changed_changes_in_the_file(page: Page, folder: Path) -> None:
    before = (folder / FILE).read_text()
    write(page, "shop", shop__drills="1/2 in, 9/16 in, 5/8 in", shop__greatest_depth="1 1/2 in")
    assert page.status == 200
    assert "Written into shop.toml" in page.text
    after = (folder / FILE).read_text()
    old, new = before.splitlines(), after.splitlines()
    assert len(old) == len(new)
    assert {(a.partition(" ")[0]) for a, b in zip(old, new, strict=True) if a != b} == {
        "drills",
        "greatest_depth",
    }
    assert tomllib.loads(after)["shop"]["drills"] == ["1/2 in", "9/16 in", "5/8 in"]


def test_comments_stay(page: Page, folder: Path) -> None:
    write(page, "shop", shop__depth_to="shoulder")
    after = (folder / FILE).read_text()
    assert re.search(r'(?m)^depth_to = "shoulder" .*# the stop is zeroed with the point touching$', after)


def test_nothing_changed_writes_nothing(page: Page, folder: Path) -> None:
    before = (folder / FILE).stat().st_mtime_ns
    write(page, "shop")
    assert "Nothing was changed" in page.text
    write(page, "machine")
    assert "Nothing was changed" in page.text
    assert (folder / FILE).stat().st_mtime_ns == before


def test_other_blanks_are_no_change(page: Page, folder: Path) -> None:
    before = (folder / FILE).read_bytes()
    write(page, "shop", shop__drills="1/2 in,5/8 in,  3/4 in")
    assert "Nothing was changed" in page.text
    assert (folder / FILE).read_bytes() == before


def test_what_changes_at_the_last_moment_refuses_the_writing(
    page: Page, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import planner.bench.shop_part as part

    file = folder / FILE
    real = part.write_settings

    def late(*args: object, **kinds: object) -> object:
        file.write_text(file.read_text().replace("angle_step = 1", "angle_step = 2"))
        return real(*args, **kinds)  # type: ignore[arg-type]

    monkeypatch.setattr(part, "write_settings", late)
    write(page, "shop", shop__least_wall="1/4 in")
    assert page.status == 409
    shop = tomllib.loads(file.read_text())["shop"]
    assert (shop["angle_step"], shop["least_wall"]) == (2, "1/8 in")


def test_a_changed_direction_is_no_longer_proved(page: Page, folder: Path) -> None:
    write(page, "machine", machine__angle_direction="cw")
    assert tomllib.loads((folder / FILE).read_text())["machine"]["angle_direction"] == "cw"
    assert "The numbers grow clockwise seen from the front" in page.text
    assert "SETTINGS NOT PROVED" in page.text


def test_every_other_job_that_uses_the_file_is_said(page: Page, folder: Path) -> None:
    other = (folder / JOB).read_text()
    (folder / "external_balance_v8/next.toml").write_text(other)
    inline = other.replace("[use]\n", "", 1).replace(
        'shop = "shop.toml"\ncrankshaft = "crankshaft.toml"\n', ""
    )
    (folder / "external_balance_v8/other.toml").write_text(
        'use = { shop = "shop.toml", crankshaft = "crankshaft.toml" }\n' + inline
    )
    page.get(SHOP)
    said = "which other jobs use too: external_balance_v8/next.toml, external_balance_v8/other.toml."
    assert said in page.text


@pytest.mark.parametrize(
    ("what", "typed", "said"),
    [
        ("shop", {"shop__greatest_depth": "-1"}, "no hole deeper than"),
        ("shop", {"shop__greatest_depth": "0.1"}, "must be below greatest_depth"),
        ("shop", {"shop__drills": "nonsense"}, "drills"),
        ("shop", {"shop__drills": ""}, "can't be left empty"),
        ("shop", {"shop__drills": "10,12"}, "one number or two"),
        ("shop", {"shop__angle_step": "7"}, "a whole number of steps must make 360 degrees"),
        ("shop", {"shop__slug_class": "<script>alert(1)</script>"}, "allowed"),
        ("shop", {"shop__heavy_metal": "maybe"}, "if needed"),
        ("shop", {"shop__slug_stack": "two"}, "a whole number is wanted"),
        ("shop", {"shop__least_depth": "9" * 600}, "too long"),
        ("machine", {"machine__angle_zero": "throw 9"}, "there is no throw 9"),
        ("machine", {"machine__drill_offset": "north"}, "drill"),
        ("machine", {"machine__angle_direction": "up"}, "ccw"),
        ("machine", {"machine__angle_direction": ""}, "can't be left empty"),
    ],
)
def test_what_can_t_be_taken_is_said_beside_its_box(
    page: Page, folder: Path, what: str, typed: dict[str, str], said: str
) -> None:
    before = (folder / FILE).read_bytes()
    write(page, what, **typed)
    assert page.status == 422
    assert said in page.text
    assert "<script>alert" not in page.html
    # what was typed is still there (a choice that is none can't be)
    value = next(iter(typed.values()))
    if value and value[0].isdigit():
        assert f'value="{value}"' in page.html
    assert (folder / FILE).read_bytes() == before


def test_all_wrong_boxes_are_said_at_once(page: Page) -> None:
    write(page, "shop", shop__greatest_depth="x", shop__least_wall="y", shop__drills="nonsense")
    assert "3 boxes can't be taken as typed" in page.text
    assert page.html.count('aria-invalid="true"') == 3


def test_decimal_commas_and_units(page: Page, folder: Path) -> None:
    write(page, "shop", shop__least_wall="0,15", shop__hole_oversize="0.1 mm", shop__slug_diameters="")
    shop = tomllib.loads((folder / FILE).read_text())["shop"]
    assert shop["least_wall"] == 0.15
    assert shop["hole_oversize"] == "0.1 mm"
    assert shop["slug_diameters"] == []


def test_yes_and_no(page: Page, folder: Path) -> None:
    write(page, "shop", shop__enlarge_holes="true", shop__wanted_chance="0,9")
    shop = tomllib.loads((folder / FILE).read_text())["shop"]
    assert shop["enlarge_holes"] is True
    assert shop["wanted_chance"] == 0.9
    write(page, "shop", shop__enlarge_holes="false")
    assert tomllib.loads((folder / FILE).read_text())["shop"]["enlarge_holes"] is False
    write(page, "shop", shop__enlarge_holes="perhaps", shop__wanted_chance="1.5")
    assert page.status == 422


def test_a_stale_form_changes_nothing(page: Page, folder: Path) -> None:
    pairs = forms(page.get(SHOP))["shop"]
    file = folder / FILE
    file.write_text(file.read_text().replace("angle_step = 1", "angle_step = 2"))
    kept = file.read_bytes()
    page.post(
        SHOP, [pair for pair in pairs if pair[0] != "shop.least_wall"] + [("shop.least_wall", "1/4 in")]
    )
    assert page.status == 409
    assert "settings in the files are others" in page.text
    assert 'value="1/4 in"' in page.html
    assert file.read_bytes() == kept


def test_a_job_in_one_file_has_its_own_shop(page: Page, folder: Path) -> None:
    address = "/job/cross_plane_v8/job.toml/shop"
    pairs = forms(page.get(address))["shop"]
    page.post(address, [pair for pair in pairs if pair[0] != "shop.drills"] + [("shop.drills", "10 12 14")])
    assert page.status == 200
    assert tomllib.loads((folder / "cross_plane_v8/job.toml").read_text())["shop"]["drills"] == [10, 12, 14]


def test_a_form_for_nothing_is_refused(page: Page) -> None:
    pairs = dict(forms(page.get(SHOP))["shop"]) | {"act": "everything"}
    page.post(SHOP, pairs)
    assert page.status == 422


def ticked(page: Page, name: str, *names: str) -> Page:
    """Write the shop with some boxes of a group ticked, and no other of it."""
    pairs = forms(page.get(SHOP))["shop"]
    return page.post(
        SHOP, [pair for pair in pairs if pair[0] != name] + [(name, ""), *((name, each) for each in names)]
    )


def test_a_counterweight_that_stays_as_it_is_gets_no_cut(page: Page, folder: Path) -> None:
    from planner.jobfile.read import load_job
    from planner.steps.plan import plan_job

    assert any(step.cut.counterweight == "rear" for step in plan_job(load_job(folder / JOB)).steps)
    ticked(page, "shop.forbid", "rear")
    assert page.status == 200
    assert tomllib.loads((folder / FILE).read_text())["shop"]["forbid"] == ["rear"]
    assert all(step.cut.counterweight != "rear" for step in plan_job(load_job(folder / JOB)).steps)
    assert 'name="shop.forbid" value="rear" checked' in page.html
    ticked(page, "shop.forbid")
    assert tomllib.loads((folder / FILE).read_text())["shop"]["forbid"] == []
    ticked(page, "shop.forbid", "wing")
    assert page.status == 422
    assert "there is no such counterweight" in page.text


def test_the_cuts_that_are_made_here(page: Page, folder: Path) -> None:
    page.get(SHOP)
    assert page.html.count('name="shop.allow"') == page.html.count(" checked> ") + 1  # all, and the empty one
    ticked(page, "shop.allow", "rim hole", "slug")
    assert tomllib.loads((folder / FILE).read_text())["shop"]["allow"] == ["rim hole", "slug"]
    before = (folder / FILE).read_bytes()
    ticked(page, "shop.allow")
    assert page.status == 422
    assert "tick at least one" in page.text
    ticked(page, "shop.allow", "laser")
    assert page.status == 422
    assert (folder / FILE).read_bytes() == before


def test_prices_of_slugs(page: Page, folder: Path) -> None:
    def prices() -> dict[str, float]:
        found = tomllib.loads((folder / FILE).read_text())["shop"].get("slug_price", {})
        assert isinstance(found, dict)
        return found

    name = "shop__slug_price__3/4 in"
    write(page, "shop", **{name: "40,5"})
    assert page.status == 200
    assert prices() == {"3/4 in": 40.5}
    write(page, "shop", **{"shop__slug_price__1 in": "60"})
    assert prices() == {"3/4 in": 40.5, "1 in": 60}
    assert 'name="shop.slug_price.3/4 in" value="40.5"' in page.html
    write(page, "shop", **{name: "-1"})
    assert page.status == 422
    assert "a price is a number from 0" in page.text
    write(page, "shop", **{name: ""})
    assert prices() == {"1 in": 60}
    # the same size written otherwise is the same slug
    file = folder / FILE
    file.write_text(file.read_text().replace('"1 in" = 60', '"25.4 mm" = 60'))
    write(page, "shop", **{"shop__slug_price__1 in": "61"})
    assert prices() == {"25.4 mm": 61}


def test_wishes_of_the_plan_and_money(page: Page, folder: Path) -> None:
    write(
        page,
        "shop",
        shop__prefer_cuts="fewest",
        shop__prefer="least metal",
        shop__aim="0,8",
        shop__one_drill="false",
        shop__rim_cut_sectors="30, 45",
        shop__labour_per_hour="85",
        shop__quoted_spins="4",
    )
    assert page.status == 200
    shop = tomllib.loads((folder / FILE).read_text())["shop"]
    assert (shop["prefer_cuts"], shop["prefer"], shop["aim"]) == ("fewest", "least metal", 0.8)
    assert shop["one_drill"] is False
    assert shop["rim_cut_sectors"] == [30, 45]
    assert (shop["labour_per_hour"], shop["quoted_spins"]) == (85, 4)
    write(page, "shop", shop__aim="3", shop__rim_cut_sectors="30, 200", shop__close_enough="x")
    assert page.status == 422
    assert (
        page.html.count('aria-invalid="true"') == 1
    )  # what can't be read comes before what is out of bounds
    write(page, "shop", shop__aim="3", shop__rim_cut_sectors="30, 200")
    assert page.html.count('aria-invalid="true"') == 2
    assert page.html.count("<details open") >= 3  # the groups with what is wrong are open
