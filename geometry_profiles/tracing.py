"""A fan fitted to measured points: rim points and flank points, by least squares, with how well they fit.

Points are measured from the shaft axis, in any direction of x.  What is fitted: the rim's radius, the direction of the
centre line, the half angle, and the flanks, either as rays from the axis (a fan), parallel to the centre line, or at an
angle of their own; the simplest of these that fits about as well as the best is taken.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from geometry_profiles import shapes
from geometry_profiles.outline import Outline, OutlineError, Point

FloatArray = NDArray[np.float64]
Flanks = Literal["radial", "parallel", "straight"]
MUCH_BETTER = 4.0
"""A form of flank with one size more is taken where it lowers the mean square misfit by this factor."""
READING_MM = 0.02
"""Misfits below this are a caliper's own [mm]: no form of flank is sought to make them smaller."""


@dataclass(frozen=True, kw_only=True)
class TracedPoint:
    """A measured point and how far it lies off the traced outline.

    Attributes
    ----------
    x_mm, y_mm : float
        As measured [mm].
    kind : "rim" or "flank"
        What it was taken on.
    off_mm : float
        How far outside the outline it lies [mm]; negative: inside.
    """

    x_mm: float
    y_mm: float
    kind: Literal["rim", "flank"]
    off_mm: float


@dataclass(frozen=True, kw_only=True)
class Tracing:
    """An outline fitted to points.

    Attributes
    ----------
    outline : Outline
        In its own frame, +x along the centre line.
    flanks : "radial", "parallel" or "straight"
        Which form of flank was taken.
    rim_radius_mm, half_angle_deg, flank_angle_deg, centre_line_deg : float
        The sizes [mm, deg]; the centre line counts from the x axis in which the points were measured.
    rim_radius_error_mm, half_angle_error_deg, centre_line_error_deg : float or None
        Standard errors from the misfit; None where there are no points to spare.
    points : tuple of TracedPoint
        All points with their misfit, in the order given.
    """

    outline: Outline
    flanks: Flanks
    rim_radius_mm: float
    half_angle_deg: float
    flank_angle_deg: float
    centre_line_deg: float
    rim_radius_error_mm: float | None
    half_angle_error_deg: float | None
    centre_line_error_deg: float | None
    points: tuple[TracedPoint, ...]

    @property
    def rms_mm(self) -> float:
        """Root of the mean square misfit [mm]."""
        return math.sqrt(sum(point.off_mm**2 for point in self.points) / len(self.points))

    @property
    def worst(self) -> TracedPoint:
        """The point that fits worst."""
        return max(self.points, key=lambda point: abs(point.off_mm))


def trace_fan(
    rim_points_mm: Sequence[Point],
    flank_points_mm: Sequence[Point],
    *,
    inner_radius_mm: float,
    flanks: Flanks | None = None,
) -> Tracing:
    """Return the fan that fits measured points best.

    Parameters
    ----------
    rim_points_mm : sequence of (x, y), shape (n, 2)
        Points on the rim, from the shaft axis [mm]; at least one.
    flank_points_mm : sequence of (x, y), shape (m, 2)
        Points on the flanks, corners included, at least one on either side [mm].
    inner_radius_mm : float
        Where the crankshaft's body begins [mm].
    flanks : optional
        The form of flank, where it is known; else the simplest that fits.

    Raises
    ------
    OutlineError
        If there are too few points, all flank points lie on one side, or what fits is no fan.
    """
    rim, flank = _array(rim_points_mm, "rim"), _array(flank_points_mm, "flank")
    if not len(rim):
        raise OutlineError("a tracing needs at least one point on the rim")
    radius = float(np.hypot(rim[:, 0], rim[:, 1]).mean())
    if not math.isfinite(radius) or radius <= inner_radius_mm:
        raise OutlineError(
            f"the rim points lie {radius:.4g} mm from the shaft axis, more than the inner radius "
            f"{inner_radius_mm:g} mm is needed; measure from the shaft axis"
        )
    middle = _between(flank, rim)
    sides = _sides(flank, middle)
    if min(int((sides > 0).sum()), int((sides < 0).sum())) < 1:
        raise OutlineError("a tracing needs flank points on both sides of the centre line")
    forms: list[Flanks] = [flanks] if flanks is not None else ["radial", "parallel", "straight"]
    fits: list[tuple[Flanks, FloatArray, FloatArray]] = []
    for form in forms:
        sizes = 3 if form == "straight" else 2
        if len(flank) < sizes or (form == "straight" and min((sides > 0).sum(), (sides < 0).sum()) < 2):
            if flanks is not None:
                raise OutlineError(
                    f"{len(flank)} flank points are too few for {form} flanks; two on either side are needed"
                )
            continue
        found = _fit(form, flank, sides, middle)
        fits.append((form, found, _misfit(form, found, flank, sides)))
    best = min(fits[:2], key=lambda each: float((each[2] ** 2).sum()))
    for each in fits[2:]:
        mean, own = (float((each_misfit**2).mean()) for each_misfit in (best[2], each[2]))
        if mean > MUCH_BETTER * own and math.sqrt(mean) > READING_MM:
            best = each
    form, sizes_found, misfit = best
    return _traced(form, sizes_found, misfit, rim, flank, radius, inner_radius_mm)


def _array(points: Sequence[Point], what: str) -> FloatArray:
    array = np.asarray(points, dtype=np.float64).reshape(-1, 2) if len(points) else np.zeros((0, 2))
    if not np.all(np.isfinite(array)):
        raise OutlineError(f"a {what} point is not two finite numbers")
    return array


def _between(flank: FloatArray, rim: FloatArray) -> float:
    """Return a first direction of the centre line [rad]: the middle of all points' directions."""
    every = np.concatenate([flank, rim])
    unit = every / np.hypot(every[:, 0], every[:, 1])[:, None]
    return float(np.arctan2(unit[:, 1].sum(), unit[:, 0].sum()))


def _sides(flank: FloatArray, middle: float) -> FloatArray:
    return np.sign(flank[:, 1] * math.cos(middle) - flank[:, 0] * math.sin(middle))


def _misfit(form: Flanks, sizes: FloatArray, flank: FloatArray, sides: FloatArray) -> FloatArray:
    """Return how far outside the flanks points lie [mm].  Sizes: centre line [rad], then what the form has."""
    turn = sizes[0]
    x = flank[:, 0] * math.cos(turn) + flank[:, 1] * math.sin(turn)
    y = sides * (flank[:, 1] * math.cos(turn) - flank[:, 0] * math.sin(turn))
    if form == "radial":
        return np.asarray(y * math.cos(sizes[1]) - x * math.sin(sizes[1]))
    if form == "parallel":
        return np.asarray(y - sizes[1])
    # a line at the angle sizes[1] to the centre line, sizes[2] from the shaft axis
    return np.asarray(y * math.cos(sizes[1]) - x * math.sin(sizes[1]) - sizes[2])


def _fit(form: Flanks, flank: FloatArray, sides: FloatArray, middle: float) -> FloatArray:
    from scipy.optimize import least_squares

    half = float(np.median(np.abs(_wrapped(np.arctan2(flank[:, 1], flank[:, 0]) - middle))))
    wide = float(np.median(np.hypot(flank[:, 0], flank[:, 1]))) * math.sin(half)
    start = {
        "radial": [middle, half],
        "parallel": [middle, wide],
        "straight": [middle, half, 0.0],
    }[form]
    scale = [0.1, 0.1 if form != "parallel" else 10.0, *([10.0] if form == "straight" else [])]
    answer = least_squares(lambda sizes: _misfit(form, sizes, flank, sides), start, x_scale=scale, xtol=1e-14)
    return np.asarray(answer.x, dtype=np.float64)


def _wrapped(angle: FloatArray) -> FloatArray:
    return np.asarray((angle + np.pi) % (2.0 * np.pi) - np.pi)


def _traced(
    form: Flanks,
    sizes: FloatArray,
    misfit: FloatArray,
    rim: FloatArray,
    flank: FloatArray,
    radius: float,
    inner_radius_mm: float,
) -> Tracing:
    flank_angle = 0.0 if form == "parallel" else float(sizes[1])
    off_axis = {"radial": 0.0, "parallel": float(sizes[1]) if form == "parallel" else 0.0}.get(
        form, float(sizes[-1])
    )
    if abs(off_axis) >= radius:
        raise OutlineError("the flank points lie beyond the rim; they can't be on a flank")
    # the flank's line y cos - x sin = off meets the rim at this angle from the centre line
    half = flank_angle + math.asin(off_axis / radius)
    half_deg, flank_deg = math.degrees(half), math.degrees(flank_angle)
    if form == "radial":
        outline = shapes.fan(outer_radius_mm=radius, half_angle_deg=half_deg, inner_radius_mm=inner_radius_mm)
    else:
        outline = shapes.flanked_fan(
            outer_radius_mm=radius,
            half_angle_deg=half_deg,
            inner_radius_mm=inner_radius_mm,
            flank_angle_deg=flank_deg,
        )
    off_rim = np.hypot(rim[:, 0], rim[:, 1]) - radius
    points = [
        *(
            TracedPoint(x_mm=float(x), y_mm=float(y), kind="rim", off_mm=float(off))
            for (x, y), off in zip(rim, off_rim, strict=True)
        ),
        *(
            TracedPoint(x_mm=float(x), y_mm=float(y), kind="flank", off_mm=float(off))
            for (x, y), off in zip(flank, misfit, strict=True)
        ),
    ]
    spare = len(flank) - sizes.size
    spread = math.sqrt(float((misfit**2).sum()) / spare) if spare > 0 else None
    reach = float(np.sqrt((flank**2).sum(axis=1).mean()))
    angle_error = None if spread is None else math.degrees(spread / (reach * math.sqrt(max(len(flank), 1))))
    return Tracing(
        outline=outline,
        flanks=form,
        rim_radius_mm=radius,
        half_angle_deg=half_deg,
        flank_angle_deg=half_deg if form == "radial" else flank_deg,
        centre_line_deg=math.degrees(float(sizes[0])),
        rim_radius_error_mm=float(off_rim.std(ddof=1)) / math.sqrt(len(rim)) if len(rim) > 1 else None,
        half_angle_error_deg=angle_error,
        centre_line_error_deg=angle_error,
        points=tuple(points),
    )
