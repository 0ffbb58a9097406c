"""Shaking force and couple of an engine over one turn: the path in the plane across the shaft, and the curves.

Everything is seen from the front with the reference axis pointing up.  The exact slider-crank is drawn as lines, the
sum of the harmonics as marks on them; how far they differ at most is written into every drawing.
"""

from __future__ import annotations

import math
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Literal

import numpy as np

from planner.engine.forces import ORDERS
from planner.present.drawings import style
from planner.present.drawings.save import quiet_about_glyphs
from planner.present.drawings.style import Look
from planner.present.words import couple_unit, degrees, force_unit, number
from planner.records import dataclass
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

_FONT: dict[str, Any] = {"fontsize": style.TEXT_PT, "fontfamily": style.FONT_FAMILY, "color": style.INK}
_MARKS = 24
# in m r omega^2: below the first is rounding, below the second a drawing is not stretched to show it
_NOTHING = 1e-6
_LEAST_DRAWN = 0.01
# a difference smaller than these is said to be below them: nobody acts on more digits
_LEAST_SHARE = 0.01
_LEAST_SAID = 1e-6

QUANTITIES: tuple[Quantity, ...] = ("force", "couple")


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
        ``N`` and ``N·m``, for a job in inches ``lbf`` and ``lbf·ft``, or words for m r omega^2 and that times the
        throw spacing.
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
    """Return force or couple of an engine over a turn, with the bobs on, in the job's unit of force where it is known."""
    curve, engine, scale = answer.curve(), answer.engine, answer.scale
    units = None if answer.job is None else answer.job.units
    if quantity == "force":
        exact, series, own = curve.force_gmm, curve.series_force_gmm, engine.unit_gmm
        name, per_unit = force_unit(units)
        real, words = scale.force_n, "m r ω²"
        first = answer.left.force[1]
    else:
        exact, series = curve.couple_gmm2, curve.series_couple_gmm2
        own = engine.unit_gmm * engine.spacing_mm
        name, per_unit = couple_unit(units)
        real, words = scale.couple_nm, "m r ω² × spacing"
        first = answer.left.couple[1]
    if real is not None:
        real, words = real / per_unit, name
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
        unit=words,
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
    # counter-clockwise from the axis that points up is to the left
    for values, look, gid in ((shaking.primary, PRIMARY, "primary"), (shaking.exact, PATH, "exact")):
        ax.plot(-values.imag, values.real, **look.pen, label=look.words, gid=gid)
    _mark_series(ax, -shaking.series.imag, shaking.series.real, gid="series")
    start = shaking.exact[0]
    mark: dict[str, Any] = {"color": style.INK, "linestyle": "none"}
    ax.plot([-start.imag], [start.real], "s", markersize=6, **mark, label="travel 0", gid="start")
    ax.plot([0.0], [0.0], "+", markersize=11, **mark, label="_axis", gid="shaft")
    reach = 1.12 * _reach(shaking)
    ax.set_xlim(-reach, reach)
    ax.set_ylim(-reach, reach)
    ax.set_aspect("equal", anchor="N")
    ax.set_xlabel(f"across the reference axis\n[{shaking.unit}]", **_FONT)
    ax.set_ylabel(f"along it\n[{shaking.unit}]", **_FONT)
    _finish(ax, f"{quantity.capitalize()}: one turn, seen from the front", shaking)
    return ax


def plot_shaking_curves(answer: EngineAnswer, quantity: Quantity, *, ax: Axes | None = None) -> Axes:
    """Draw the force (or couple) along and across the reference axis against crank travel.

    Parameters and return value as `plot_shaking_path`, without equal scale.
    """
    ax = _axes(ax)
    shaking = shaking_of(answer, quantity)
    travel = shaking.travel_deg
    parts = (
        (shaking.exact.real, shaking.series.real, ALONG, "along"),
        (shaking.exact.imag, shaking.series.imag, ACROSS, "across"),
    )
    for exact, series, look, gid in parts:
        ax.plot(travel, exact, **look.pen, label=look.words, gid=f"exact {gid}")
        _mark_series(ax, travel, series, gid=f"series {gid}")
    reach = 1.12 * _reach(shaking)
    ax.set_xlim(0.0, 360.0)
    ax.set_xticks(range(0, 361, 60))
    ax.set_ylim(-reach, reach)
    ax.axhline(0.0, color=style.GRID.edge, linewidth=0.8, zorder=0)
    ax.set_xlabel("crank travel in the direction of rotation\n[degrees]", **_FONT)
    ax.set_ylabel(f"{quantity}\n[{shaking.unit}]", **_FONT)
    _finish(ax, f"{quantity.capitalize()} over one turn", shaking)
    return ax


def _mark_series(ax: Axes, x: FloatArray, y: FloatArray, *, gid: str) -> None:
    """Draw the sum of the harmonics as some marks."""
    every = max(1, (len(x) - 1) // _MARKS)
    ax.plot(
        x[::every],
        y[::every],
        "o",
        markersize=4.0,
        markerfacecolor="none",
        markeredgecolor=SERIES.edge,
        markeredgewidth=SERIES.width_pt,
        label=SERIES.words,
        gid=gid,
    )


@quiet_about_glyphs()
def engine_figure(answer: EngineAnswer) -> Figure:
    """Return the whole picture: paths on the left, curves on the right, force above, couple below."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=FIGURE_SIZE_IN, layout="constrained")
    grid = figure.subplots(2, 2, width_ratios=(1.0, 1.35))
    for row, quantity in enumerate(QUANTITIES):
        plot_shaking_path(answer, quantity, ax=grid[row][0])
        plot_shaking_curves(answer, quantity, ax=grid[row][1])
    figure.suptitle("\n".join(engine_title(answer)), **_FONT | {"fontsize": style.PAGE_TITLE_PT})
    _draw_key(figure, (grid[0][0], grid[0][1]))
    return figure


def shaking_drawing(answer: EngineAnswer, quantity: Quantity, width_in: float) -> Axes:
    """Return path and curves of one quantity beside each other, their key below: one drawing of a page [in]."""
    from matplotlib.figure import Figure

    figure = Figure(figsize=(width_in, 0.56 * width_in), layout="constrained")
    left: Axes
    right: Axes
    left, right = figure.subplots(1, 2, width_ratios=(1.0, 1.25))
    plot_shaking_path(answer, quantity, ax=left)
    plot_shaking_curves(answer, quantity, ax=right)
    _draw_key(figure, (left, right))
    return right


def engine_title(answer: EngineAnswer) -> tuple[str, ...]:
    """Return what the picture is of, and how it turns, with which bobs, how fast."""
    engine, scale = answer.engine, answer.scale
    name = answer.layout_name or (answer.job.details.title if answer.job is not None else "") or "Engine"
    speed = f", {scale.speed_rpm:g} rpm" if scale.force_n is not None else ""
    axis = f"; reference axis at {degrees(engine.reference_axis_deg)}" if engine.reference_axis_deg else ""
    return name, f"turning {engine.rotation} seen from the front, {answer.left_by}{speed}{axis}"


def _draw_key(figure: Figure, drawn: tuple[Axes, Axes]) -> None:
    """Draw a key that has every look once."""
    keys: dict[str, Any] = {}
    for ax in drawn:
        handles, words = ax.get_legend_handles_labels()
        keys |= dict(zip(words, handles, strict=True))
    font = {"family": style.FONT_FAMILY, "size": style.TEXT_PT}
    figure.legend(keys.values(), keys.keys(), loc="outside lower center", ncols=3, frameon=False, prop=font)


def _reach(shaking: Shaking) -> float:
    # next to nothing is drawn as such, not blown up to fill the drawing
    return max(shaking.reach, _LEAST_DRAWN * shaking.one)


def _axes(ax: Axes | None) -> Axes:
    if ax is not None:
        return ax
    from matplotlib.figure import Figure

    return Figure(figsize=(6.0, 5.0), layout="constrained").add_subplot()


def _apart(shaking: Shaking) -> str:
    """Return how far the series is from the exact slider-crank, in lines that fit a narrow drawing."""
    if shaking.reach <= _NOTHING * shaking.one:
        return f"nothing is left:\nexact and series\nboth below {_NOTHING:.6f}"
    share = 100.0 * shaking.error / shaking.reach
    part = (
        f"{share:.2g} % of the largest" if share >= _LEAST_SHARE else f"below {_LEAST_SHARE} % of the largest"
    )
    orders = ", ".join(str(order) for order in ORDERS)
    # two digits, never in powers of ten
    said = f"{Decimal(f'{max(shaking.error, _LEAST_SAID):.2g}'):f}"
    return f"orders {orders} and exact:\nat most {said} {shaking.unit} apart,\n{part}"


def _finish(ax: Axes, title: str, shaking: Shaking) -> None:
    from matplotlib.ticker import FuncFormatter, MaxNLocator

    ax.set_title(title, **_FONT | {"fontsize": style.TITLE_PT}, pad=42.0)
    ax.annotate(
        _apart(shaking),
        (0.5, 1.0),
        xycoords="axes fraction",
        xytext=(0, 4),
        textcoords="offset points",
        ha="center",
        va="bottom",
        gid="error",
        **_FONT,
    ).set_in_layout(False)
    ax.grid(True, **style.GRID.pen)
    ax.set_axisbelow(True)
    for spine in ax.spines.values():
        spine.set_edgecolor(style.PALE_INK)
        spine.set_linewidth(style.GRID.width_pt)
    ax.tick_params(
        labelsize=style.TEXT_PT, labelfontfamily=style.FONT_FAMILY, labelcolor=style.INK, color=style.PALE_INK
    )
    amounts = [ax.yaxis] if title.endswith("over one turn") else [ax.xaxis, ax.yaxis]
    for axis in amounts:
        axis.set_major_locator(MaxNLocator(nbins=6, symmetric=True, steps=[1, 2, 5, 10]))
        axis.set_major_formatter(FuncFormatter(lambda value, _: number(value, digits=6)))
