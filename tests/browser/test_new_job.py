"""New job while it is typed, in a real browser: no keystroke is lost to an answer that comes late, boxes come and go."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest


def test_it_grows_while_it_is_typed(tab: Any, address: str, root: Path) -> None:
    tab.goto(f"{address}/new")
    tab.locator("#layout").select_option("in-line 3")
    tab.locator("#spacing").wait_for()
    assert tab.locator("#draft .throw").count() == 3
    # faster than the server answers: every letter stays, and so does the place where one types
    tab.locator("#radius").press_sequentially("44,25 mm", delay=60)
    tab.locator("#say-radius", has_text="read as 44.25 mm").wait_for()
    assert tab.locator("#radius").input_value() == "44,25 mm"
    assert tab.evaluate("document.activeElement.id") == "radius"
    tab.locator("#first_throw_z").fill("95")
    tab.locator("#spacing").fill("110")
    tab.locator("#counterweights").press_sequentially("2")
    tab.locator("#counterweight_2_z").wait_for()
    assert tab.evaluate("document.activeElement.id") == "counterweights"
    # what was typed into boxes of a block that came anew is still there
    tab.locator("#counterweight_1_z").fill("52")
    tab.locator("#counterweights").fill("3")
    tab.locator("#counterweight_3_z").wait_for()
    assert tab.locator("#counterweight_1_z").input_value() == "52"
    # a proposal is taken by a tap: opposite the nearest throw, which stands at 0
    tab.locator("#say-counterweight_1_angle button").click()
    assert tab.locator("#counterweight_1_angle").input_value() == "180"
    # Enter goes on to the next box and makes no job
    tab.locator("#counterweight_1_z").press("Enter")
    assert tab.evaluate("document.activeElement.id") == "counterweight_1_angle"
    assert tab.url.endswith("/new")
    tab.locator("#bearing_2_z").fill("wide")
    tab.locator("#newsum", has_text="Can't be taken as typed").wait_for()
    tab.locator("#bearing_2_z").fill("13 1/2 in")
    tab.locator("#newsum .box.bad").wait_for(state="detached")


def test_a_finished_crankshaft_takes_its_questions_away(tab: Any, address: str, jobs: Path) -> None:
    tab.goto(f"{address}/new")
    tab.locator("#title").fill("A second one")
    tab.locator("#use_crankshaft").select_option(f"{jobs.name}/external_balance_v8/crankshaft.toml")
    tab.locator("#layout").wait_for(state="detached")
    assert tab.locator("#title").input_value() == "A second one"
    assert tab.locator("#draft .body").count() == 2 * 4


@pytest.mark.parametrize("colours", ["light", "dark"])
def test_axe_finds_nothing_here_and_in_the_walk_through(
    browser: Any, address: str, jobs: Path, colours: str
) -> None:
    """As in `test_stories.py`: with answers that are wrong, and with the walk-through's boxes open."""
    from axe_playwright_python.sync_playwright import Axe

    context = browser.new_context(
        viewport={"width": 390, "height": 844}, color_scheme=colours, bypass_csp=True
    )
    tab = context.new_page()
    tab.goto(f"{address}/new")
    tab.locator("#layout").select_option("in-line 3")
    tab.locator("#spacing").fill("x")
    tab.locator("#say-spacing .wrongwords").wait_for()
    found = Axe().run(tab)
    assert found.violations_count == 0, found.generate_report()
    assert tab.evaluate("document.documentElement.scrollWidth") <= 390
    tab.goto(f"{address}/job/{jobs.name}/external_balance_v8/job.toml/shop/prove")
    tab.get_by_text("Another place, mass or radius").click()
    found = Axe().run(tab)
    assert found.violations_count == 0, found.generate_report()
    assert tab.evaluate("document.documentElement.scrollWidth") <= 390
    context.close()
