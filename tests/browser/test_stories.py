"""Whole stories in a real browser: what an operator taps, and what stands in the job's file afterwards."""

from __future__ import annotations

import contextlib
import random
import subprocess
import sys
import threading
from pathlib import Path
from typing import Any

import pytest
from browser.conftest import serve, watch

from planner.jobfile.read import load_job

V8 = "cross_plane_v8/job.toml"


def at(address: str, jobs: Path, job: str, part: str) -> str:
    return f"{address}/job/{jobs.name}/{job}/{part}"


def open_cut(tab: Any, address: str, jobs: Path, job: str = V8) -> None:
    tab.goto(at(address, jobs, job, "cut"))
    tab.locator("article.cut").wait_for(timeout=60_000)


def planned_again(tab: Any) -> None:
    """Wait until what was entered is said, and the rest is planned."""
    tab.locator(".box.good").wait_for(timeout=60_000)
    tab.locator(".foretold").wait_for(timeout=60_000)


def test_a_cut_came_out_deep_and_another_went_into_the_wrong_counterweight(
    tab: Any, address: str, jobs: Path
) -> None:
    open_cut(tab, address, jobs)
    tab.get_by_text("It came out otherwise").click()
    tab.locator("#stop").fill("29,5")
    tab.get_by_role("button", name="Enter it as it came out").click()
    planned_again(tab)
    job = load_job(jobs / V8)
    assert job.cuts_made[0].cut.depth_shoulder_mm == pytest.approx(29.5)
    # what is left is planned for the metal that is gone
    tab.locator("article.cut").wait_for()
    planned = job.stored_plan
    number = tab.locator("article.cut h2 b").inner_text()
    tab.get_by_text("It came out otherwise").click()
    tab.locator("#on").select_option("E")
    tab.get_by_role("button", name="Enter it as it came out").click()
    tab.get_by_text("nothing was entered").first.wait_for()
    assert len(load_job(jobs / V8).cuts_made) == 1
    tab.locator("article.cut").wait_for(timeout=60_000)
    tab.get_by_text("it really is so: enter it").first.click()
    tab.get_by_role("button", name="Enter it as it came out").click()
    planned_again(tab)
    made = load_job(jobs / V8).cuts_made[1]
    assert made.cut.counterweight == "E"
    assert str(made.number) == number
    assert planned is not None


def test_a_hole_is_dragged_and_its_depth_pulled(tab: Any, address: str, jobs: Path) -> None:
    tab.set_viewport_size({"width": 1280, "height": 1000})
    open_cut(tab, address, jobs)
    drawing = tab.locator("svg.underdrill")
    before = (
        float(tab.locator("#dialnow").inner_text().rstrip("°")),
        float(tab.locator("#stopnow").inner_text()),
    )
    hole = tab.locator("svg.underdrill .hole.now").bounding_box()
    x, y = hole["x"] + hole["width"] / 2, hole["y"] + hole["height"] / 2
    tab.mouse.move(x, y)
    tab.mouse.down()
    # to the left on the screen, away from the drill: the machine counts counter-clockwise, seen from the front
    tab.mouse.move(x - 30, y - 12, steps=5)
    shown = (
        float(tab.locator("#dialnow").inner_text().rstrip("°")),
        float(tab.locator("#stopnow").inner_text()),
    )
    assert drawing.locator(".ghost").count() == 1
    tab.mouse.up()
    tab.get_by_text("What if: pinned").wait_for(timeout=60_000)
    assert shown[0] > before[0]
    assert shown[1] < before[1]
    tab.get_by_role("button", name="Take this plan").click()
    tab.get_by_role("button", name="Made as shown").wait_for(timeout=60_000)
    job = load_job(jobs / V8)
    assert job.stored_plan is not None
    pinned = next(step for step in job.stored_plan.steps if step.pinned)
    assert job.machine.dial_deg(pinned.cut.angle_deg) == pytest.approx(shown[0])
    assert pinned.cut.depth_shoulder_mm == pytest.approx(shown[1])


def test_two_tabs_and_a_command(tab: Any, browser: Any, address: str, jobs: Path) -> None:
    open_cut(tab, address, jobs)
    other = browser.new_context().new_page()
    faults: list[str] = []
    watch(other, address, faults)
    open_cut(other, address, jobs)
    tab.get_by_role("button", name="Made as shown").click()
    planned_again(tab)
    other.get_by_role("button", name="Made as shown").click()
    other.get_by_text("this job was changed meanwhile: a cut was entered").wait_for()
    assert len(load_job(jobs / V8).cuts_made) == 1
    # a command enters the next one while a tab shows it
    subprocess.run(
        [sys.executable, "-m", "planner", "done", "2", "--job", str(jobs / V8)],
        check=True,
        capture_output=True,
    )
    tab.get_by_role("button", name="Made as shown").click()
    tab.get_by_text("this job was changed meanwhile: a cut was entered").wait_for()
    job = load_job(jobs / V8)
    assert [made.number for made in job.cuts_made] == [1, 2]
    other.context.close()
    assert not faults, faults


def test_by_the_keyboard_alone(tab: Any, address: str, jobs: Path) -> None:
    tab.goto(at(address, jobs, V8, "spin"))
    tab.keyboard.press("Tab")
    assert tab.evaluate("document.activeElement.className") == "skip"
    tab.keyboard.press("Enter")
    for _ in range(40):
        tab.keyboard.press("Tab")
        if tab.evaluate("document.activeElement.id") == "left_amount":
            break
    for number in ("3490", "214", "2900", "33"):
        tab.keyboard.type(number)
        tab.keyboard.press("Tab")
    tab.get_by_role("button", name="Yes, the heavy spot is there").wait_for()
    for _ in range(40):
        name = tab.evaluate("document.activeElement.name + '=' + document.activeElement.value")
        if name == "cut=yes":
            tab.keyboard.press("ArrowDown")
        if name == "as_read=yes":
            tab.keyboard.press(" ")
        if name == "there=yes":
            break
        tab.keyboard.press("Tab")
    tab.keyboard.press("Enter")
    tab.wait_for_url("**/cut**")
    spin = load_job(jobs / V8).spins[-1]
    assert (spin.left.amount, spin.left.angle_deg) == (3490.0, 214.0)


def test_a_slow_press_is_a_press(tab: Any, address: str, jobs: Path) -> None:
    """Leaving the last box asks again what the numbers mean; the answer comes while the button is held down."""
    tab.goto(at(address, jobs, V8, "spin"))
    for box, number in (
        ("left_amount", "3490"),
        ("left_angle", "214"),
        ("right_amount", "2900"),
        ("right_angle", "33"),
    ):
        tab.locator(f"#{box}").fill(number)
    yes = tab.get_by_role("button", name="Yes, the heavy spot is there")
    yes.wait_for()
    for name in ("cut", "as_read"):
        tick = tab.locator(f"input[name={name}]")
        if tick.count():
            tick.last.check()
    tab.wait_for_load_state("networkidle")

    def held_down(angle: str) -> None:
        """Type the last number, and hold the button until its answer has come."""
        tab.locator("#right_angle").fill(angle)
        tab.locator("#look").get_by_text(f"heavy at {angle}°").wait_for()
        yes.hover()
        with tab.expect_response("**/spin/look"):
            tab.mouse.down()
        tab.wait_for_timeout(200)

    # let go beside the button: nothing is entered, and what came meanwhile is shown
    held_down("34")
    tab.mouse.move(1, 1)
    with tab.expect_response("**/spin/look"):
        tab.mouse.up()
    assert len(load_job(jobs / V8).spins) == 1
    tab.wait_for_load_state("networkidle")
    # and on the button: it is entered
    held_down("33")
    tab.mouse.up()
    tab.wait_for_url("**/cut**")
    assert load_job(jobs / V8).spins[-1].right.angle_deg == 33.0


def test_the_keypad_types_for_gloves(browser: Any, address: str, jobs: Path) -> None:
    context = browser.new_context(viewport={"width": 390, "height": 844}, has_touch=True, is_mobile=True)
    tab = context.new_page()
    faults: list[str] = []
    watch(tab, address, faults)
    tab.goto(at(address, jobs, V8, "spin"))
    tab.locator("#left_amount").tap()
    for key in ("3", "4", "8", "1", "delete", "0", ",", "5"):
        tab.get_by_role("button", name=key, exact=True).tap()
    tab.get_by_role("button", name="next box").tap()
    for key in ("2", "1", "4"):
        tab.get_by_role("button", name=key, exact=True).tap()
    assert tab.locator("#left_amount").input_value() == "3480,5"
    assert tab.locator("#left_angle").input_value() == "214"
    tab.get_by_role("button", name="close the keypad").tap()
    assert not tab.locator("#pad").is_visible()
    # nothing is wider than the screen, and what is tapped is large enough
    assert tab.evaluate("document.documentElement.scrollWidth") <= 390
    small = tab.evaluate(
        "[...document.querySelectorAll('a, button, input:not([type=hidden]), select, summary')].filter(e => e.offsetParent && "
        "!e.closest('.hidden')).map(e => [(e.closest('label.tick') || e).getBoundingClientRect(), e.outerHTML.slice(0, 60)])"
        ".filter(([r, h]) => r.height < 44 && r.x >= 0 && !h.includes('skip')).map(([r, h]) => h)"
    )
    assert small == []
    context.close()
    assert not faults, faults


@pytest.mark.parametrize("part", ["spin", "cut", "judge", "parts", "shop", "shop/prove", "quote"])
@pytest.mark.parametrize("colours", ["light", "dark"])
def test_axe_finds_nothing(browser: Any, address: str, jobs: Path, part: str, colours: str) -> None:
    """Rules of WCAG 2 A and AA by axe-core (Deque Systems, MPL 2.0), the engine that comes with axe-playwright-python."""
    from axe_playwright_python.sync_playwright import Axe

    # the page's own policy lets no foreign script in; this one is put in from outside
    context = browser.new_context(
        viewport={"width": 820, "height": 1180}, color_scheme=colours, bypass_csp=True
    )
    tab = context.new_page()
    tab.goto(at(address, jobs, V8, part))
    if part in ("cut", "quote"):
        tab.wait_for_function("!document.querySelector('[data-stream]')", timeout=120_000)
    found = Axe().run(tab)
    assert found.violations_count == 0, found.generate_report()
    context.close()


@pytest.mark.parametrize("part", ["parts", "spin", "cut", "judge", "shop", "shop/prove", "quote", "new"])
def test_nothing_is_wider_than_the_screen(tab: Any, address: str, jobs: Path, part: str) -> None:
    """On a telephone as it is, and on a tablet with letters of twice the size."""
    tab.goto(f"{address}/new" if part == "new" else at(address, jobs, V8, part))
    tab.locator("[data-stream]").wait_for(state="detached", timeout=120_000)
    tab.set_viewport_size({"width": 390, "height": 844})
    assert tab.evaluate("document.documentElement.scrollWidth") <= 390
    tab.set_viewport_size({"width": 820, "height": 1180})
    tab.evaluate("document.documentElement.style.fontSize = '225%'")
    assert tab.evaluate("document.documentElement.scrollWidth") <= 821


def test_the_server_is_killed_while_it_writes(browser: Any, jobs: Path) -> None:
    """Every entry that was acknowledged is in the file, whenever the server died."""
    chance = random.Random(7)
    acknowledged = 1
    for _ in range(5):
        process, link = serve(jobs)
        killer = threading.Timer(chance.uniform(0.6, 2.5), process.kill)
        killer.start()
        tab = browser.new_page()
        # what the browser says of a server that is gone is not what is tested
        with contextlib.suppress(Exception):
            for number in range(20):
                tab.goto(f"{link.rstrip('/')}/job/{V8}/spin", timeout=4000)
                typed = {
                    "left_amount": 3480 + number,
                    "left_angle": 214,
                    "right_amount": 2910,
                    "right_angle": 33,
                }
                for box, value in typed.items():
                    tab.locator(f"#{box}").fill(str(value))
                tab.get_by_text("nothing was changed since the spin before").click()
                tab.get_by_role("button", name="Yes, the heavy spot is there").click(timeout=4000)
                tab.wait_for_url("**/cut**", timeout=4000)
                acknowledged += 1
        killer.join()
        process.wait(10)
        assert process.stdout is not None
        process.stdout.close()
        tab.close()
        there = len(load_job(jobs / V8).spins)
        assert there >= acknowledged
        acknowledged = there
