"""Weighing a connecting rod end by end, and what goes wrong with it.

One end on the scale, the other on a free support, the centre line level: the readings are the small-end and
big-end mass, ``m*l_b/L`` and ``m*(L - l_b)/L`` (l_b = big-end centre to centre of gravity).  For force and couple
of the engine these two masses are exact: the momentum of a rod is its mass times the same weighted mean of the
two pins' velocities.  Only torque and side force err, by the moment of inertia.  Masses [g], lengths [mm].
"""

from __future__ import annotations

import math

from planner.errors import InputError
from planner.records import dataclass


@dataclass(frozen=True, kw_only=True)
class RodSplit:
    """Small-end and big-end mass of a rod [g]."""

    small_end_g: float
    big_end_g: float


@dataclass(frozen=True, kw_only=True)
class RodCheck:
    """Both ends against the whole rod.

    ``difference_g`` = small + big - whole; ``agrees`` within the scale; ``text`` says what to do.
    """

    difference_g: float
    agrees: bool
    text: str


@dataclass(frozen=True, kw_only=True)
class RodError:
    """Errors of the two readings [g] from one cause; positive reads too much."""

    cause: str
    small_end_g: float
    big_end_g: float


@dataclass(frozen=True, kw_only=True)
class RodInertia:
    """Moment of inertia of the two-mass rod beside the real one [g*mm*mm].

    ``excess`` is relative (0.11 = the model has 11 percent too much); ``correction_couple_gmm2`` times the
    angular acceleration is the couple that the model misses.  ``far_mass_g`` and ``far_distance_mm`` are the pair
    that is dynamically right with the small end kept: the other mass, so far from the centre of gravity.
    """

    model_gmm2: float
    real_gmm2: float
    excess: float
    correction_couple_gmm2: float
    small_end_g: float
    far_mass_g: float
    far_distance_mm: float


def _check_rod(mass_g: float, length_mm: float, from_big_end_mm: float) -> None:
    if not (mass_g > 0.0 and length_mm > 0.0):
        raise InputError(f"rod of {mass_g:g} g and {length_mm:g} mm, both must be above 0")
    if not 0.0 <= from_big_end_mm <= length_mm:
        raise InputError(
            f"centre of gravity {from_big_end_mm:g} mm from the big end, it must be from 0 to the length, "
            f"{length_mm:g} mm",
            hint="measure along the centre line from the centre of the big end",
        )


def split_rod(mass_g: float, *, length_mm: float, centre_from_big_end_mm: float) -> RodSplit:
    """Return the two ends of a rod from its mass, centre distance and centre of gravity.

    Raises
    ------
    InputError
        If mass or length are not above 0, or the centre of gravity is not between the ends.
    """
    _check_rod(mass_g, length_mm, centre_from_big_end_mm)
    small = mass_g * centre_from_big_end_mm / length_mm
    return RodSplit(small_end_g=small, big_end_g=mass_g - small)


def check_weighing(*, small_end_g: float, big_end_g: float, whole_g: float, scale_g: float = 0.1) -> RodCheck:
    """Return whether the two ends add up to the rod weighed whole.

    Parameters
    ----------
    scale_g : float
        What the scale shows; three weighings may differ by three halves of it, with one more for its linearity.

    Notes
    -----
    Friction, a tilted rod with an off-line centre of gravity and a false scale show.  A wrong contact point of
    both ends can cancel and does not show.

    Raises
    ------
    InputError
        If a mass is not above 0, or ``scale_g`` is not.
    """
    for name, mass in (("small end", small_end_g), ("big end", big_end_g), ("whole rod", whole_g)):
        if not mass > 0.0:
            raise InputError(f"{name}: {mass:g} g, it must be above 0")
    if not scale_g > 0.0:
        raise InputError(f"scale reads to {scale_g:g} g, it must be above 0")
    difference = small_end_g + big_end_g - whole_g
    agrees = abs(difference) <= 2.5 * scale_g + 1e-9
    if agrees:
        text = "both ends add up to the rod"
    else:
        more = "more" if difference > 0.0 else "less"
        text = (
            f"both ends together weigh {abs(difference):.1f} g {more} than the rod: level the centre line, free "
            "the support, check that both contacts are on the centres, weigh again"
        )
    return RodCheck(difference_g=difference, agrees=agrees, text=text)


def rod_errors(
    mass_g: float,
    *,
    length_mm: float,
    centre_from_big_end_mm: float,
    tilt_deg: float = 0.0,
    centre_off_line_mm: float = 0.0,
    friction: float = 0.0,
    contact_off_mm: float = 0.0,
) -> tuple[RodError, ...]:
    """Return what a rod that is not level, a support with friction, or a contact off the centre does.

    Parameters
    ----------
    mass_g, length_mm, centre_from_big_end_mm : float
        The rod.
    tilt_deg : float
        Angle of the centre line to the horizontal, the end on the scale low [deg].
    centre_off_line_mm : float
        Centre of gravity off the line of the two centres, upward [mm].
    friction : float
        Coefficient of friction of the supports.
    contact_off_mm : float
        How far outside the end's centre the scale touches [mm]; inside is negative.

    Returns
    -------
    tuple of RodError
        One each for tilt, friction and contact.  The friction error may have either sign and is given as the
        positive amount.

    Notes
    -----
    Moments about the other support.  Tilt alone does nothing when the centre of gravity is on the line and the
    supports only push upward; off the line by h the scale reads ``m*(h/L)*tan(tilt)`` more at the low end.  A
    horizontal push of at most ``friction`` times the smaller support load adds ``push*tan(tilt)``.  A contact that
    is d outside its centre takes the share ``d/(L + d)`` off the reading.

    Raises
    ------
    InputError
        As `split_rod`; if the tilt is not between -45 and 45 degrees, friction is negative, or the contact is off
        by half the length.
    """
    split = split_rod(mass_g, length_mm=length_mm, centre_from_big_end_mm=centre_from_big_end_mm)
    if not -45.0 < tilt_deg < 45.0:
        raise InputError(f"tilt {tilt_deg:g} degrees, it must be between -45 and 45")
    if not friction >= 0.0:
        raise InputError(f"friction {friction:g}, it must be 0 or more")
    if not abs(contact_off_mm) < 0.5 * length_mm:
        raise InputError(
            f"contact {contact_off_mm:g} mm off its centre, it must be below half the rod length"
        )
    slope = math.tan(math.radians(tilt_deg))
    lean = mass_g * centre_off_line_mm / length_mm * slope
    push = friction * min(split.small_end_g, split.big_end_g) * abs(slope)
    share = contact_off_mm / (length_mm + contact_off_mm)
    return (
        RodError(cause="tilt", small_end_g=lean, big_end_g=lean),
        RodError(cause="friction", small_end_g=push, big_end_g=push),
        RodError(cause="contact", small_end_g=-split.small_end_g * share, big_end_g=-split.big_end_g * share),
    )


def rod_inertia(
    mass_g: float, *, length_mm: float, centre_from_big_end_mm: float, inertia_gmm2: float
) -> RodInertia:
    """Return how far the two-mass rod's moment of inertia is from the real one about the centre of gravity.

    Raises
    ------
    InputError
        As `split_rod`; if the inertia is not above 0, or the centre of gravity is at an end.
    """
    _check_rod(mass_g, length_mm, centre_from_big_end_mm)
    to_small = length_mm - centre_from_big_end_mm
    if not inertia_gmm2 > 0.0:
        raise InputError(f"moment of inertia {inertia_gmm2:g} g*mm*mm, it must be above 0")
    if not 0.0 < centre_from_big_end_mm < length_mm:
        raise InputError("the centre of gravity is at an end, there is no pair of masses for it")
    model = mass_g * centre_from_big_end_mm * to_small
    far = inertia_gmm2 / (mass_g * to_small)
    return RodInertia(
        model_gmm2=model,
        real_gmm2=inertia_gmm2,
        excess=model / inertia_gmm2 - 1.0,
        correction_couple_gmm2=model - inertia_gmm2,
        small_end_g=mass_g * far / (to_small + far),
        far_mass_g=mass_g * to_small / (to_small + far),
        far_distance_mm=far,
    )
