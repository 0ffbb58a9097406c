"""Shaking force and couple of an engine over one turn: the path in the plane across the shaft, and the curves.

Everything is seen from the front with the reference axis pointing up.  The exact slider-crank is drawn as lines, the
sum of the harmonics as marks on them; how far they differ at most is written into every drawing.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np

from planner.engine.forces import ORDERS
from planner.present.drawings import style
from planner.present.drawings.save import quiet_about_glyphs
from planner.present.drawings.style import Look
from planner.present.words import degrees
from planner.steps.engine_forces import EngineAnswer

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from planner.engine.forces import FloatArray
    from planner.rotor.vectors import ComplexArray

Quantity = Literal["force", "couple"]

FIGURE_SIZE_IN = (11.0, 8.6)
"""Width and height of the whole picture [in]."""

ALONG = Look(edge="#0a4f9e", width_pt=2.0, words="along the reference axis, exact")
ACROSS = Look(edge="#b3261e", line="--", width_pt=1.6, words="across it, exact")
PATH = Look(edge="#0a4f9e", width_pt=1.8, words="exact slider-crank, one turn")
PRIMARY = Look(edge=style.PALE_INK, line=":", width_pt=1.4, words="primary alone")
SERIES = Look(edge=style.INK, width_pt=0.8, words="sum of orders 1, 2, 4, 6")

_MARKS = 24
# in m r omega^2: below the first is rounding, below the second a drawing is not stretched to show it
_NOTHING = 1e-6
_LEAST_DRAWN = 0.01


@dataclass(frozen=True, kw_only=True)
class Shaking:
    """Force or couple over a turn in the unit it is drawn in.

    Attributes
    ----------
    travel_deg : ndarray, shape (n,)
        Crank travel in the direction of rotation [deg].
    exact, series, primary : ndarray of complex, shape (n,)
        Real part along the reference axis, imaginary part across it (counter-clockwise from it, seen from the front).
    error : float
        Largest difference of exact and series.
    unit : str
        ``N``, ``N·m``, or words for m r omega^2 and that times the throw spacing.
    one : float
        One m r omega^2 (times the throw spacing) in that unit.
    """

    travel_deg: FloatArray
    exact: ComplexArray
    series: ComplexArray
    primary: ComplexArray
    error: float
    unit: str
    one: float

    @property
    def reach(self) -> float:
        """Largest amount [unit]."""
        return float(max(np.max(np.abs(self.exact)), np.max(np.abs(self.primary))))


def shaking_of(answer: EngineAnswer, quantity: Quantity) -> Shaking:
    """Return force or couple of an engine over a turn, with the bobs on, in newtons where these are known."""
    curve, engine, scale = answer.curve(), answer.engine, answer.scale
    if quantity == "force":
        exact, series, own = curve.force_gmm, curve.series_force_gmm, engine.unit_gmm
        real, words = scale.force_n, ("N", "m r ω²")
        first = answer.left.force[1]
    else:
        exact, series = curve.couple_gmm2, curve.series_couple_gmm2
        own = engine.unit_gmm * engine.spacing_mm
        real, words = scale.couple_nm, ("N·m", "m r ω² × throw spacing")
        first = answer.left.couple[1]
    axis = math.radians(engine.reference_axis_deg)
    factor = (1.0 if real is None else real) / own * np.exp(-1j * axis)
    turn = engine.sense * np.radians(curve.travel_deg)
    primary = first.forward * np.exp(1j * turn) + first.backward * np.exp(-1j * turn)
    return Shaking(
        travel_deg=curve.travel_deg,
        exact=exact * factor,
        series=series * factor,
        primary=primary * factor,
        error=float(np.max(np.abs((exact - series) * factor))),
        unit=words[1] if real is None else words[0],
        one=1.0 if real is None else real,
    )


def plot_shaking_path(answer: EngineAnswer, quantity: Quantity, *, ax: Axes | None = None) -> Axes:
    """Draw the path of the force (or couple) vector over one turn, seen from the front, reference axis up.

    Parameters
    ----------
    answer : EngineAnswer
    quantity : {"force", "couple"}
        A couple is shown in the plane in which it rocks the engine.
    ax : matplotlib.axes.Axes, optional
        Where to draw; a new figure if left out.

    Returns
    -------
    matplotlib.axes.Axes
        The axes drawn on, equal scale.
    """
    ax = _axes(ax)
    shaking = shaking_of(answer, quantity)
    every = max(1, (len(shaking.travel_deg) - 1) // _MARKS)
    # counter-clockwise from the axis that points up is to the left
    for values, look, gid in ((shaking.primary, PRIMARY, "primary"), (shaking.exact, PATH, "exact")):
        ax.plot(
            -values.imag,
            values.real,
            color=look.edge,
            linestyle=look.line,
            linewidth=look.width_pt,
            label=look.words,
            gid=gid,
        )
    marks = shaking.series[::every]
    ax.plot(
        -marks.imag,
        marks.real,
        "o",
        markersize=4.0,
        markerfacecolor="none",
        markeredgecolor=SERIES.edge,
        markeredgewidth=SERIES.width_pt,
        label=SERIES.words,
        gid="series",
    )
    start = shaking.exact[0]
    ax.plot(
        [-start.imag],
        [start.real],
        "s",
        markersize=6,
        color=style.INK,
        linestyle="none",
        label="travel 0",
        gid="start",
    )
    ax.plot([0.0], [0.0], "+", color=style.INK, markersize=11, linestyle="none", label="_axis", gid="shaft")
    reach = 1.12 * _reach(shaking)
    ax.set_xlim(-reach, reach)
    ax.set_ylim(-reach, reach)
    ax.set_aspect("equal")
    ax.set_xlabel(f"across the reference axis [{shaking.unit}]", fontsize=style.TEXT_PT)
    ax.set_ylabel(f"along it [{shaking.unit}]", fontsize=style.TEXT_PT)
    _finish(ax, f"{quantity.capitalize()}: one turn, seen from the front", shaking)
    return ax


def plot_shaking_curves(answer: EngineAnswer, quantity: Quantity, *, ax: Axes | None = None) -> Axes:
    """Draw the force (or couple) along and across the reference axis against crank travel.

    Parameters and return value as `plot_shaking_path`, without equal scale.
    """
    ax = _axes(ax)
    shaking = shaking_of(answer, quantity)
    every = max(1, (len(shaking.travel_deg) - 1) // _MARKS)
    parts = (
        (shaking.exact.real, shaking.series.real, ALONG, "along"),
        (shaking.exact.imag, shaking.series.imag, ACROSS, "across"),
    )
    for index, (exact, series, look, gid) in enumerate(parts):
        ax.plot(
            shaking.travel_deg,
            exact,
            color=look.edge,
            linestyle=look.line,
            linewidth=look.width_pt,
            label=look.words,
            gid=f"exact {gid}",
        )
        ax.plot(
            shaking.travel_deg[::every],
            series[::every],
            "o",
            markersize=4.0,
            markerfacecolor="none",
            markeredgecolor=SERIES.edge,
            markeredgewidth=SERIES.width_pt,
            label=SERIES.words if index == 0 else "_series",
            gid=f"series {gid}",
        )
    reach = 1.12 * _reach(shaking)
    ax.set_xlim(0.0, 360.0)
    ax.set_xticks(range(0, 361, 60))
    ax.set_ylim(-reach, reach)
    ax.axhline(0.0, color=style.GRID.edge, linewidth=0.8, zorder=0)
    ax.set_xlabel("crank travel in the direction of rotation [degrees]", fontsize=style.TEXT_PT)
    ax.set_ylabel(f"{quantity} [{shaking.unit}]", fontsize=style.TEXT_PT)
    _finish(ax, f"{quantity.capitalize()} over one turn", shaking)
    return ax


@quiet_about_glyphs()
def engine_figure(answer: EngineAnswer) -> Figure:
    """Return the whole picture: paths on the left, curves on the right, force above, couple below."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=FIGURE_SIZE_IN, layout="constrained")
    grid = figure.subplots(2, 2, width_ratios=(1.0, 1.35))
    for row, quantity in enumerate(("force", "couple")):
        which: Quantity = "force" if quantity == "force" else "couple"
        plot_shaking_path(answer, which, ax=grid[row][0])
        plot_shaking_curves(answer, which, ax=grid[row][1])
    figure.suptitle(_title(answer), fontsize=style.PAGE_TITLE_PT, fontfamily=style.FONT_FAMILY)
    handles, labels = grid[0][0].get_legend_handles_labels()
    more, words = grid[0][1].get_legend_handles_labels()
    keys = dict(zip([*labels, *words], [*handles, *more], strict=True))
    figure.legend(
        list(keys.values()),
        list(keys),
        loc="outside lower center",
        ncols=3,
        frameon=False,
        fontsize=style.TEXT_PT,
    )
    return figure


def _title(answer: EngineAnswer) -> str:
    engine, scale = answer.engine, answer.scale
    name = answer.layout_name or (answer.job.details.title if answer.job is not None else "") or "Engine"
    speed = f", {scale.speed_rpm:g} rpm" if scale.force_n is not None else ""
    axis = f"; reference axis at {degrees(engine.reference_axis_deg)}" if engine.reference_axis_deg else ""
    return f"{name}\nturning {engine.rotation} seen from the front, {answer.left_by}{speed}{axis}"


def _reach(shaking: Shaking) -> float:
    # next to nothing is drawn as such, not blown up to fill the drawing
    return max(shaking.reach, _LEAST_DRAWN * shaking.one)


def _axes(ax: Axes | None) -> Axes:
    if ax is not None:
        return ax
    from matplotlib.figure import Figure

    return Figure(figsize=(6.0, 5.0), layout="constrained").add_subplot()


def _finish(ax: Axes, title: str, shaking: Shaking) -> None:
    orders = ", ".join(str(order) for order in ORDERS)
    if shaking.reach > _NOTHING * shaking.one:
        share = 100.0 * shaking.error / shaking.reach
        words = f"at most {shaking.error:.2g} {shaking.unit} apart ({share:.2g} % of the largest)"
    else:
        words = f"nothing is left (exact and series both below {_NOTHING:g})"
    ax.set_title(title, fontsize=style.TITLE_PT, fontfamily=style.FONT_FAMILY, pad=30.0)
    ax.annotate(
        f"orders {orders} against the exact slider-crank:\n{words}",
        (0.5, 1.0),
        xycoords="axes fraction",
        xytext=(0, 4),
        textcoords="offset points",
        ha="center",
        va="bottom",
        fontsize=style.TEXT_PT,
        color=style.INK,
        gid="error",
    )
    ax.grid(True, color=style.GRID.edge, linewidth=style.GRID.width_pt)
    ax.set_axisbelow(True)
    ax.tick_params(labelsize=style.TEXT_PT)
