"""A counterweight on its own, drawn to scale: outline, inner radius, centroid."""

from __future__ import annotations

import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

from planner.files import check_output
from planner.present.drawings import style
from planner.present.drawings.pens import arc, draw_area, draw_circle, draw_line
from planner.present.drawings.solid import plot_solid
from planner.present.words import printed
from planner.quantity import UnitSystem, factor
from planner.rotor.weighing import WeighedCounterweight

if TYPE_CHECKING:
    from matplotlib.axes import Axes

PLOT_ENDINGS = (".png", ".svg", ".pdf")
"""File endings that `save_profile` writes."""

_BOTH_IN = (10.5, 6.5)
FIGURE_SIZE_IN = (6.5, 6.5)
"""Width and height of a drawing of its own [in]."""


def plot_profile(
    weighed: WeighedCounterweight, *, ax: Axes | None = None, units: UnitSystem | None = None
) -> Axes:
    """Draw a counterweight in its own frame (shaft axis at the origin, centre line to the right) [mm].

    Parameters
    ----------
    weighed : WeighedCounterweight
        The counterweight.
    ax : matplotlib.axes.Axes, optional
        Where to draw; a new figure if left out.  The data are mm whatever the units.
    units : UnitSystem, optional
        What the axes and texts are in; mm, g and g*mm if left out.

    Returns
    -------
    matplotlib.axes.Axes
        The axes drawn on, equal scale.
    """
    if ax is None:
        from matplotlib.figure import Figure

        ax = Figure(figsize=FIGURE_SIZE_IN, layout="constrained").add_subplot()
    units = units or UnitSystem()
    outline = weighed.outline
    look = style.OUTLINE
    mass = units.text(weighed.mass_g, "mass")
    corners = [complex(x, y) for x, y in outline.boundary_mm]
    label = f"{outline.name}: {mass}"
    draw_area(ax, corners, facecolor=look.face, **look.border, label=label, gid="outline")
    if weighed.rim is not None:
        _draw_rim(ax, weighed)
    if outline.inner_radius_mm > 0.0:
        # White, because what lies inside belongs to the crankshaft's body and is not weighed.
        inner = units.text(outline.inner_radius_mm, "length")
        draw_circle(
            ax,
            0j,
            outline.inner_radius_mm,
            facecolor=style.PAPER,
            **style.INNER.border,
            label=f"inner radius {inner}: not weighed inside",
            gid="inner radius",
        )
    spot = {"linestyle": "none"}
    draw_line(ax, [0j], marker="+", color=style.INK, markersize=14, **spot, label="shaft axis", gid="shaft")
    draw_line(
        ax,
        [weighed.centroid_mm],
        marker="o",
        color=style.UNBALANCE.edge,
        markersize=7,
        **spot,
        label=f"centroid, radius {units.text(abs(weighed.centroid_mm), 'length', digits=3 if units.in_inches else 2)}",
        gid="centroid",
    )
    reach_mm = 1.08 * max(outline.greatest_radius_mm, *(math.hypot(x, y) for x, y in outline.boundary_mm))
    ends = [complex(-0.15 * reach_mm), complex(reach_mm)]
    draw_line(ax, ends, **style.CENTRE_LINE.pen, label=style.CENTRE_LINE.words, gid="centre line")
    ax.set_aspect("equal")
    ax.margins(0.05)
    if units.length != "mm":
        _ticks_in(ax, units)
    ax.set_xlabel(f"x along the centre line [{units.length}]", fontsize=style.TEXT_PT)
    ax.set_ylabel(f"y [{units.length}], angles counter-clockwise seen from the front", fontsize=style.TEXT_PT)
    ax.tick_params(labelsize=style.TEXT_PT)
    ax.set_title(
        f"{outline.name}: {mass}, unbalance "
        f"{printed(units.text(abs(weighed.unbalance_gmm), 'unbalance'))}\n"
        f"thickness {units.text(weighed.thickness_mm, 'length')}, density {weighed.density_g_per_cm3:.4g} g/cm3",
        fontsize=style.TITLE_PT,
    )
    ax.legend(loc="upper center", bbox_to_anchor=(0.5, -0.12), ncols=2, fontsize=style.TEXT_PT, frameon=False)
    return ax


def _ticks_in(ax: Axes, units: UnitSystem) -> None:
    """Let the ticks of axes whose data are mm stand at round numbers of another unit."""
    from matplotlib.ticker import FuncFormatter, MultipleLocator

    per_unit = factor(units.length, "length")
    for axis in (ax.xaxis, ax.yaxis):
        axis.set_major_locator(MultipleLocator(per_unit))
        axis.set_major_formatter(FuncFormatter(lambda value, _: f"{round(value / per_unit, 6) + 0.0:g}"))


def _draw_rim(ax: Axes, weighed: WeighedCounterweight) -> None:
    """Draw where the rim ends at the faces, and its section across the thickness beside the outline, to scale."""
    rim, outline = weighed.rim, weighed.outline
    assert rim is not None
    faces = {round(rim.pieces[0].from_radius_mm, 6), round(rim.pieces[-1].to_radius_mm, 6)}
    faces |= {
        round(radius, 6) for piece in rim.pieces for radius in (piece.from_radius_mm, piece.to_radius_mm)
    }
    for radius in sorted(faces):
        if abs(radius - outline.greatest_radius_mm) < 1e-6:
            continue
        for start, end in outline.rim_arcs_deg:
            edge = arc(radius, start, end, step_deg=abs(end - start) / 60)
            draw_line(ax, edge, color=style.OUTLINE.edge, linewidth=0.6, gid="edge of the rim")
    # the section: the thickness to the right of the outline, the radius as it is
    left = 1.12 * rim.greatest_radius_mm + 0.5 * rim.thickness_mm
    points = []
    for piece in rim.pieces:
        count = 12 if piece.rounding_mm else 1
        for k in range(count + 1):
            s = piece.from_mm + (piece.to_mm - piece.from_mm) * k / count
            points.append(complex(left + s, float(piece.radius_mm(s))))
    low = outline.inner_radius_mm
    ring = [complex(left + rim.breaks_mm[0], low), *points, complex(left + rim.breaks_mm[-1], low)]
    look, label = style.OUTLINE, f"{rim.name} rim, section: front left, rear right"
    draw_area(ax, ring, facecolor=look.face, **look.border, label=label, gid="rim section")


def check_plot_file(file: Path) -> None:
    """Refuse a picture file that can't be written, before anything is computed.

    Raises
    ------
    InputError
        If its ending is none of `PLOT_ENDINGS`, or its folder does not exist.
    """
    check_output(file, endings=PLOT_ENDINGS, hint=f"for example `{file.stem or 'profile'}.png`")


def save_profile(weighed: WeighedCounterweight, file: Path, *, units: UnitSystem | None = None) -> None:
    """Write the drawing as PNG, SVG or PDF by the file's ending; the same input gives the same bytes.

    Raises
    ------
    InputError
        As `check_plot_file`.
    """
    check_plot_file(file)
    import matplotlib
    from matplotlib.figure import Figure

    ending = file.suffix.lower()
    settings: dict[Any, Any] = {
        "svg.hashsalt": "profile",
        "svg.fonttype": "none",
        "pdf.fonttype": 42,
        "font.family": style.FONT_FAMILY,
        "figure.constrained_layout.h_pad": 0.12,
        "figure.constrained_layout.w_pad": 0.12,
    }
    metadata = {".pdf": {"CreationDate": None}, ".svg": {"Date": None}}.get(ending)
    with matplotlib.rc_context(settings):
        figure = Figure(figsize=_BOTH_IN, layout="constrained")
        whole, body = figure.subplots(1, 2, width_ratios=(3, 2))
        plot_profile(weighed, ax=whole, units=units)
        plot_solid(weighed, ax=body)
        figure.savefig(file, format=ending.removeprefix("."), dpi=style.DOTS_PER_INCH, metadata=metadata)
