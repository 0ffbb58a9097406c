"""Weights typed and pasted, sliders moved by the keyboard, in a real browser; parts and quote on a phone."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from planner.jobfile.read import load_job

V8 = "cross_plane_v8/job.toml"
EXTERNAL = "external_balance_v8/job.toml"
_PASTE = """([id, text]) => {
    const data = new DataTransfer();
    data.setData("text", text);
    document.getElementById(id).dispatchEvent(
        new ClipboardEvent("paste", { clipboardData: data, bubbles: true, cancelable: true }));
}"""


def at(address: str, jobs: Path, job: str, part: str) -> str:
    return f"{address}/job/{jobs.name}/{job}/{part}"


def test_weights_are_pasted_typed_down_and_saved(tab: Any, address: str, jobs: Path) -> None:
    tab.goto(at(address, jobs, V8, "parts"))
    # two columns with heads and decimal commas, as a spreadsheet copies them; pins had one weight for all
    rows = ["piston\tpin", *(f"{412 + place},5\t{118 + place / 10}".replace(".", ",") for place in range(8))]
    tab.evaluate(_PASTE, ["w_0_0", "\r\n".join(rows)])
    tab.locator("#off_0_7", has_text="take off 7").wait_for()
    assert tab.locator("#off_0_0").inner_text() == "lightest"
    assert tab.locator("#pasted").inner_text() == "16 weights pasted"
    assert tab.locator("#w_1_7").input_value() == "118,7"
    assert not tab.locator('[name="alike.pin"]').is_checked()
    # typed down the column: Enter goes to the next box
    tab.locator("#w_0_6").fill("412,6")
    tab.locator("#w_0_6").press("Enter")
    tab.keyboard.type("412.5")
    tab.locator("#off_0_7", has_text="leave").wait_for()
    tab.get_by_role("button", name="Save as weighed").click()
    tab.locator(".box.good", has_text="Saved: the weights as weighed.").wait_for()
    parts = load_job(jobs / V8).parts
    assert parts is not None
    piston, pin = parts.named("piston"), parts.named("pin")
    assert piston is not None
    assert pin is not None
    assert piston.masses_g == (412.5, 413.5, 414.5, 415.5, 416.5, 417.5, 412.6, 412.5)
    assert pin.masses_g == pytest.approx([118.0 + place / 10 for place in range(8)])


def test_a_slider_by_the_keyboard_moves_bob_reading_and_heavy_metal(
    tab: Any, address: str, jobs: Path
) -> None:
    tab.goto(at(address, jobs, EXTERNAL, "parts"))
    assert "Needed, or another way" in tab.locator("#then").inner_text()
    slider = tab.locator("#range1")
    slider.focus()
    before = tab.locator("#then").inner_text()
    slider.press("Home")
    tab.locator("#then", has_not_text="Needed").wait_for()
    assert float(tab.locator("#slide1").input_value()) < -200
    assert tab.locator("#then").inner_text() != before
    # the box moves the slider too
    tab.locator("#slide1").fill("-10,5")
    tab.locator("#then", has_text="2207.5 g").wait_for()
    assert abs(float(slider.input_value()) + 10.5) < 3.0
    tab.get_by_role("link", name="Ways and prices with this bob").click()
    tab.wait_for_url("**/quote?bob=2207.5")
    assert tab.locator("#bob").input_value() == "2207.5"


@pytest.mark.parametrize("part", ["parts", "quote"])
def test_on_a_phone(tab: Any, address: str, jobs: Path, part: str) -> None:
    tab.set_viewport_size({"width": 390, "height": 800})
    tab.goto(at(address, jobs, EXTERNAL, part))
    tab.locator("main form").last.wait_for()
    if part == "quote":
        tab.locator(".option").first.wait_for(timeout=120_000)
    assert tab.evaluate("document.documentElement.scrollWidth") <= 390
    small = tab.evaluate(
        "[...document.querySelectorAll('a, button, input:not([type=hidden]), select, summary')].filter(e => e.offsetParent && "
        "!e.closest('.hidden')).map(e => [(e.closest('label.tick') || e).getBoundingClientRect(), e.outerHTML.slice(0, 60)])"
        ".filter(([r, h]) => r.height < 44 && r.x >= 0 && !h.includes('skip')).map(([r, h]) => h)"
    )
    assert small == []


def test_parts_chosen_from_the_shelf(tab: Any, address: str, jobs: Path) -> None:
    tab.goto(at(address, jobs, V8, "parts"))
    tab.get_by_text("More parts lie on the shelf than are needed").click()
    shelf = "\n".join(f"P{number}\t{400 + number},5" for number in range(10))
    tab.locator("#stock").fill("part\tpiston_g\n" + shelf)
    tab.get_by_role("button", name="Choose the sets with the least grinding").click()
    tab.locator("#working", has_text="Working on it").wait_for()  # it takes seconds, and says so
    tab.locator("#paired").wait_for()
    assert tab.locator("#working").is_hidden()
    assert "FROM STOCK" in tab.locator("#paired").inner_text()
    tab.get_by_role("button", name="Save as they are after grinding in these sets").click()
    tab.locator(".box.good", has_text="Saved").wait_for()
    parts = load_job(jobs / V8).parts
    assert parts is not None
    piston = parts.named("piston")
    assert piston is not None
    # the eight lightest of the ten, ground to match: none is heavier than it was on the shelf
    assert max(piston.masses_g) < 408.0


def test_wishes_of_the_shop_by_the_keyboard(tab: Any, address: str, jobs: Path) -> None:
    tab.goto(at(address, jobs, EXTERNAL, "shop"))
    group = tab.locator("summary", has_text="What a plan may do")
    group.focus()
    group.press("Enter")
    box = tab.get_by_role("group", name="counterweights that stay as they are").get_by_label("rear")
    box.focus()
    box.press("Space")
    assert box.is_checked()
    tab.get_by_role("button", name="Write it into").last.click()
    tab.locator(".box.good", has_text="Written into").wait_for()
    assert load_job(jobs / EXTERNAL).shop.forbid == ("rear",)
