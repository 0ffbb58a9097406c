"""The drilling chart as words and a drawing without a layout; it stands on one page."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner.present.document import Table, table
from planner.present.drawings.chart import Chart, chart_rows, plot_chart
from planner.present.drawings.picture import Picture
from planner.present.drawings.place import own_axes
from planner.present.drawings.words import across_words
from planner.present.words import printed
from planner.quantity import format_quantity, nearest_64th
from planner.records import dataclass

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_FEW_ROWS = 18
CAUTION = (
    "Rim holes, drilled toward the shaft axis. The wall to flanks, faces and other holes is not checked here: stay clear of "
    "oil drillings and fillets, clamp the crankshaft, guard closed. The machine's manual, the engine maker's limits and a "
    "qualified machinist's judgement stand above this chart."
)


@dataclass(frozen=True, kw_only=True)
class ChartContent:
    """The drilling chart."""

    title: str
    settings: str
    picture: Picture
    rows: Table
    caution: str


def chart_content(chart: Chart) -> ChartContent:
    """Return the chart in words and its drawing."""
    units = chart.units
    radius = units.text(chart.radius_mm, "length")
    if units.in_inches:
        radius += f" ({nearest_64th(chart.radius_mm)})"
    rows = _table(chart)

    def draw(width_in: float) -> Axes:
        high_in = 4.9 if len(rows) <= _FEW_ROWS else 4.0
        ax = own_axes(width_in, high_in, top_in=0.1, bottom_in=0.6)
        left_in, right_in = 0.75, 0.7
        ax.set_position(
            (left_in / width_in, 0.6 / high_in, 1.0 - (left_in + right_in) / width_in, 1.0 - 0.7 / high_in)
        )
        return plot_chart(chart, ax=ax)

    return ChartContent(
        title=f"Drilling chart: rim holes, rim radius {radius}",
        settings=f"{_rim_words(chart)}{chart.metal}; drill point {chart.point_angle_deg:g}°; "
        f"the stop counts to the {chart.depth_to.upper()}",
        picture=Picture(
            name="chart",
            title="Depth on the stop against unbalance taken off",
            says=f"A curve for each drill: {', '.join(across_words(units, each) for each in chart.drills_mm)}.",
            size="full",
            draw=draw,
        ),
        rows=table(rows[0], rows[1:]),
        caution=CAUTION,
    )


def _rim_words(chart: Chart) -> str:
    if chart.rim is None:
        return ""
    thick = chart.units.text(chart.rim.thickness_mm, "length")
    return f"{chart.rim.name.capitalize()} rim {thick} thick, holes in its middle; "


def _table(chart: Chart) -> list[list[str]]:
    """Return the table of the page: the stop, then unbalance and grams per drill."""
    units = chart.units
    unit = printed(units.unbalance)
    head = [f"stop\n{units.length}"]
    for diameter_mm in chart.drills_mm:
        head += [f"{across_words(units, diameter_mm)}\n{unit}", "\ng"]
    rows = [head]
    for row in chart_rows(chart):
        stop = units.text(row["stop_mm"], "length", with_unit=False)
        cells = [f"{nearest_64th(row['stop_mm'])} = {stop}" if units.in_inches else stop]
        for amount, grams in zip(row["unbalance_gmm"], row["at_radius_g"], strict=True):
            if amount is None:
                cells += ["-", "-"]
            else:
                cells += [
                    units.text(amount, "unbalance", with_unit=False),
                    format_quantity(grams, "mass", "g", with_unit=False),
                ]
        rows.append(cells)
    return rows
