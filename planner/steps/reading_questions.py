"""Readings that make no sense are questioned before any metal is cut."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from planner.frames import Side, TwoPlanes
from planner.jobfile.job import Job
from planner.records import dataclass
from planner.rotor.crankshaft import Counterweight, Crankshaft
from planner.rotor.vectors import angle_deg, difference_deg

# a heavy spot this far beyond the edge of every counterweight can't be drilled into balance from that side
_FAR_DEG = 45.0
# specific unbalance (amount / rotor mass) outside this range is unusual for a crankshaft (common practice);
# 1 um of mass eccentricity is finer than machines for crankshafts resolve, 3000 um is a bob forgotten or a wrong unit
_LEAST_UM, _GREATEST_UM = 1.0, 3000.0
# the same limits as shares of all bob moment on one side, for crankshafts of unknown mass
_LEAST_SHARE, _GREATEST_SHARE = 1e-4, 0.4


@dataclass(frozen=True, kw_only=True)
class HeavySpot:
    """Where the heavy spot is on one side, relative to the counterweight nearest to that plane and to the spot."""

    side: str
    amount_gmm: float
    angle_deg: float
    counterweight: Counterweight
    from_centre_deg: float
    beyond_edge_deg: float


def heavy_spots(job: Job, vectors_gmm: Sequence[complex]) -> TwoPlanes[HeavySpot]:
    """Return the heavy spot of the left and of the right plane, each beside its nearest counterweight.

    Of the counterweights on that plane's half of the crankshaft those whose metal is nearest in angle are taken, and of
    them the one nearest to the plane.
    """
    return TwoPlanes(*(_spot(job, side, vector) for side, vector in TwoPlanes.vectors(vectors_gmm).items()))


def questions_about(job: Job, *, reading_gmm: Sequence[complex]) -> tuple[str, ...]:
    """Return what is odd about the size of a reading (left and right [g*mm]), in words; empty when nothing is."""
    return tuple(_size(job, reading_gmm))


def far_words(job: Job, vectors_gmm: Sequence[complex]) -> str:
    """Return a sentence about heavy spots far from every counterweight, with a blank behind; nothing when none is."""
    far = [
        spot
        for spot in heavy_spots(job, vectors_gmm)
        if spot.amount_gmm > 0 and spot.beyond_edge_deg > _FAR_DEG
    ]
    if not far:
        return ""
    places = " and ".join(
        f"{abs(spot.from_centre_deg):.0f} degrees from the centre line of {spot.counterweight.name} ({spot.side})"
        for spot in far
    )
    spots = "The heavy spots lie" if len(far) > 1 else "The heavy spot lies"
    return (
        f"{spots} far from every counterweight: {places}; with heavier parts than it was built for that is right, and heavy "
        "metal goes in. "
    )


def edge_deg(counterweight: Counterweight) -> float:
    """Return half the angle that a counterweight's outline spans about the shaft axis, seen from its centre line [deg]."""
    if counterweight.outline.half_angle_deg is not None:
        return counterweight.outline.half_angle_deg
    return max(
        (abs(angle_deg(complex(x, y)) if y >= 0 else 360.0 - angle_deg(complex(x, y))))
        for x, y in counterweight.outline.boundary_mm
    )


def _spot(job: Job, side: Side, vector: complex) -> HeavySpot:
    angle = angle_deg(vector)
    counterweights = _of_side(job.crankshaft, job.planes_z_mm, side)
    here = job.planes_z_mm.at(side)

    def distance(each: Counterweight) -> tuple[float, float, float]:
        beyond = max(0.0, abs(difference_deg(angle, each.angle_deg)) - edge_deg(each))
        # of those whose metal the spot lies on, the one at the plane is where the operator would drill
        return beyond, abs(each.z_mm - here), each.z_mm

    nearest = min(counterweights, key=distance)
    from_centre = difference_deg(angle, nearest.angle_deg)
    return HeavySpot(
        side=side,
        amount_gmm=abs(vector),
        angle_deg=angle,
        counterweight=nearest,
        from_centre_deg=from_centre,
        beyond_edge_deg=max(0.0, abs(from_centre) - edge_deg(nearest)),
    )


def _of_side(crankshaft: Crankshaft, planes_z_mm: TwoPlanes[float], side: Side) -> tuple[Counterweight, ...]:
    here, there = planes_z_mm if side == "left" else planes_z_mm[::-1]
    near = tuple(c for c in crankshaft.counterweights if abs(c.z_mm - here) <= abs(c.z_mm - there))
    return near or crankshaft.counterweights


def _size(job: Job, vectors: Sequence[complex]) -> Iterator[str]:
    mass_kg = job.crankshaft.mass_kg
    bob_moment = sum(
        (job.bobs_wanted_g or {}).get(throw.name, 0.0) * throw.radius_mm for throw in job.crankshaft.throws
    )
    # one plane carries about half the rotor
    if mass_kg is not None:
        least, greatest = _LEAST_UM * mass_kg / 2.0, _GREATEST_UM * mass_kg / 2.0
    elif bob_moment > 0:
        least, greatest = _LEAST_SHARE * bob_moment / 2.0, _GREATEST_SHARE * bob_moment / 2.0
    else:
        return
    amounts = [abs(complex(vector)) for vector in vectors]
    side: Side = "left" if amounts[0] >= amounts[1] else "right"
    if max(amounts) > greatest:
        yield (
            f"{_text(job, max(amounts), side)} is very much for this crankshaft (more than "
            f"{_text(job, greatest, side)} would be unusual): "
            "is the unit right, are the bobs on, is the radius right?"
        )
    elif 0.0 < max(amounts) < least:
        yield (
            f"{_text(job, max(amounts), side)} is very little for this crankshaft (less than "
            f"{_text(job, least, side)} can hardly be read): "
            "is the unit right? ounce-inches taken for gram-millimetres read 720 times too small"
        )


def _text(job: Job, amount_gmm: float, side: Side) -> str:
    """Return an amount of a plane as the display shows it."""
    shown = job.machine.display_amount(amount_gmm, side=side)
    return job.display_units.text(shown, job.display_kind)
