"""A drilling chart to tape to the machine: depth on the stop against unbalance and grams at the rim, per drill."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from planner.cuts.rim_form_hole import rim_form_holes
from planner.cuts.rim_hole import rim_hole_first_moment_mm4, rim_hole_greatest_depth_mm
from planner.errors import InputError
from planner.present.drawings import style
from planner.present.drawings.dimensions import round_below
from planner.present.drawings.words import across_words
from planner.present.words import printed
from planner.quantity import UnitSystem, factor
from planner.records import dataclass
from planner.rotor.crankshaft import cone_height_mm

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from geometry_profiles.rims import RimForm

MOST_DRILLS = 6
MOST_ROWS = 26
_STEPS_MM = (0.5, 1.0, 2.0, 2.5, 5.0, 10.0)
_STEPS_64THS = (1, 2, 4, 8, 16, 32)
_LINES: tuple[Any, ...] = ("-", "--", "-.", ":", (0, (6, 1, 1, 1, 1, 1)), (0, (1, 1)))
_COLOURS = (
    style.INK,
    style.NEW_HOLE.edge,
    style.KEEP_OUT.edge,
    style.RING.edge,
    style.SLUG.edge,
    style.MADE_CUT.edge,
)
_POINTS = 120


@dataclass(frozen=True, kw_only=True)
class Chart:
    """What a chart is for.

    ``depth_to`` (``shoulder`` or ``tip``) is what the stop counts to; ``greatest_stop_mm`` is where the chart ends;
    ``metal`` names the density.  ``rim`` is the form of a rim that is not plain, holes in its middle; ``radius_mm`` its greatest.
    """

    radius_mm: float
    drills_mm: tuple[float, ...]
    density_g_per_cm3: float
    metal: str
    units: UnitSystem
    point_angle_deg: float = 118.0
    depth_to: str = "shoulder"
    greatest_stop_mm: float = 45.0
    rim: RimForm | None = None

    def __post_init__(self) -> None:
        """Refuse what can't be drawn."""
        if not self.drills_mm or len(self.drills_mm) > MOST_DRILLS:
            raise InputError(
                f"--drills: given {len(self.drills_mm)}; 1 to {MOST_DRILLS} drills stand on one chart",
                hint="make a second chart for more",
            )
        for diameter_mm in self.drills_mm:
            if self.reach_mm(diameter_mm) <= 0.0:
                raise InputError(
                    f"--drills: {diameter_mm:g} mm is too large for a rim of {self.radius_mm:g} mm radius"
                    + ("" if self.rim is None else f", {self.rim.thickness_mm:g} mm thick"),
                    hint="check the units of both",
                )

    def reach_mm(self, diameter_mm: float) -> float:
        """Return the deepest number on the stop of a drill [mm]: the chart's end, or where the tip reaches the axis."""
        cone_mm = cone_height_mm(diameter_mm=diameter_mm, point_angle_deg=self.point_angle_deg)
        if diameter_mm >= 2.0 * self.radius_mm or cone_mm >= self.radius_mm:
            return 0.0
        if self.rim is not None:
            if diameter_mm >= self.rim.thickness_mm:
                return 0.0
            room = self.rim.radius_mm(0.0) - 1e-6
            return min(self.greatest_stop_mm, room - (0.0 if self.depth_to == "tip" else cone_mm))
        deepest = rim_hole_greatest_depth_mm(
            outer_radius_mm=self.radius_mm, diameter_mm=diameter_mm, point_angle_deg=self.point_angle_deg
        )
        return min(self.greatest_stop_mm, deepest + (cone_mm if self.depth_to == "tip" else 0.0))

    def unbalance_gmm(self, stop_mm: Any, diameter_mm: float) -> Any:
        """Return what holes take off [g*mm] at numbers on the stop [mm] up to `reach_mm`; shape as given."""
        cone_mm = cone_height_mm(diameter_mm=diameter_mm, point_angle_deg=self.point_angle_deg)
        shoulder_mm = np.asarray(stop_mm) - (cone_mm if self.depth_to == "tip" else 0.0)
        if self.rim is not None:
            return self._formed_gmm(np.asarray(stop_mm, dtype=float), shoulder_mm, diameter_mm)
        moment = rim_hole_first_moment_mm4(
            outer_radius_mm=self.radius_mm,
            diameter_mm=diameter_mm,
            depth_shoulder_mm=shoulder_mm,
            point_angle_deg=self.point_angle_deg,
        )
        return moment * self.density_g_per_cm3 / 1000.0

    def _formed_gmm(self, stop_mm: Any, shoulder_mm: Any, diameter_mm: float) -> Any:
        """Return what holes in the middle of a rim of any form take off [g*mm]; shape as ``stop_mm``."""
        assert self.rim is not None
        holes = rim_form_holes(
            form=self.rim,
            diameter_mm=diameter_mm,
            depths_shoulder_mm=tuple(float(each) for each in np.atleast_1d(shoulder_mm)),
            point_angle_deg=self.point_angle_deg,
        )
        amounts = np.array([hole.radial_mm4 for hole in holes]) * self.density_g_per_cm3 / 1000.0
        return amounts.reshape(np.shape(stop_mm)) if np.ndim(stop_mm) else float(amounts[0])

    @property
    def stops_mm(self) -> tuple[float, ...]:
        """The numbers on the stop that the table lists [mm]."""
        steps = [n * 25.4 / 64.0 for n in _STEPS_64THS] if self.units.in_inches else list(_STEPS_MM)
        longest = max(self.reach_mm(diameter_mm) for diameter_mm in self.drills_mm)
        step = next((each for each in steps if longest / each <= MOST_ROWS), steps[-1])
        return tuple(
            step * count for count in range(1, min(MOST_ROWS, math.floor(longest / step + 1e-9)) + 1)
        )


def chart_rows(chart: Chart) -> list[dict[str, Any]]:
    """Return the table as plain data: per stop the unbalance and the grams at the rim of every drill, None beyond reach."""
    rows = []
    for stop_mm in chart.stops_mm:
        amounts = [
            float(chart.unbalance_gmm(stop_mm, each)) if stop_mm <= chart.reach_mm(each) + 1e-9 else None
            for each in chart.drills_mm
        ]
        rows.append(
            {
                "stop_mm": round(stop_mm, 9),
                "unbalance_gmm": [None if each is None else round(each, 6) for each in amounts],
                "at_radius_g": [
                    None if each is None else round(each / chart.radius_mm, 6) for each in amounts
                ],
            }
        )
    return rows


def plot_chart(chart: Chart, *, ax: Axes) -> Axes:
    """Draw unbalance against the number on the stop, both in the chart's units; grams at the rim at the right.

    ``gid`` of a curve: ``drill 12.7`` (mm).
    """
    units = chart.units
    per_length, per_unbalance = factor(units.length, "length"), factor(units.unbalance, "unbalance")
    for index, diameter_mm in enumerate(chart.drills_mm):
        stop = np.linspace(0.0, chart.reach_mm(diameter_mm), _POINTS + 1)[1:]
        ax.plot(
            stop / per_length,
            chart.unbalance_gmm(stop, diameter_mm) / per_unbalance,
            linestyle=_LINES[index],
            color=_COLOURS[index],
            linewidth=2.0,
            label=across_words(units, diameter_mm),
            gid=f"drill {diameter_mm:g}",
        )
    ax.set_xlim(0.0, chart.greatest_stop_mm / per_length)
    most = max(float(chart.unbalance_gmm(chart.reach_mm(each), each)) for each in chart.drills_mm)
    _round_axis(ax, most / per_unbalance)
    font: dict[str, Any] = {"fontsize": 10.0, "fontfamily": style.FONT_FAMILY, "color": style.INK}
    unit, length = printed(units.unbalance), units.length
    ax.set_xlabel(f"depth on the stop, to the {chart.depth_to} [{length}]", **font)
    ax.set_ylabel(f"unbalance taken off [{unit}]", **font)
    per_gram = chart.radius_mm / per_unbalance

    def to_grams(amount: Any) -> Any:
        return amount / per_gram

    def from_grams(grams: Any) -> Any:
        return grams * per_gram

    right = ax.secondary_yaxis("right", functions=(to_grams, from_grams))
    right.set_yticks(_ticks_up_to(ax.get_ylim()[1] / per_gram))
    right.set_ylabel("grams at the rim radius [g]", **font)
    ax.minorticks_on()
    ax.grid(which="major", color=style.PALE_INK, linewidth=0.6)
    ax.grid(which="minor", color=style.GRID.edge, linewidth=0.4)
    if units.in_inches:
        from matplotlib.ticker import MultipleLocator

        ax.xaxis.set_major_locator(MultipleLocator(0.25))
        ax.xaxis.set_minor_locator(MultipleLocator(1.0 / 16.0))
    for axis in (ax, right):
        axis.tick_params(labelsize=9.0, labelfontfamily=style.FONT_FAMILY)
    ax.legend(
        loc="upper left", framealpha=1.0, handlelength=3.5, prop={"family": style.FONT_FAMILY, "size": 10.0}
    )
    return ax


def _round_axis(ax: Axes, most: float) -> None:
    """Let the upright axis run from 0 to a round number that holds ``most``."""
    ticks = _ticks_up_to(most)
    step = ticks[1] - ticks[0]
    top = step * math.ceil(most / step - 1e-9)
    ax.set_ylim(0.0, top)
    ax.set_yticks(_ticks_up_to(top))


def _ticks_up_to(top: float) -> list[float]:
    """Return 5 to 11 round numbers from 0 up to ``top``."""
    step = round_below(top / 4.0)
    return [step * count for count in range(math.floor(top / step + 1e-9) + 1)]
