"""The drilling chart: its numbers by a numerical integration of their own, its page readable.  Invented sizes."""

from __future__ import annotations

import math

import paper_checks
import pytest
from drawing_checks import named
from scipy import integrate

from planner.errors import InputError
from planner.present.drawings.chart import MOST_ROWS, Chart, chart_rows, plot_chart
from planner.present.pages.chart import chart_content
from planner.present.to_paper import PAPERS, Paper, printed_pages
from planner.quantity import UnitSystem

A4, LETTER = PAPERS
INCH = UnitSystem(length="in", unbalance="oz*in")


def chart(**changes: object) -> Chart:
    settings: dict[str, object] = {
        "radius_mm": 82.55,
        "drills_mm": (12.7, 15.875),
        "density_g_per_cm3": 7.85,
        "metal": "Invented steel",
        "units": INCH,
        "greatest_stop_mm": 44.45,
        **changes,
    }
    return Chart(**settings)  # type: ignore[arg-type]


def integrated_gmm(*, radius_mm: float, diameter_mm: float, shoulder_mm: float, density: float) -> float:
    """First moment of a drilled hole by quadrature over its axis x and its width y, first principles.

    At a distance x from the shaft axis the drill has the radius a (or that of its cone); of that disc counts what lies
    inside the rim, ``x^2 + y^2 <= R^2`` with y across the drill in the plane of the rim.
    """
    a = diameter_mm / 2.0
    cone = a / math.tan(math.radians(59.0))
    shoulder_x = radius_mm - shoulder_mm

    def slice_area(x: float) -> float:
        wide = a if x >= shoulder_x else a * (x - shoulder_x + cone) / cone
        inside = min(wide, math.sqrt(max(0.0, radius_mm**2 - x**2)))
        # area of a disc of radius `wide` between -inside and +inside
        return 2.0 * (
            inside * math.sqrt(max(0.0, wide**2 - inside**2)) + wide**2 * math.asin(min(1.0, inside / wide))
        )

    sag_x = math.sqrt(radius_mm**2 - a**2)
    total = 0.0
    for low, high in ((shoulder_x - cone + 1e-12, shoulder_x), (shoulder_x, sag_x), (sag_x, radius_mm)):
        total += integrate.quad(lambda x: x * slice_area(x), low, high, limit=200)[0]
    return total * density / 1000.0


@pytest.mark.parametrize("diameter", [12.7, 15.875])
@pytest.mark.parametrize("stop", [6.35, 19.05, 44.45])
def test_numbers_by_quadrature(diameter: float, stop: float) -> None:
    found = float(chart().unbalance_gmm(stop, diameter))
    expected = integrated_gmm(radius_mm=82.55, diameter_mm=diameter, shoulder_mm=stop, density=7.85)
    assert found == pytest.approx(expected, rel=1e-6)


def test_the_tip_counts_from_the_cones_height() -> None:
    cone = 12.7 / 2.0 / math.tan(math.radians(59.0))
    to_tip = float(chart(depth_to="tip").unbalance_gmm(20.0 + cone, 12.7))
    assert to_tip == pytest.approx(float(chart().unbalance_gmm(20.0, 12.7)))


def test_curves_are_in_the_units_asked_for() -> None:
    ax = chart_content(chart()).picture.draw(7.2)
    line = named(ax, "drill 12.7")
    x, y = line.get_xdata()[-1], line.get_ydata()[-1]  # type: ignore[attr-defined]
    assert x == pytest.approx(1.75)
    expected = integrated_gmm(radius_mm=82.55, diameter_mm=12.7, shoulder_mm=44.45, density=7.85)
    assert y == pytest.approx(expected / 720.0778873750)  # 1 oz-in = 28.349523125 g x 25.4 mm
    assert ax.get_xlabel() == "depth on the stop, to the shoulder [in]"
    assert ax.get_ylabel() == "unbalance taken off [oz·in]"


def test_grams_at_the_right_are_unbalance_over_radius() -> None:
    metric = chart(units=UnitSystem())
    ax = chart_content(metric).picture.draw(7.2)
    ax.figure.draw_without_rendering()
    (right,) = ax.child_axes
    assert right.get_ylim()[1] * 82.55 == pytest.approx(ax.get_ylim()[1])
    for row in chart_rows(metric):
        for amount, grams in zip(row["unbalance_gmm"], row["at_radius_g"], strict=True):
            assert grams == pytest.approx(amount / 82.55, abs=1e-5)


def test_inch_stops_are_whole_64ths() -> None:
    stops = chart().stops_mm
    assert len(stops) <= MOST_ROWS
    assert stops[-1] == pytest.approx(44.45)
    for stop in stops:
        assert (stop / 25.4 * 64.0) == pytest.approx(round(stop / 25.4 * 64.0))


def test_no_number_beyond_the_shaft_axis() -> None:
    small = chart(radius_mm=30.0, greatest_stop_mm=60.0, units=UnitSystem())
    last = small.reach_mm(15.875)
    assert last == pytest.approx(30.0 - 15.875 / 2.0 / math.tan(math.radians(59.0)))
    rows = chart_rows(small)
    assert all(row["stop_mm"] <= max(small.reach_mm(each) for each in small.drills_mm) for row in rows)
    for row in rows:
        if row["stop_mm"] > last + 1e-9:
            assert row["unbalance_gmm"][1] is None


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize(
    "changes",
    [
        {},
        {"drills_mm": (9.525, 11.1125, 12.7, 14.2875, 15.875, 19.05)},
        {"drills_mm": (10.0, 12.0, 14.0, 16.0), "units": UnitSystem(), "greatest_stop_mm": 51.9},
    ],
)
def test_one_page_without_overlaps(paper: Paper, changes: dict[str, object]) -> None:
    asked = chart(**changes)
    made = printed_pages("chart", chart_content(asked), ending=".pdf", paper=paper, title="Drilling chart")
    (page,) = paper_checks.read_pages(made.data)
    assert made.pages == 1
    assert paper_checks.covered_letters(page) == []
    assert paper_checks.outside(page) == []
    assert min(each["size"] for each in page.letters if abs(each["matrix"][1]) < 1e-6) >= 7.5
    assert "qualified machinist's judgement stand above this chart" in page.words


def test_what_can_not_be_drawn() -> None:
    with pytest.raises(InputError, match="1 to 6 drills"):
        chart(drills_mm=tuple(5.0 + each for each in range(7)))
    with pytest.raises(InputError, match="too large for a rim"):
        chart(drills_mm=(200.0,))


def test_plot_leaves_other_axes_alone() -> None:
    from matplotlib.figure import Figure

    one, other = Figure(figsize=(8.0, 4.0)).subplots(1, 2)
    assert plot_chart(chart(), ax=one) is one
    assert not other.lines


def test_a_bevelled_rim_takes_less_and_is_told_on_the_page() -> None:
    """By a sum over columns of the hole, here: along the shaft the rim falls away at 45 degrees from 6 mm beside the middle."""
    from geometry_profiles.rims import bevelled

    rim = bevelled(outer_radius_mm=82.55, thickness_mm=24.0, front_width_mm=6.0, rear_width_mm=6.0)
    plain, formed = chart(drills_mm=(15.875,)), chart(drills_mm=(15.875,), rim=rim)
    stop = 20.0
    n, a = 400, 15.875 / 2.0
    cone = a / math.tan(math.radians(59.0))
    total = 0.0
    for i in range(n):
        s = a * (2.0 * (i + 0.5) / n - 1.0)
        radius = 82.55 - max(0.0, abs(s) - 6.0)
        for j in range(n):
            y = a * (2.0 * (j + 0.5) / n - 1.0)
            if s * s + y * y >= a * a:
                continue
            bottom = 82.55 - stop - cone * (1.0 - math.hypot(s, y) / a)
            top = math.sqrt(radius**2 - y**2)
            total += 0.5 * (top**2 - bottom**2)
    moment = total * (2.0 * a / n) ** 2 * 7.85e-3
    assert formed.unbalance_gmm(stop, 15.875) == pytest.approx(moment, rel=2e-3)
    assert formed.unbalance_gmm(stop, 15.875) < plain.unbalance_gmm(stop, 15.875) - 5.0
    words = paper_checks.all_words(
        paper_checks.read_pages(
            printed_pages("chart", chart_content(formed), ending=".pdf", paper=A4, title="t").data
        )
    )
    assert "bevelled rim" in words.lower()
    with pytest.raises(InputError, match="mm thick"):
        chart(drills_mm=(25.4,), rim=rim)
