"""The sheet and the record as HTML: well-formed, self-contained, escaped, linked, readable in light and dark.

Invented data (see plan_samples and the examples).
"""

from __future__ import annotations

import base64
import functools
import hashlib
import itertools
import re

import pytest
import sheet_samples
from drawing_checks import outside, overlapping
from html_checks import HtmlCheck
from matplotlib.figure import Figure

from planner.errors import BobplanError
from planner.present.drawings import style
from planner.present.drawings.html_svg import drawing_markup
from planner.present.page_colours import DARK
from planner.present.pages.record import record_content
from planner.present.pages.sheet import sheet_content
from planner.present.to_html import html_page
from planner.steps.sheet import SheetAnswer


def sheet_html(told: SheetAnswer) -> str:
    content = sheet_content(told)
    return html_page("sheet", content, title=content.title)


@functools.cache
def markup_of(name: str) -> str:
    return sheet_html(sheet_samples.sample(name))


@pytest.mark.parametrize("name", ["eight cuts", "slugs", "inches", "no plan"])
def test_well_formed_and_self_contained(name: str) -> None:
    markup = markup_of(name)
    assert HtmlCheck(markup).faults == []
    assert not re.search(r"https?://|//[a-z]|@import", markup.replace("http://www.w3.org", ""))


def test_a_record_is_well_formed() -> None:
    markup = html_page("record", record_content(sheet_samples.record("cross_plane_v8")), title="t")
    assert HtmlCheck(markup).faults == []
    assert "Received by, date" in markup


def test_texts_of_a_job_never_become_markup() -> None:
    markup = sheet_html(sheet_samples.with_hostile_texts(sheet_samples.sample("four cuts")))
    checked = HtmlCheck(markup)
    assert checked.faults == []
    assert [tag for tag, _ in checked.tags if tag in ("script", "img", "style")] == ["style", "script"]
    for what in ("title", "customer", "engine", "number", "operator", "question", "warning", "note"):
        start = f"{what} {sheet_samples.INJECTION}".split("`")[0]
        assert start in checked.words(), what
    assert "alert(" not in markup[markup.rindex("<script>") :]


def test_only_the_own_script_may_run() -> None:
    markup = markup_of("slugs")
    scripts = re.findall(r"<script>(.*?)</script>", markup, re.S)
    assert len(scripts) == 1
    digest = base64.b64encode(hashlib.sha256(scripts[0].encode()).digest()).decode()
    (policy,) = re.findall(r'Content-Security-Policy" content="([^"]*)"', markup)
    assert "default-src 'none'" in policy
    assert f"script-src 'sha256-{digest}'" in policy


@pytest.mark.parametrize("name", ["eight cuts", "slugs"])
def test_every_cut_is_linked_from_table_to_drawings(name: str) -> None:
    told = sheet_samples.sample(name)
    checked = HtmlCheck(markup_of(name))
    for step in told.answer.steps:
        linked = [(tag, found) for tag, found in checked.tags if found.get("data-step") == str(step.number)]
        assert sum(tag == "article" for tag, _ in linked) == 1
        parts = [found.get("data-part", "") for tag, found in linked if tag == "g"]
        # its hole in the counterweight, in the overview and on the cards of its counterweight; its vector in both planes
        beside = sum(each.cut.counterweight == step.cut.counterweight for each in told.answer.steps)
        assert parts.count(f"step {step.number}") == 2 + beside
        assert parts.count(f"correction {step.number}") == 2
    numbers = {found["data-step"] for _, found in checked.tags if "data-step" in found}
    assert numbers == {str(step.number) for step in told.answer.steps}


def test_what_the_cuts_say() -> None:
    words = HtmlCheck(markup_of("inches")).words()
    for wanted in (
        "142°",
        "5/8 in",
        "0.875 in",
        "7/8 in",
        "to the shoulder",
        "toward lower numbers",
        "actual depth",
    ):
        assert wanted in words


def test_headings_go_down_step_by_step_and_drawings_have_words() -> None:
    checked = HtmlCheck(markup_of("eight cuts"))
    headings = [int(tag[1]) for tag, _ in checked.tags if re.fullmatch(r"h[1-6]", tag)]
    assert headings[0] == 1
    assert headings.count(1) == 1
    assert all(after - before <= 1 for before, after in itertools.pairwise(headings))
    drawings = [found for tag, found in checked.tags if tag == "svg"]
    # counterweights, overview, vectors, the machine's counting, the key, a card for every cut (their arrows need no words)
    drawings = [found for found in drawings if found.get("aria-hidden") != "true"]
    assert len(drawings) == 3 + 1 + 4 + 1 + 1 + 8
    assert all(found.get("role") == "img" and found.get("aria-labelledby") for found in drawings)
    says = [words for tag, words in checked.texts if tag == "desc"]
    assert len(says) == len(drawings)
    assert any("Cut 1: rim hole, dial 131°" in each for each in says)
    scrolling = [found for tag, found in checked.tags if "scroll" in found.get("class", "").split()]
    assert all(found.get("tabindex") == "0" and found.get("aria-label") for found in scrolling)


def test_drawings_use_the_pages_colours_only() -> None:
    """No colour of a drawing stays fixed: on a dark screen every one is another."""
    for name in ("eight cuts", "slugs", "inches", "no plan"):
        markup = markup_of(name)
        for svg in re.findall(r"<svg.*?</svg>", markup, re.S):
            assert not re.search(r"#[0-9a-fA-F]{6}\b", svg)


def luminance(colour: str) -> float:
    """Relative luminance of an sRGB colour (W3C, Web Content Accessibility Guidelines 2.1, definitions)."""
    channels = [int(colour[start : start + 2], 16) / 255.0 for start in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.03928 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    lighter, darker = sorted((luminance(one), luminance(other)), reverse=True)
    return (lighter + 0.05) / (darker + 0.05)


@pytest.mark.parametrize("dark", [False, True])
def test_contrast(dark: bool) -> None:
    """WCAG 2.1, success criteria 1.4.3 (text 4.5:1) and 1.4.11 (lines 3:1)."""

    def of(colour: str) -> str:
        return DARK[colour] if dark else colour

    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    for colour in (style.INK, style.PALE_INK):
        assert contrast(of(colour), of(style.PAPER)) >= 4.5
    for look in (style.NEW_HOLE, style.SLUG, style.MADE_CUT, style.KEEP_OUT, style.RING, style.OLD_HOLE):
        assert contrast(of(look.edge), of(style.PAPER)) >= 3.0
    for look in (style.NEW_HOLE, style.OUTLINE):
        assert contrast(of(look.edge), of(style.STEEL)) >= 3.0


@pytest.mark.parametrize("name", ["eight cuts", "slugs", "random 28"])
def test_texts_in_drawings_keep_apart(name: str) -> None:
    content = sheet_content(sheet_samples.sample(name))
    pictures = [
        content.overview,
        content.counting,
        *content.counterweights,
        *content.vectors,
        *(card.picture for card in content.cards),
    ]
    for picture in pictures:
        figure = picture.figure(
            {"full": 9.2, "wide": 4.8, "half": 4.4, "narrow": 3.8, "card": 2.6}[picture.size]
        )
        figure.draw_without_rendering()
        assert overlapping(figure) == [], picture.name
        assert outside(figure) == [], picture.name


def test_equal_sheets_are_equal_bytes() -> None:
    assert sheet_html(sheet_samples.sample("slugs")) == markup_of("slugs")


def test_ticks_say_what_they_are() -> None:
    """A tick is read aloud too: what was on, what was not; every text escaped (see the hostile texts above)."""
    words = HtmlCheck(markup_of("eight cuts")).words()
    assert "timing gear or sprocket" in words
    mounted = sheet_html(sheet_samples.example("external_balance_v8"))
    assert "on: " in HtmlCheck(mounted).words()


def test_a_colour_without_a_dark_one_is_refused() -> None:
    figure = Figure(figsize=(1.0, 1.0))
    figure.text(0.5, 0.5, "x", color="#123456")
    with pytest.raises(BobplanError, match="no dark colour for #"):
        drawing_markup(figure, prefix="p", title="t", says="s")


def test_the_check_finds_faults() -> None:
    assert HtmlCheck("<p>a").faults
    assert HtmlCheck("<p><b>a</p></b>").faults
    assert HtmlCheck('<p id="a"></p><p id="a"></p>').faults
    assert HtmlCheck('<img src="http://x.invalid/">').faults
    assert HtmlCheck('<p onclick="x()"></p>').faults
    assert HtmlCheck('<svg><use href="#none"/></svg>').faults
    assert HtmlCheck('<p style="fill:url(x.svg)"></p>').faults
    assert HtmlCheck('<p id="a">x<br></p>').faults == []
