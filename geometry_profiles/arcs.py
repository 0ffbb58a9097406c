"""Arcs about the shaft axis as points: one helper, with the chord tolerance as its argument."""

from __future__ import annotations

import math

from geometry_profiles.outline import OutlineError, Point

CHORD_TOLERANCE_MM = 0.01
"""How far a chord of a drawn arc lies inside the arc at most [mm]."""
_MOST_STEPS = 10_000


def arc_points(
    radius_mm: float, *, from_deg: float, to_deg: float, chord_tolerance_mm: float = CHORD_TOLERANCE_MM
) -> tuple[Point, ...]:
    """Return points on an arc about the origin, both ends included, evenly spaced.

    A chord over the angle t lies ``radius*(1 - cos(t/2))`` inside its arc, so the tolerance sets the step.

    Parameters
    ----------
    radius_mm : float
        Radius of the arc [mm].
    from_deg, to_deg : float
        Ends of the arc [deg]; ``to_deg < from_deg`` runs clockwise.
    chord_tolerance_mm : float
        How far a chord may lie inside the arc [mm].

    Returns
    -------
    tuple of (x, y), shape (n, 2)
        Points on the arc [mm]; a full turn ends where it began.

    Raises
    ------
    OutlineError
        If radius or tolerance is not positive, or the arc is empty or longer than a full turn.
    """
    if not (math.isfinite(radius_mm) and radius_mm > 0.0):
        raise OutlineError(f"an arc has radius {radius_mm} mm, more than 0 is allowed")
    if not chord_tolerance_mm > 0.0:
        raise OutlineError(f"an arc has chord tolerance {chord_tolerance_mm} mm, more than 0 is allowed")
    sweep_deg = to_deg - from_deg
    if not 0.0 < abs(sweep_deg) <= 360.0:
        raise OutlineError(
            f"an arc runs from {from_deg:g} to {to_deg:g} degrees, "
            "more than 0 and at most 360 degrees are allowed"
        )
    step_deg = chord_step_deg(radius_mm, chord_tolerance_mm=chord_tolerance_mm)
    if step_deg * _MOST_STEPS < abs(sweep_deg):
        raise OutlineError(
            f"an arc of radius {radius_mm:g} mm would need more than {_MOST_STEPS} chords; no part has such a rim"
        )
    steps = max(1, math.ceil(abs(sweep_deg) / step_deg))
    angles = [math.radians(from_deg + sweep_deg * index / steps) for index in range(steps + 1)]
    return tuple((radius_mm * math.cos(angle), radius_mm * math.sin(angle)) for angle in angles)


def chord_step_deg(radius_mm: float, *, chord_tolerance_mm: float = CHORD_TOLERANCE_MM) -> float:
    """Return the largest angle between points on an arc [deg] (at most 45) that keeps the chord tolerance."""
    if chord_tolerance_mm >= radius_mm:
        return 45.0
    return min(45.0, 2.0 * math.degrees(math.acos(1.0 - chord_tolerance_mm / radius_mm)))
