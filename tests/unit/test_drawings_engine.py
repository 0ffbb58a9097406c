"""Shaking force and couple as drawn: on the axes given, in newtons, the right way round, with the error stated."""

from __future__ import annotations

import dataclasses
import math
import re
from pathlib import Path
from typing import Any

import numpy as np
import paper_checks
import pytest

from planner.engine.forces import piston_acceleration
from planner.jobfile.read import load_job
from planner.present.drawings.engine import (
    engine_figure,
    plot_shaking_curves,
    plot_shaking_path,
    shaking_of,
)
from planner.present.pages.engine_picture import engine_pictures
from planner.present.to_paper import PAPERS, Paper, printed_pages
from planner.steps.engine import EngineWishes
from planner.steps.engine_forces import EngineAnswer, engine_answer

ROOT = Path(__file__).parents[2]


def answer_of(layout: str, **more: Any) -> EngineAnswer:
    return engine_answer(None, EngineWishes(layout=layout, **more))


def line(ax: Any, gid: str) -> tuple[Any, Any]:
    found = [each for each in ax.get_lines() if each.get_gid() == gid]
    assert len(found) == 1
    x, y = found[0].get_data()
    return np.asarray(x), np.asarray(y)


def test_a_single_cylinder_is_drawn_from_first_principles() -> None:
    """Up is along the cylinder; the bob's half of the mass turns with the crank.  600 g at 43 mm and 3000 rpm."""
    answer = answer_of(
        "single cylinder", reciprocating_g=600.0, radius_mm=43.0, speed_rpm=3000.0, rod_ratio=4.0
    )
    x, y = line(plot_shaking_curves(answer, "force"), "exact along")
    alpha = np.radians(x)
    unit = 0.6 * 0.043 * (2 * math.pi * 50) ** 2
    lam = 0.25
    # closed form of the slider-crank's acceleration, any textbook of machine dynamics
    piston = (
        np.cos(alpha)
        + lam * (np.cos(2 * alpha) + lam**2 * np.sin(alpha) ** 4) / (1 - lam**2 * np.sin(alpha) ** 2) ** 1.5
    )
    assert y == pytest.approx(unit * (piston - 0.5 * np.cos(alpha)), abs=1e-6 * unit)
    assert piston_acceleration(alpha, rod_ratio=4.0) == pytest.approx(piston)
    # across: the bob alone; a crank that turns clockwise leads to the right, which is negative here
    _, across = line(plot_shaking_curves(answer, "force"), "exact across")
    assert across == pytest.approx(0.5 * unit * np.sin(alpha), abs=1e-6 * unit)


@pytest.mark.parametrize(("rotation", "turns"), [("cw", 1), ("ccw", -1)])
def test_what_no_counterweight_takes_away_turns_against_the_crank(rotation: str, turns: int) -> None:
    """In-line three, half in the bobs: what is left of the couple turns backward, once per turn."""
    answer = answer_of("in-line 3", rotation=rotation)
    x, y = line(plot_shaking_path(answer, "couple"), "primary")
    angle = np.unwrap(np.arctan2(y, x))
    assert angle[-1] - angle[0] == pytest.approx(turns * 2 * math.pi, abs=1e-6)
    assert np.hypot(x, y) == pytest.approx(math.sqrt(3) / 2)


def test_series_marks_lie_on_the_exact_line_and_the_error_is_stated() -> None:
    answer = answer_of("V2, 45 degree banks")
    shaking = shaking_of(answer, "force")
    ax = plot_shaking_path(answer, "force")
    x, y = line(ax, "series")
    path = line(ax, "exact")
    nearest = [np.min(np.hypot(path[0] - a, path[1] - b)) for a, b in zip(x, y, strict=True)]
    assert max(nearest) <= shaking.error + 1e-12
    assert 0.0 < shaking.error < 1e-4
    stated = [text.get_text() for text in ax.texts if text.get_gid() == "error"]
    assert len(stated) == 1
    found = re.search(r"at most (0\.\d+) m r ω² apart", stated[0])
    assert found is not None
    assert float(found[1]) == pytest.approx(shaking.error, rel=0.05)


def test_nothing_left_is_not_blown_up() -> None:
    answer = answer_of("in-line 6")
    ax = plot_shaking_curves(answer, "couple")
    assert ax.get_ylim()[1] > 0.01
    assert any("nothing is left" in text.get_text() for text in ax.texts)


def test_it_draws_on_the_axes_given_with_units_on_them() -> None:
    from matplotlib.figure import Figure

    answer = answer_of(
        "V2, 90 degree banks", reciprocating_g=500.0, radius_mm=40.0, speed_rpm=4000.0, spacing_mm=90.0
    )
    figure = Figure()
    first, second = figure.subplots(1, 2)
    assert plot_shaking_path(answer, "force", ax=first) is first
    assert plot_shaking_curves(answer, "couple", ax=second) is second
    assert "[N]" in first.get_ylabel()
    assert "[N·m]" in second.get_ylabel()
    assert "degrees" in second.get_xlabel()
    assert first.get_aspect() == 1.0
    assert first.get_lines()
    assert second.get_lines()


def test_the_whole_picture() -> None:
    figure = engine_figure(answer_of("V6, 60 degree banks, shared pins", rotation="ccw"))
    assert len(figure.axes) == 4
    title = figure.get_suptitle()
    assert "V6, 60 degree banks, shared pins" in title
    assert "turning ccw seen from the front" in title
    keys = [text.get_text() for legend in figure.legends for text in legend.get_texts()]
    assert len(keys) == len(set(keys)) == 6


def test_a_reference_axis_turns_the_picture() -> None:
    """A single cylinder with an axis 30 degrees on: along is the cylinder's force times cos 30."""
    plain = answer_of("single cylinder")
    turned = answer_of("single cylinder", reference_axis_deg=30.0)
    exact = shaking_of(plain, "force").exact
    assert shaking_of(turned, "force").exact == pytest.approx(exact * np.exp(-1j * math.radians(30.0)))


@pytest.mark.parametrize(
    ("inches", "force", "couple"), [(False, "[N]", "[N·m]"), (True, "[lbf]", "[lbf·ft]")]
)
def test_forces_go_with_the_units_of_the_job(inches: bool, force: str, couple: str) -> None:
    """A pound-force is 0.45359237 kg times 9.80665 m/s2, a foot 0.3048 m (both exact by definition)."""
    job = load_job(ROOT / "examples" / "cross_plane_v8" / "job.toml")
    metric = engine_answer(job, EngineWishes(speed_rpm=6000.0))
    job = dataclasses.replace(job, units=dataclasses.replace(job.units, length="in" if inches else "mm"))
    answer = engine_answer(job, EngineWishes(speed_rpm=6000.0))
    assert force in plot_shaking_curves(answer, "force").get_ylabel()
    assert couple in plot_shaking_path(answer, "couple").get_ylabel()
    per_lbf = 0.45359237 * 9.80665 if inches else 1.0
    per_lbf_ft = per_lbf * 0.3048 if inches else 1.0
    assert shaking_of(answer, "force").reach * per_lbf == pytest.approx(shaking_of(metric, "force").reach)
    assert shaking_of(answer, "couple").reach * per_lbf_ft == pytest.approx(
        shaking_of(metric, "couple").reach
    )


@pytest.mark.parametrize("layout", ["in-line 3", "V8, 90 degree banks, cross-plane", "single cylinder"])
@pytest.mark.parametrize("paper", PAPERS)
def test_the_page_has_both_quantities_and_no_words_on_each_other(layout: str, paper: Paper) -> None:
    content = engine_pictures(answer_of(layout))
    made = printed_pages("engine", content, ending=".pdf", paper=paper, title=content.title)
    pages = paper_checks.read_pages(made.data)
    assert len(pages) == 1
    words = paper_checks.all_words(pages)
    assert "turning" in words.lower()
    for wanted in ("Force: one turn", "Couple: one turn", "across the reference axis", "m r ω² × spacing"):
        assert wanted.replace(" ", "") in words.replace(" ", "")
    assert paper_checks.covered_letters(pages[0]) == []
    assert paper_checks.outside(pages[0]) == []
