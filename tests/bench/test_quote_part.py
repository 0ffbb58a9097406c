"""Quote: the decision sheet inside the page, by the same steps as `bobplan quote --decide`, with its own numbers to ask with."""

from __future__ import annotations

import dataclasses
import re
import shutil
import time
from pathlib import Path

import pytest
from bench.conftest import ADDRESS, EXAMPLES
from bench_pages import Page
from starlette.testclient import TestClient

from planner.bench.app import make_app
from planner.bench.folder import Folder
from planner.bench.guard import Guard
from planner.bench.planning import Asked, Planner
from planner.jobfile.read import load_job
from planner.present.pages.decision import decision_content
from planner.steps.decision import decision_of
from planner.steps.quote import priced, quote_of

JOB = "external_balance_v8/job.toml"
QUOTE = f"/job/{JOB}/quote"
PRICES = "labour_per_hour=90&slug_price.22.225+mm=44,5&slug_price.19.05+mm=31"


def worked_out(page: Page, address: str = QUOTE) -> Page:
    """Return the page when the quote is there."""
    for _ in range(240):
        page.get(address)
        if 'id="news"' not in page.html:
            return page
        time.sleep(0.2)
    raise AssertionError("no quote in two minutes")


def ways(page: Page) -> list[str]:
    """Return the cards as text, a line each."""
    return [" ".join(piece.split()) for piece in page.html.split('<section class="option')[1:]]


@pytest.fixture(scope="module")
def jobs(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder for all questions that write nothing, with an example of few drills and slugs: quick to work out."""
    root = tmp_path_factory.mktemp("quotes") / "jobs"
    shutil.copytree(EXAMPLES, root, ignore=shutil.ignore_patterns("notebooks", "*.png"))
    shop = root / JOB.replace("job.toml", "shop.toml")
    text = shop.read_text().replace('["1/2 in", "5/8 in", "3/4 in"]', '["3/4 in"]')
    text = text.replace('["5/8 in", "3/4 in", "7/8 in", "1 in"]', '["3/4 in", "7/8 in"]')
    shop.write_text(text.replace("angle_step = 1", "angle_step = 5"))
    return root


@pytest.fixture(scope="module")
def shared(jobs: Path, planner: Planner) -> TestClient:
    app = Guard(make_app(Folder(jobs.resolve()), planner), hosts=["127.0.0.1:8000"])
    return TestClient(app, base_url=ADDRESS, raise_server_exceptions=False)


@pytest.fixture
def page(shared: TestClient) -> Page:
    shared.cookies.clear()
    return Page(shared)


def test_the_page_says_what_the_command_says(page: Page, jobs: Path) -> None:
    job = load_job(jobs / JOB)
    shop = priced(job.shop, labour_per_hour=90.0, slug_price={22.225: 44.5, 19.05: 31.0})
    content = decision_content(decision_of(quote_of(dataclasses.replace(job, shop=shop), seconds=60.0)))
    worked_out(page, f"{QUOTE}?{PRICES}")
    assert page.status == 200
    assert content.need in page.text
    cards = ways(page)
    assert len(cards) == len(content.ways) >= 4
    for way in content.ways:
        assert way.name in page.text
        assert way.price in page.text
        for line in (*way.lines, way.chance):
            assert " ".join(line.split()) in " ".join(page.text.split())
    # the prices that were typed are in it, and the slugs have one
    metal = next(way for way in content.ways if way.name.startswith("Heavy metal"))
    words = " ".join(metal.lines)
    pieces = {size: sum(map(int, re.findall(rf"(\d+) x {size} in", words))) for size in ("7/8", "3/4")}
    minutes = float(re.findall(r"([\d.]+) minutes at the press", words)[0])
    assert sum(pieces.values()) >= 2
    assert float(metal.price) == pytest.approx(
        44.5 * pieces["7/8"] + 31.0 * pieces["3/4"] + 90.0 * minutes / 60.0
    )
    assert "<form" in page.html
    assert 'value="44,5"' in page.html


def test_other_units_are_a_matter_of_showing(page: Page) -> None:
    worked_out(page, f"{QUOTE}?{PRICES}")
    assert "oz·in" in page.text
    page.client.post("/units", data={"back": QUOTE}, headers={"origin": "http://127.0.0.1:8000"})
    worked_out(page, f"{QUOTE}?{PRICES}")
    assert "g·mm" in page.text
    assert "oz·in" not in page.text


def test_the_paper_is_a_pdf_of_the_same_question(page: Page) -> None:
    worked_out(page, f"{QUOTE}?{PRICES}")
    paper = page.client.get(f"/job/{JOB}/decision.pdf?{PRICES}")
    assert paper.status_code == 200
    assert paper.headers["content-type"] == "application/pdf"
    assert paper.content.startswith(b"%PDF-")
    assert "job-decision.pdf" in paper.headers["content-disposition"]


def test_a_lighter_bob_is_asked_for_with_a_comma(page: Page) -> None:
    worked_out(page, f"{QUOTE}?bob=2050,5&built_for=2218")
    assert page.status == 200
    assert "2050.5 g" in page.text
    assert "Heavy metal: not needed, the new bobs are lighter" in page.text


def test_every_fault_is_said_at_once_and_what_was_typed_is_kept(page: Page) -> None:
    page.get(f"{QUOTE}?bob=abc&built_for=-3&within=1,234,5&slug_price.22.225+mm=x&labour_per_hour=-1&cases=0")
    assert page.status == 422
    for words in ("new bob", "balanced for", "price of a slug", "price of an hour", "cases"):
        assert words in page.html.partition('id="error"')[2].partition("</div>")[0]
    assert 'value="abc"' in page.html
    assert 'value="-3"' in page.html


def test_a_comma_that_may_be_thousands_is_asked_about(page: Page) -> None:
    page.get(f"{QUOTE}?bob=2,218")
    assert page.status == 422
    assert "can be 2218 or 2.218" in page.text


def test_a_bob_beyond_reason_is_refused(page: Page) -> None:
    page.get(f"{QUOTE}?bob=2218+kg")
    assert page.status == 422
    assert "beyond reason" in page.text


def test_script_in_an_address_is_text(page: Page) -> None:
    page.get(f"{QUOTE}?bob=%3Cscript%3Ealert(1)%3C/script%3E&cases=%22%3E%3Cimg+src=x%3E")
    assert page.status == 422
    assert "<script>alert" not in page.html
    assert "<img" not in page.html


def test_without_a_spin_it_asks_what_it_was_built_for(client: TestClient, folder: Path) -> None:
    path = folder / JOB
    path.write_text(path.read_text().partition("[[spins]]")[0])
    page = worked_out(Page(client))
    assert page.status == 422
    assert "what it was balanced for" in page.text  # the box, not the option of a command
    assert "--built-for" not in page.text
    assert 'name="built_for"' in page.html


def test_a_newer_question_ends_the_older_one_of_its_kind_only(planner: Planner, jobs: Path) -> None:
    job = load_job(jobs / JOB)
    # one that no other test asked: what is answered already is ended by nobody
    first = planner.ask(Asked.of(job, what="quote", wish=(("bob_g", 2051.0),)))
    plan = planner.ask(Asked.of(job))
    newer = planner.ask(Asked.of(job, what="quote", wish=(("bob_g", 2050.0), ("draws", 1))))
    assert first.cancelled
    assert not plan.cancelled
    assert newer.wait(120.0)
    assert newer.error is None
    assert newer.answer.quote.bob_g == 2050.0
    assert newer.texts, "nothing was said on the way"
    assert plan.wait(120.0)
    assert plan.error is None


def test_news_are_streamed_until_the_answer(page: Page) -> None:
    with page.client.stream("GET", f"{QUOTE}/news?bob=2100&cases=2") as answer:
        events = [line for line in answer.iter_lines() if line.startswith("event:")]
    assert answer.status_code == 200
    assert events[-1] == "event: end"
    assert "event: text" in events
