"""New job: every answer checked as it is typed, files made all together, never over one that is there."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
from bench_pages import Page

from planner.bench.folder import Folder
from planner.bench.new_part import begun_names
from planner.bench.typed import list_with_points, with_points
from planner.errors import InputError
from planner.jobfile.new_job.files import keep_unfinished, unfinished_answers
from planner.jobfile.read import load_job

THREE = {
    "title": "Smith's three",
    "units": "in",
    "angle_direction": "cw",
    "viewed_from": "rear",
    "angle_zero": "throw 1",
    "angle_marks": "light spot",
    "drill_offset": "90",
    "drills": "1/2, 9/16, 5/8",
    "layout": "in-line 3",
    "rotation": "cw",
    "radius": "1,75",
    "first_throw_z": "3 3/4",
    "spacing": "4",
    "bearing_1_z": "0",
    "bearing_2_z": "15 1/2",
    "mass": "38",
    "material": "nodular iron",
    "speed": "6500",
    "counterweights": "2",
    "thickness": "0.9",
    "outer_radius": "3.4",
    "half_angle": "chord 5,2",
    "inner_radius": "1.5",
    "counterweight_1_z": "3",
    "counterweight_1_angle": "180",
    "counterweight_2_z": "12 1/2",
    "counterweight_2_angle": "60",
    "left_plane": "2",
    "right_plane": "13",
    "tolerance": "0,4 oz*in",
    "amounts": "unbalance",
}


@pytest.fixture(autouse=True)
def _own_state(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))


def send(page: Page, act: str = "make", **typed: str) -> Page:
    return page.post("/new", THREE | {"file": "three", "act": act} | typed)


def files(folder: Path) -> dict[str, bytes]:
    return {each.name: each.read_bytes() for each in folder.glob("*") if each.is_file()}


def test_the_list_of_jobs_leads_here(page: Page) -> None:
    page.get("/")
    assert 'href="/new"' in page.html
    page.get("/new")
    assert page.status == 200
    assert "which way the machine's angles grow" in page.text
    assert "Still to be measured" in page.text


def test_the_job_is_made_and_its_due_part_opened(page: Page, folder: Path) -> None:
    send(page)
    assert page.at.startswith("/job/three.toml/")
    job = load_job(folder / "three.toml")
    assert job.machine.direction == "cw"
    assert job.machine.viewed_from == "rear"
    assert job.machine.marks == "light spot"
    assert job.crankshaft.throws[0].radius_mm == pytest.approx(1.75 * 25.4)
    # 3 3/4 and two spacings of 4 inches
    assert [throw.z_mm / 25.4 for throw in job.crankshaft.throws] == pytest.approx([3.75, 7.75, 11.75])
    # half the chord over the radius is the sine of half the angle: asin(2.6/3.4) = 49.9 degrees
    assert tomllib.loads((folder / "three-crankshaft.toml").read_text())["counterweights"][0]["outline"][
        "half_angle"
    ] == pytest.approx(49.9)
    # 38 lb in kg (the international pound)
    assert job.crankshaft.mass_kg == pytest.approx(38 * 0.45359237)
    assert job.shop.drills_mm == pytest.approx([12.7, 14.2875, 15.875])
    assert {"three.toml", "three-crankshaft.toml", "shop.toml"} <= set(files(folder))


def test_a_file_that_is_there_is_never_written_over(page: Page, folder: Path) -> None:
    send(page)
    before = files(folder)
    send(page, title="another")
    assert page.status == 422
    assert "three.toml is there already" in page.text
    assert "another" in page.html
    assert files(folder) == before
    # a link that leads nowhere is a name that is taken, too
    (folder / "four.toml").symlink_to(folder / "nowhere.toml")
    send(page, file="four")
    assert page.status == 422
    assert not (folder / "nowhere.toml").exists()


def test_the_second_job_uses_the_first_ones_shop_and_crankshaft(page: Page, folder: Path) -> None:
    send(page)
    before = (folder / "shop.toml").read_bytes()
    page.get("/new")
    assert "three-crankshaft.toml" in page.text
    page.post(
        "/new",
        {
            "act": "make",
            "file": "four",
            "use_shop": "shop.toml",
            "use_crankshaft": "three-crankshaft.toml",
            "units": "in",
            "tolerance": "G 16",
        },
    )
    assert page.at.startswith("/job/four.toml/")
    used = tomllib.loads((folder / "four.toml").read_text())["use"]
    assert used == {"shop": "shop.toml", "crankshaft": "three-crankshaft.toml"}
    assert (folder / "shop.toml").read_bytes() == before
    assert not (folder / "four-crankshaft.toml").exists()


@pytest.mark.parametrize(
    "name",
    [
        "../three",
        "a/b",
        "a\\b",
        "..",
        ".hidden",
        "con",
        "x" * 200,
        "a\0b",
        "<script>alert(1)</script>",
        "a..b",
        "/etc/x",
    ],
)
def test_a_hostile_name_makes_nothing(page: Page, folder: Path, name: str) -> None:
    before, outside = files(folder), set(folder.parent.iterdir())
    send(page, file=name)
    assert page.status == 422
    assert "name of the file" in page.text
    assert "<script>alert" not in page.html
    assert files(folder) == before
    assert set(folder.parent.iterdir()) == outside
    send(page, act="keep", file=name)
    assert files(folder) == before
    assert set(folder.parent.iterdir()) == outside


@pytest.mark.parametrize(
    "named", ["../../etc/passwd", "cross_plane_v8/job.toml", "/etc/hosts", "nothing.toml"]
)
def test_only_finished_files_of_the_folder_can_be_begun_from(page: Page, folder: Path, named: str) -> None:
    before = files(folder)
    send(page, use_shop=named)
    assert page.status == 422
    assert "there is no shop file" in page.text
    assert files(folder) == before


def test_all_faults_at_once_and_nothing_lost(page: Page, folder: Path) -> None:
    before = files(folder)
    send(
        page,
        radius="-3",
        mass="heavy",
        counterweight_2_angle="sixty",
        tolerance="G x",
        drills="1/2 9/16 1 1/2x",
    )
    assert page.status == 422
    assert "5 boxes can't be taken as typed" in page.text
    for text in ("-3", "heavy", "sixty", "G x", "1/2 9/16 1 1/2x", "3 3/4"):
        assert f'value="{text}"' in page.html
    assert files(folder) == before


def test_script_texts_are_texts(page: Page, folder: Path) -> None:
    script = '"><script>alert(1)</script>'
    page.post("/new/look", dict.fromkeys(THREE, script) | {"counterweights": "2"})
    assert page.status == 200
    assert "<script>alert" not in page.html
    send(page, title=script, customer=script, crankshaft_number=script)
    assert page.at.startswith("/job/three.toml")
    assert "<script>alert" not in page.html
    assert tomllib.loads((folder / "three.toml").read_text())["job"]["title"] == script


def look(page: Page, **typed: str) -> Page:
    return page.post("/new/look", typed)


def test_what_is_typed_is_said_beside_its_box(page: Page) -> None:
    look(page, units="in", radius="x", layout="in-line 3", bearing_2_z="13 1/2", mass="24")
    said = re.search(r'id="say-radius".*?</div>', page.html, re.S)
    assert said is not None
    assert "wrongwords" in said[0]
    assert "read as 24 lb" in page.text


def test_unusual_sizes_are_asked_about(page: Page) -> None:
    look(page, units="mm", layout="in-line 3", radius="440")
    assert "Is that right?" in page.text or "wrongwords" in page.html


def test_the_drawing_grows(page: Page) -> None:
    look(page, layout="in-line 3")
    assert page.html.count('class="throw"') == 3
    assert 'class="tick"' not in page.html  # how the machine counts is not known yet
    look(page, layout="in-line 3", angle_direction="cw", viewed_from="rear")
    assert 'class="tick"' in page.html
    assert "seen from the rear" in page.html
    look(page, **THREE)
    assert page.html.count('class="body"') == 2 * 2  # each counterweight from the end and from the side
    assert "sideview" in page.html


def test_the_zero_is_drawn_where_it_was_said(page: Page) -> None:
    def place(**typed: str) -> tuple[float, float]:
        look(page, layout="in-line 3", rotation="ccw", angle_direction="ccw", viewed_from="front", **typed)
        found = re.search(r'<text class="number" x="([-\d.]+)" y="([-\d.]+)"[^>]*>0</text>', page.html)
        assert found is not None
        return float(found[1]), float(found[2])

    x, y = place(angle_zero="throw 1")
    assert x > 0
    assert y == pytest.approx(0.0, abs=0.01)
    x, y = place(angle_zero="90")  # a quarter turn counter-clockwise: at the top, where y is negative
    assert x == pytest.approx(0.0, abs=0.01)
    assert y < 0


def test_boxes_come_with_the_answers_that_want_them(page: Page) -> None:
    page.get("/new")
    assert 'id="counterweight_1_z"' not in page.html
    marks = dict(re.findall(r'name="(mark\.[\w-]+)" value="(\w+)"', page.html))
    page.post("/new/look", marks | {"counterweights": "2", "layout": "in-line 3", "amounts": "mass"})
    for key in ("counterweight_2_angle", "spacing", "left_radius"):
        assert f'id="{key}"' in page.html
    # boxes that stay are not sent again: what is being typed there is left alone
    assert 'id="bearing_2_z"' not in page.html or 'id="say-bearing_2_z"' in page.html
    assert not re.search(r'<input id="tolerance"', page.html)


def test_answers_are_kept_and_gone_on_with(page: Page, folder: Path) -> None:
    send(page, act="keep", radius="12x", tolerance="")
    assert page.at == "/"
    assert begun_names(Folder(folder)) == ("three",)
    assert "/new?go_on=three" in page.html
    page.get("/new?go_on=three")
    assert 'value="12x"' in page.html
    assert 'value="3 3/4"' in page.html
    form = page.form("/new")
    page.post("/new", [*form.filled(radius="1.75", tolerance="G 16"), ("act", "make")])
    assert page.at.startswith("/job/three.toml/")
    assert begun_names(Folder(folder)) == ()


def test_answers_of_the_command_are_gone_on_with_here(page: Page, folder: Path) -> None:
    keep_unfinished(
        folder / "five.toml", {"title": "Five", "units": "in", "layout": "in-line 3", "radius": None}
    )
    page.get("/")
    assert "/new?go_on=five" in page.html
    page.get("/new?go_on=five")
    assert 'value="Five"' in page.html
    assert page.html.count('class="throw"') == 3
    page.get("/new?go_on=../../five")
    assert page.status == 422
    page.get("/new?go_on=six")
    assert page.status == 422


def test_what_is_kept_is_what_was_read(page: Page, folder: Path) -> None:
    send(page, act="keep", radius="1,75", half_angle="chord 5,2", mass="38", bearing_2_z="far")
    kept = unfinished_answers(folder / "three.toml")
    assert (kept["radius"], kept["half_angle"], kept["mass"]) == ("1.75", "49.9", "38 lb")
    assert kept["bearing_2_z"] == "far"
    assert kept["customer"] is None


def test_a_job_from_finished_files_of_another_folder_is_drawn_and_made(page: Page, folder: Path) -> None:
    used = {
        "use_shop": "external_balance_v8/shop.toml",
        "use_crankshaft": "external_balance_v8/crankshaft.toml",
        "units": "in",
        "tolerance": "G 16",
        "file": "again",
    }
    look(page, **used)
    assert page.html.count('class="body"') == 2 * 4
    assert "seen from the front" in page.html
    page.post("/new", used | {"act": "make"})
    assert page.at.startswith("/job/again.toml/")
    assert len(load_job(folder / "again.toml").crankshaft.counterweights) == 4


def test_kept_answers_of_another_are_not_written_over(page: Page, folder: Path) -> None:
    send(page, act="keep")
    before = files(folder)
    send(page, act="keep", title="somebody else's")
    assert page.status == 422
    assert "wait already" in page.text
    assert files(folder) == before


def test_what_is_still_needed_is_said_and_nothing_made(page: Page, folder: Path) -> None:
    before = files(folder)
    page.post("/new", {"act": "make", "file": "bare", "units": "mm"})
    assert page.status == 422
    assert "still needed" in page.text
    assert "z of the rear bearing" in page.text
    assert files(folder) == before


def test_a_page_for_one_job_makes_no_others(folder: Path, planner: object) -> None:
    from starlette.testclient import TestClient

    from planner.bench.app import make_app
    from planner.bench.guard import Guard

    only = folder / "cross_plane_v8/job.toml"
    app = make_app(Folder(only.parent.resolve(), only=only.resolve()), planner)  # type: ignore[arg-type]
    client = TestClient(Guard(app, hosts=["127.0.0.1:8000"]), base_url="http://127.0.0.1:8000")
    page = Page(client)
    assert page.get("/new").status == 422
    page.post("/new", THREE | {"file": "three", "act": "make"})
    assert page.status == 422
    assert not (only.parent / "three.toml").exists()


def test_a_foreign_form_is_refused(page: Page, folder: Path) -> None:
    page.post("/new", THREE | {"file": "three", "act": "make"}, origin="http://evil.example")
    assert page.status == 403
    assert not (folder / "three.toml").exists()


@pytest.mark.parametrize(
    ("text", "one", "found"),
    [
        ("412,6", "decimal", "412.6"),
        ("412,6; 411,9", "decimal", "412.6; 411.9"),
        ("412,6 411,9", "decimal", "412.6 411.9"),
        ("412, 411, 409", "decimal", "412, 411, 409"),
        ("412,411,409", "decimal", "412,411,409"),
        ("10 12,5 14", "unclear", "10 12.5 14"),
        ("1/2, 9/16", "unclear", "1/2, 9/16"),
    ],
)
def test_lists_with_decimal_commas(text: str, one: str, found: str) -> None:
    assert list_with_points(text, name="weights", one=one) == found  # type: ignore[arg-type]


@pytest.mark.parametrize(("text", "one"), [("412,611", "decimal"), ("10,12", "unclear")])
def test_a_list_that_can_be_read_in_two_ways_is_asked_about(text: str, one: str) -> None:
    with pytest.raises(InputError, match="one number or two"):
        list_with_points(text, name="weights", one=one)  # type: ignore[arg-type]


def test_commas_inside_texts() -> None:
    assert with_points("20,5 oz*in at 180, z 54,5", name="damper") == "20.5 oz*in at 180, z 54.5"
    with pytest.raises(InputError, match=r"can be 1234 or 1\.234"):
        with_points("1,234 g*mm", name="tolerance")
