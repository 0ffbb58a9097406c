"""Where the known mass goes, drawn: the crankshaft seen from the machine's end, and from the side."""

from __future__ import annotations

import cmath
import math
from typing import TYPE_CHECKING, Any

from planner.frames import SIDES
from planner.present.drawings import style
from planner.present.drawings.pens import draw_line
from planner.present.drawings.place import seen
from planner.present.words import length_words
from planner.rotor.vectors import vector_gmm

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from planner.jobfile.job import Job
    from planner.steps.prove import Place, Proposal

_PAD = 1.15
_PLATE = {"facecolor": "white", "edgecolor": "none", "pad": 1.5}
_METAL: dict[str, Any] = {"facecolor": "0.9", "edgecolor": style.INK}
_MASS = {"marker": "o", "mfc": "white", "mec": style.INK}


def prove_figure(job: Job, proposal: Proposal) -> Figure:
    """Return the drawing: one end view per place, and the side view below with both."""
    from matplotlib.figure import Figure

    count = max(len(proposal.places), 1)
    figure = Figure(figsize=(3.6 * count + 0.4, 6.2), layout="constrained")
    grid = figure.add_gridspec(2, count, height_ratios=(3.0, 1.7))
    for index, place in enumerate(proposal.places):
        plot_place(
            job, place, mass_g=proposal.mass_g, number=index + 1, ax=figure.add_subplot(grid[0, index])
        )
    plot_side(job, proposal, ax=figure.add_subplot(grid[1, :]))
    return figure


def plot_place(job: Job, place: Place, *, mass_g: float, number: int, ax: Axes) -> Axes:
    """Draw one place as seen from the end that the machine is viewed from.

    Parameters
    ----------
    job : Job
        The job.
    place : Place
        Where the mass goes.
    mass_g : float
        The mass [g].
    number : int
        Which placement it is, 1 = first.
    ax : matplotlib Axes
        Where to draw; data in mm from the shaft axis.

    Returns
    -------
    matplotlib Axes
        The same axes; ``gid`` of the mass: ``mass``, of a throw's line: ``throw NAME``.
    """
    view = job.machine.viewed_from
    counterweights = {f"counterweight {c.name}": c for c in job.crankshaft.counterweights}
    reach = place.radius_mm
    own = counterweights.get(place.name)
    if own is not None:
        turn = cmath.exp(1j * math.radians(own.angle_deg))
        points = [seen(complex(x, y) * turn, view) for x, y in own.outline.boundary_mm]
        reach = max(reach, own.outline.greatest_radius_mm)
        ax.fill([p.real for p in points], [p.imag for p in points], **_METAL, lw=1.2)
    for throw in job.crankshaft.throws:
        end = seen(vector_gmm(throw.radius_mm, throw.angle_deg), view)
        draw_line(ax, [0j, end], color=style.INK, lw=1.4, gid=f"throw {throw.name}")
    # throws at one angle share a name plate
    names: dict[int, list[str]] = {}
    for throw in job.crankshaft.throws:
        names.setdefault(round(throw.angle_deg) % 360, []).append(throw.name)
    first = max((t.radius_mm for t in job.crankshaft.throws), default=20.0)
    for angle, throws in names.items():
        at = seen(vector_gmm(0.55 * first, angle), view)
        ax.text(at.real, at.imag, ", ".join(throws), ha="center", va="center", fontsize=9, bbox=_PLATE)
    spot = seen(vector_gmm(place.radius_mm, place.angle_deg), view)
    draw_line(ax, [0j, spot], color=style.INK, lw=0.8, ls=(0, (6, 3, 1, 3)))
    draw_line(ax, [spot], **_MASS, ms=15, mew=2.2, ls="none", gid="mass")
    ax.text(spot.real, spot.imag, str(number), ha="center", va="center", fontweight="bold", fontsize=10)
    draw_line(ax, [0j], marker="o", ms=5, color=style.INK)
    ax.set_aspect("equal")
    limit = _PAD * max(reach, first * 1.2)
    ax.set_xlim(-limit, limit)
    ax.set_ylim(-limit, limit)
    ax.set_axis_off()
    ax.set_title(
        f"{number}. {job.units.text(mass_g, 'mass')} at {place.name}\nradius {length_words(job, place.radius_mm)}\n"
        f"seen from the {view}; lines: the throws",
        fontsize=10,
    )
    return ax


def plot_side(job: Job, proposal: Proposal, *, ax: Axes) -> Axes:
    """Draw where along the shaft the masses go, with counterweights, throws, bearings and the reading planes."""
    crankshaft = job.crankshaft
    top = max((c.outline.greatest_radius_mm for c in crankshaft.counterweights), default=60.0)
    low, high = sorted((crankshaft.bearing_1_z_mm, crankshaft.bearing_2_z_mm))
    ax.plot([low, high], [0.0, 0.0], color=style.INK, lw=3.0, solid_capstyle="butt")
    for each in crankshaft.counterweights:
        up = math.copysign(1.0, math.sin(math.radians(each.angle_deg)) or 1.0)
        start, end = each.z_mm - 0.5 * each.thickness_mm, each.z_mm + 0.5 * each.thickness_mm
        ax.fill([start, end, end, start], [0.0, 0.0, up * top, up * top], **_METAL, lw=0.9)
        va = "bottom" if up > 0 else "top"
        ax.text(each.z_mm, up * top * 1.1, each.name, ha="center", va=va, fontsize=8, bbox=_PLATE)
    for z_mm, side in zip(job.planes_z_mm, SIDES, strict=True):
        ax.plot([z_mm, z_mm], [-1.45 * top, 1.45 * top], color=style.INK, lw=0.9, ls="--")
        ax.text(z_mm, 1.55 * top, f"{side} plane", ha="center", va="bottom", fontsize=8)
    for z_mm in (low, high):
        ax.plot([z_mm], [0.0], marker="^", ms=7, color=style.INK)
    for number, place in enumerate(proposal.places, start=1):
        # on the shaft's line: the end views above say on which side
        draw_line(ax, [complex(place.z_mm)], **_MASS, ms=14, mew=2.0, gid=f"side mass {number}")
        ax.text(place.z_mm, 0.0, str(number), ha="center", va="center", fontweight="bold", fontsize=9)
    front = f"front (nose), z = {length_words(job, low, with_64th=False)}"
    ax.text(low, -1.75 * top, front, ha="left", va="top", fontsize=8)
    ax.text(high, -1.75 * top, "rear (flange)", ha="right", va="top", fontsize=8)
    ax.set_ylim(-2.4 * top, 2.1 * top)
    ax.set_axis_off()
    return ax
