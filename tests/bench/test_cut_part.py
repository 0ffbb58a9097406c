"""Cut: the numbers of the plan, entered by a tap or as they came out, planned otherwise by a wish, taken back."""

from __future__ import annotations

import dataclasses
import json
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from bench.test_spin_part import planned, without_proof
from bench_pages import Page
from entering import add_made_cut

from planner.bench import cut_part
from planner.bench.page import Call
from planner.jobfile.read import load_job
from planner.steps.done import made_cut
from planner.steps.plan_answer import PlanAnswer

JOB = "cross_plane_v8/job.toml"
CUT = f"/job/{JOB}/cut"


def numbers(page: Page) -> tuple[str, str]:
    """Return what stands large: the number on the dial and the one on the stop."""
    found = dict(re.findall(r'<b id="(dial|stop)now"[^>]*>([^<]+)</b>', page.html))
    return found["dial"], found["stop"]


def test_the_page_and_the_command_say_the_same(page: Page, folder: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "planner", "plan", "--no-store", "--json", str(folder / JOB)],
        capture_output=True,
        check=True,
    )
    steps = json.loads(done.stdout)["steps"]
    planned(page)
    for step in steps:
        planned(page, f"{CUT}?card={step['number']}")
        dial, stop = numbers(page)
        assert float(dial.rstrip("°")) == pytest.approx(step["dial_deg"])
        assert float(stop) == pytest.approx(step["stop_mm"])


def test_a_tap_enters_the_cut_as_planned_and_the_rest_is_planned_again(page: Page, folder: Path) -> None:
    planned(page).submit("/cut")
    assert page.status == 200
    job = load_job(folder / JOB)
    assert [made.number for made in job.cuts_made] == [1]
    assert job.stored_plan is not None
    assert job.cuts_made[0].cut == job.stored_plan.steps[0].cut
    planned(page)
    assert "Cut since the newest spin" in page.text
    assert page.form("/cut").filled()[1] == ("step", "2")


def test_a_cut_that_came_out_deep(page: Page, folder: Path) -> None:
    planned(page).submit("/cut", having="stop", stop="29,5")
    job = load_job(folder / JOB)
    assert job.cuts_made[0].cut.depth_shoulder_mm == pytest.approx(29.5)
    assert "29.5 mm on the stop" in planned(page).text


def test_a_depth_that_looks_like_a_slip_is_asked_about(page: Page, folder: Path) -> None:
    planned(page).submit("/cut", having="stop", stop="2.85")
    assert page.status == 422
    assert not load_job(folder / JOB).cuts_made
    assert "nothing was entered" in page.text


def test_a_cut_in_the_wrong_counterweight(page: Page, folder: Path) -> None:
    planned(page).submit("/cut", having="stop", on="B", dial="175")
    assert page.status == 422
    assert "the plan has this cut on A, not on B" in page.text
    page.submit("/cut", having="stop", on="B", dial="175", yes="yes")
    job = load_job(folder / JOB)
    assert job.cuts_made[0].cut.counterweight == "B"
    assert job.cuts_made[0].step == 1


def test_a_cut_that_no_plan_had(page: Page, folder: Path) -> None:
    planned(page)
    forms = page.html.count('name="kind"')
    assert forms == 1
    seen = dict(page.form("/cut").fields)["seen"]
    page.post(CUT, {"seen": seen, "kind": "rim", "on": "F", "dial": "20", "drill": "12 mm", "stop": "10"})
    assert page.status == 200
    made = load_job(folder / JOB).cuts_made[0]
    assert (made.cut.counterweight, made.step) == ("F", None)


def test_unproved_settings_are_asked_about_once(page: Page, folder: Path) -> None:
    without_proof(folder)
    page.get(CUT).submit("/cut/confirm")
    planned(page).submit("/cut")
    assert page.status == 422
    assert "SETTINGS NOT PROVED" in page.text
    assert not load_job(folder / JOB).cuts_made
    planned(page).submit("/cut", unproved="yes")
    assert load_job(folder / JOB).cut_unproved
    planned(page).submit("/cut")
    assert len(load_job(folder / JOB).cuts_made) == 2


def test_two_taps_enter_one_cut(page: Page, folder: Path) -> None:
    planned(page)
    form = page.form("/cut")
    page.post(CUT, form.filled())
    page.post(CUT, form.filled())
    assert page.status == 409
    assert "a cut was entered" in page.text
    assert len(load_job(folder / JOB).cuts_made) == 1


def test_a_command_between_is_seen(page: Page, folder: Path) -> None:
    planned(page)
    form = page.form("/cut")
    job = load_job(folder / JOB)
    add_made_cut(folder / JOB, made_cut(job, 2))
    page.post(CUT, form.filled())
    assert page.status == 409
    assert [made.number for made in load_job(folder / JOB).cuts_made] == [2]


def test_a_wish_plans_otherwise_and_stores_nothing(page: Page, folder: Path) -> None:
    planned(page)
    before = (folder / JOB).read_bytes()
    planned(page, f"{CUT}?forbid=A&greatest_depth=20,5")
    assert "left alone: A" in page.text
    assert "greatest depth: 20.5 mm" in page.text
    assert "by the files" in page.text
    assert 'name="step"' not in page.html
    assert (folder / JOB).read_bytes() == before
    page.submit("/cut/take")
    plan = load_job(folder / JOB).stored_plan
    assert plan is not None
    assert all(step.cut.counterweight != "A" for step in plan.steps)
    assert plan.wish[0] == "left alone: A"


def test_a_hole_that_was_dragged_stays_where_it_was_put(page: Page, folder: Path) -> None:
    planned(page)
    planned(page, f"{CUT}?pin_label=1&pin_on=A&pin_drill=16+mm&pin_dial=220&pin_depth=20")
    assert "rim hole on A at 220 on the dial" in page.text
    assert numbers(page) == ("220°", "20.0")
    page.submit("/cut/take")
    plan = load_job(folder / JOB).stored_plan
    assert plan is not None
    assert any(step.pinned for step in plan.steps)


@pytest.mark.parametrize(
    "wrong",
    [
        "forbid=Z",
        "drill=7",
        "greatest_depth=deep",
        "greatest_depth=0.1",
        "heavy_metal=gold",
        "fix=nonsense",
        "pin_label=1&pin_on=A&pin_drill=16&pin_dial=x&pin_depth=3",
        "pin_label=1",
        "pin_label=1&pin_was=x&fix=16+mm+at+220+on+A&pin_on=A&pin_drill=16+mm&pin_dial=3&pin_depth=3",
    ],
)
def test_a_wish_that_can_t_be_read_is_said(page: Page, wrong: str) -> None:
    planned(page, f"{CUT}?{wrong}")
    assert 'role="alert"' in page.html or "drills: " in page.text


def test_undo_and_put_back(page: Page, folder: Path) -> None:
    planned(page).submit("/cut")
    planned(page).submit("/undo")
    assert not load_job(folder / JOB).cuts_made
    planned(page).submit("/redo")
    assert [made.number for made in load_job(folder / JOB).cuts_made] == [1]
    stale = page.form("/undo") if page.has_form("/undo") else None
    planned(page)
    stale = page.form("/undo")
    page.post(f"/job/{JOB}/undo", stale.filled())
    page.post(f"/job/{JOB}/undo", stale.filled())
    assert page.status == 409
    assert len(load_job(folder / JOB).spins) == 1


def test_units_the_other_way_are_for_looking_only(page: Page, folder: Path) -> None:
    planned(page)
    page.submit("/units")
    planned(page)
    assert "1.122" in page.html
    assert 'name="stop" value="28.5"' in page.html
    page.submit("/cut", having="stop")
    assert load_job(folder / JOB).cuts_made[0].cut.depth_shoulder_mm == pytest.approx(28.5)


def test_news_of_the_search_end_with_it(page: Page) -> None:
    page.get(f"/job/{JOB}/cut/news?forbid=B")
    assert page.status == 200
    assert "event: text" in page.html
    assert page.html.rstrip().endswith('data: ""')


def test_judge_and_papers(page: Page) -> None:
    page.get(f"/job/{JOB}/judge")
    assert "out of tolerance" in page.text
    assert "Chance that it is truly inside" in page.text
    planned(page)
    for paper in ("sheet", "record", "strip"):
        answer = page.client.get(f"/job/{JOB}/{paper}.pdf")
        assert answer.status_code == 200
        assert answer.content[:5] == b"%PDF-"
    assert page.get(f"/job/{JOB}/nothing.pdf").status == 422


def test_the_list_of_jobs(page: Page, folder: Path) -> None:
    (folder / "faulty.toml").write_text("format = 1\n[[spins]]\nbobs = 3\n")
    page.get("/")
    for key in ("cross_plane_v8/job.toml", "external_balance_v8/job.toml", "faulty.toml"):
        assert key in page.html
    assert "shop.toml" not in page.html
    assert "Cross-plane V8" in page.get("/row/cross_plane_v8/job.toml").text
    assert "can't be read" in page.get("/row/faulty.toml").text
    assert page.get("/job/faulty.toml/spin").status == 422
    assert "faults in the files" in page.text or "fault in the files" in page.text


def test_the_cut_that_was_refused_is_the_one_shown(page: Page, folder: Path) -> None:
    planned(page, f"{CUT}?card=2").submit("/cut", having="stop", dial="123", stop="9,9")
    assert page.status == 422
    assert numbers(page) == ("33°", "22.5")
    assert dict(page.form("/cut", having="stop").fields)["dial"] == "123"
    # what stands in the boxes beside it is not what "as shown" means
    page.submit("/cut", having="as")
    made = load_job(folder / JOB).cuts_made[0]
    assert (made.number, made.cut.counterweight) == (2, "F")
    assert made.cut.depth_shoulder_mm == pytest.approx(22.5)


def test_what_was_typed_is_there_after_a_conflict(page: Page, folder: Path) -> None:
    planned(page)
    form = page.form("/cut", having="stop")
    job = load_job(folder / JOB)
    add_made_cut(folder / JOB, made_cut(job, 2))
    page.post(f"{CUT}?card=1", form.filled(stop="29,25"))
    assert page.status == 409
    assert 'value="29,25"' in page.html


def test_a_drag_keeps_the_other_wishes_and_moves_the_same_hole(page: Page) -> None:
    planned(page, f"{CUT}?forbid=E&fix=16+mm+at+220+on+A,+depth+20")
    form = page.form("/cut", method="get", having="pin_label")
    assert ("forbid", "E") in form.fields
    page.submit("/cut", method="get", having="pin_label", pin_dial="222")
    assert page.query.count("fix=") == 1
    assert "forbid=E" in page.query
    assert "at+222+on+A" in page.query


def test_addresses_that_only_forms_go_to_lead_back(page: Page) -> None:
    for part in ("cut/confirm", "cut/take", "cut/settle", "undo", "redo", "spin/look"):
        assert page.get(f"/job/{JOB}/{part}").status == 200
    planned(page)
    form = page.form("/undo")
    page.post(f"/job/{JOB}/undo", form.filled(of="spin:9"))
    assert page.status == 422
    assert f'name="back" value="/job/{JOB}/judge"' in page.html


def test_a_drill_with_a_comma_is_read(page: Page, folder: Path) -> None:
    planned(page)
    seen = dict(page.form("/cut").fields)["seen"]
    page.post(CUT, {"seen": seen, "kind": "rim", "on": "F", "dial": "20,5", "drill": "12,0", "stop": "10,5"})
    made = load_job(folder / JOB).cuts_made[0]
    assert made.cut.diameter_mm == pytest.approx(12.0)


def test_a_rim_that_is_turned_is_a_card_too(page: Page, folder: Path) -> None:
    path = folder / JOB
    path.write_text(re.sub(r"(?m)^cuts = .*$", 'cuts = ["rim turning"]', path.read_text()))
    assert 'cuts = ["rim turning"]' in path.read_text()
    planned(page)
    assert page.status == 200
    assert "rim turning on" in page.text
    before = dict(page.form("/cut", having="sector").fields)
    page.submit("/cut", having="sector", sector=f"{float(before['sector']) + 1:g}", yes="yes")
    assert page.status == 200
    made = load_job(folder / JOB).cuts_made[0].cut
    assert made.kind == "rim turning"
    assert made.sector_deg == pytest.approx(float(before["sector"]) + 1)


def test_a_plan_of_fewer_cuts_with_heavy_metal_is_told_beside_the_wishes(
    page: Page, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = cut_part._plan

    def with_fewer(call: Call, answer: PlanAnswer, warnings: tuple[str, ...]) -> dict[str, Any]:
        heavy = dataclasses.replace(answer.heavy_metal, fewer=5)
        return real(call, dataclasses.replace(answer, heavy_metal=heavy), warnings)

    assert "met on the way" not in planned(page).text
    monkeypatch.setattr(cut_part, "_plan", with_fewer)
    text = planned(page).text
    assert (
        "A plan of 5 cuts with heavy metal was met on the way: “allowed” under heavy metal looks for the best."
        in text
    )
    assert "was met on the way, heavy metal under “Plan it otherwise” looks for the best" in text
    assert "--heavy-metal" not in text
