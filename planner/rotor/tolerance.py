"""The tolerance as the builder states it, and what it means at bearings or planes.

References
----------
.. [1] ISO 21940-11:2016 (formerly ISO 1940-1): permissible residual unbalance and its share per tolerance
   plane; the lever rule's clause and the limits of overhung rotors from memory.
.. [2] H. P. Bloch, F. K. Geitner, Machinery Component Maintenance and Repair, ch. 6, pp. 301-307: 7:3 limit of
   the shares, larger share at the plane nearer the centre of mass, rule on the planes' distance.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Literal

from planner.errors import InputError
from planner.records import dataclass
from planner.rotor.grades import (
    BalanceGrade,
    grade_of_residual_mm_per_s,
    next_standard_grade,
    permissible_residual_gmm,
)
from planner.rotor.limits import LimitRow
from planner.rotor.vectors import ComplexArray, plane_shares
from planner.rotor.verdict import judge

JudgedAt = Literal["bearings", "planes"]
Way = Literal["grade", "total", "each_side", "left and right", "static and couple"]

INBOARD_LIMITS = (0.3, 0.7)
OUTBOARD_LIMITS = (0.3, 1.3)


@dataclass(frozen=True, kw_only=True)
class ToleranceSpec:
    """The tolerance, stated in exactly one way.

    Attributes
    ----------
    grade_mm_per_s : float, optional
        Balance grade [mm/s]; needs the crankshaft's mass and service speed.
    total_gmm : float, optional
        For the whole crankshaft [g*mm], shared out like the residual of a grade.
    each_side_gmm : float, optional
        The same limit left and right [g*mm].
    left_gmm, right_gmm : float, optional
        A limit for each [g*mm].
    static_gmm, couple_gmm : float, optional
        Limits of the static vector and of each vector of the couple pair [g*mm], about the centre of mass.
    judged_at : {"bearings", "planes"}, optional
        None takes the bearings for a grade or a total, else the reading planes.
    measurement_error_gmm : float, optional
        Of the amount at each place that is judged [g*mm].
    drive_mass_kg : float, optional
        Mass of the crankshaft drive [kg], which the grades of crankshafts mean: the crankshaft with what turns with it.
        The crankshaft's own mass is taken if left out.
    stated : str
        The way the builder put it, for example ``G 16`` or ``0.5 oz-in each side``.

    Raises
    ------
    InputError
        If none or more than one way is used, half of a pair is missing, or a limit is not positive.
    """

    grade_mm_per_s: float | None = None
    total_gmm: float | None = None
    each_side_gmm: float | None = None
    left_gmm: float | None = None
    right_gmm: float | None = None
    static_gmm: float | None = None
    couple_gmm: float | None = None
    judged_at: JudgedAt | None = None
    measurement_error_gmm: float | None = None
    drive_mass_kg: float | None = None
    stated: str = ""

    def __post_init__(self) -> None:
        limits = {
            "grade": self.grade_mm_per_s,
            "total": self.total_gmm,
            "each_side": self.each_side_gmm,
            "left": self.left_gmm,
            "right": self.right_gmm,
            "static": self.static_gmm,
            "couple": self.couple_gmm,
        }
        for name, value in limits.items():
            if value is not None and not (math.isfinite(value) and value > 0.0):
                raise InputError(f"given a tolerance `{name}` of {value:g}; it must be a positive number")
        error = self.measurement_error_gmm
        if error is not None and not (math.isfinite(error) and error >= 0.0):
            raise InputError(f"given a measurement error of {error:g} g*mm; it must be 0 or more")
        if self.drive_mass_kg is not None and not (
            math.isfinite(self.drive_mass_kg) and self.drive_mass_kg > 0.0
        ):
            raise InputError(f"given a drive mass of {self.drive_mass_kg:g} kg; it must be a positive number")
        given = {name for name, value in limits.items() if value is not None}
        for one, other in (("left", "right"), ("static", "couple")):
            if len(given & {one, other}) == 1:
                have, missing = (one, other) if one in given else (other, one)
                raise InputError(
                    f"given a tolerance `{have}` without `{missing}`; the two belong together",
                    hint=f"add `{missing}`, or state one of grade, total, each_side",
                )
        if given not in (
            {"grade"}, {"total"}, {"each_side"}, {"left", "right"}, {"static", "couple"},
        ):  # fmt: skip
            stated = ", ".join(f"`{name}`" for name in limits if name in given) or "nothing"
            raise InputError(
                f"given {stated} as the tolerance; exactly one way of stating it is allowed: grade, total, "
                "each_side, left and right, or static and couple",
                hint="keep the one that the builder asked for",
            )
        if self.judged_at not in (None, "bearings", "planes"):
            raise InputError(f"given judged_at `{self.judged_at}`; `bearings` or `planes` is allowed")

    @property
    def way(self) -> Way:
        """How the tolerance is stated."""
        if self.grade_mm_per_s is not None:
            return "grade"
        if self.total_gmm is not None:
            return "total"
        if self.each_side_gmm is not None:
            return "each_side"
        return "left and right" if self.left_gmm is not None else "static and couple"

    @property
    def place(self) -> JudgedAt:
        """Where the residual is judged: as stated, else bearings for a grade or total and planes otherwise."""
        if self.judged_at is not None:
            return self.judged_at
        return "bearings" if self.way in ("grade", "total") else "planes"


@dataclass(frozen=True, kw_only=True)
class Allocation:
    """How a total is shared between two places.

    ``levers`` are the shares of the lever rule (one is negative when the centre of mass lies outside), ``shares``
    are the same as amounts within the limits; both are shares of the total, without unit.
    """

    levers: tuple[float, float]
    shares: tuple[float, float]
    inboard: bool

    @property
    def limited(self) -> bool:
        """True when a limit changed a share."""
        return any(
            not math.isclose(abs(lever), share) for lever, share in zip(self.levers, self.shares, strict=True)
        )


@dataclass(frozen=True, kw_only=True)
class GradeReached:
    """The grade [mm/s] that a residual just meets, and the finest standard grade that it meets (None: beyond)."""

    grade_mm_per_s: float
    standard: BalanceGrade | None


def allocate(places_z_mm: Sequence[float], *, centre_of_mass_z_mm: float) -> Allocation:
    """Return how a total tolerance is shared between two places by the lever rule [1]_ [2]_.

    The larger share goes to the place nearer the centre of mass.  Between the places each share stays within
    0.3..0.7 of the total; with the centre of mass outside them, within 0.3..1.3.

    Parameters
    ----------
    places_z_mm : sequence of 2 floats
        The bearings, or the planes [mm], in any order.
    centre_of_mass_z_mm : float
        [mm]

    Raises
    ------
    InputError
        If the two places are the same.

    References
    ----------
    .. [1] ISO 21940-11:2016 (lever rule and the limits of overhung rotors from memory).
    .. [2] Bloch & Geitner, Machinery Component Maintenance and Repair, ch. 6, p. 307 (7:3 limit).
    """
    levers = plane_shares(centre_of_mass_z_mm, places_z_mm)
    inboard = min(levers) >= 0.0
    low, high = INBOARD_LIMITS if inboard else OUTBOARD_LIMITS
    share1, share2 = (min(max(abs(lever), low), high) for lever in levers)
    return Allocation(levers=levers, shares=(share1, share2), inboard=inboard)


def total_gmm(spec: ToleranceSpec, *, mass_kg: float | None, speed_rpm: float | None) -> float | None:
    """Return the total permissible residual [g*mm] of a grade or a total, None for the other ways.

    Raises
    ------
    InputError
        If a grade lacks the mass or the service speed.
    """
    if spec.grade_mm_per_s is None:
        return spec.total_gmm
    mass_kg = mass_kg if spec.drive_mass_kg is None else spec.drive_mass_kg
    missing = [name for name, value in (("mass", mass_kg), ("service speed", speed_rpm)) if value is None]
    if mass_kg is None or speed_rpm is None:
        raise InputError(
            f"given the grade G {spec.grade_mm_per_s:g} without the crankshaft's {' and '.join(missing)}; "
            "a grade needs both mass and service speed",
            hint="weigh the crankshaft and state its greatest service speed, or state the tolerance as a total",
        )
    return permissible_residual_gmm(spec.grade_mm_per_s, mass_kg=mass_kg, speed_rpm=speed_rpm)


def limit_rows(
    spec: ToleranceSpec,
    *,
    planes_z_mm: tuple[float, float],
    bearings_z_mm: tuple[float, float],
    mass_kg: float | None = None,
    speed_rpm: float | None = None,
    centre_of_mass_z_mm: float | None = None,
) -> tuple[LimitRow, ...]:
    """Return the limits on the two residual vectors.

    Parameters
    ----------
    spec : ToleranceSpec
        The tolerance as stated.
    planes_z_mm : tuple of 2 floats
        Reading planes, left and right [mm]; left may be the rear one.
    bearings_z_mm : tuple of 2 floats
        Bearings 1 and 2 [mm].
    mass_kg, speed_rpm : float, optional
        Mass [kg] and greatest service speed [rpm]; only a grade needs them.
    centre_of_mass_z_mm : float, optional
        [mm]; the middle of the bearings if left out.

    Returns
    -------
    tuple of LimitRow
        ``bearing 1``, ``bearing 2``; or ``left``, ``right``; or ``static``, ``couple``.

    Raises
    ------
    InputError
        If mass or speed is missing for a grade, the bearings are the same, or the planes are closer together
        than a tenth of the bearings' distance.

    Notes
    -----
    Weights are lever shares: a vector in a plane acts on bearing A with ``(z_B - z)/(z_B - z_A)``.  The couple
    is the vector ``C = U2 - S*(zs - z1)/(z2 - z1)`` of the pair in the reading planes; judged at the bearings
    it is the pair there that has the same moment.
    """
    check_places(planes_z_mm, bearings_z_mm)
    middle = 0.5 * (bearings_z_mm[0] + bearings_z_mm[1])
    zs = middle if centre_of_mass_z_mm is None else centre_of_mass_z_mm
    if spec.static_gmm is not None and spec.couple_gmm is not None:
        share = plane_shares(zs, planes_z_mm)[1]
        scale = 1.0
        if spec.place == "bearings":
            scale = (planes_z_mm[1] - planes_z_mm[0]) / (bearings_z_mm[1] - bearings_z_mm[0])
        return (
            LimitRow(at="static", weight_1=1.0, weight_2=1.0, tolerance_gmm=spec.static_gmm),
            LimitRow(
                at="couple",
                weight_1=-share * scale,
                weight_2=(1.0 - share) * scale,
                tolerance_gmm=spec.couple_gmm,
            ),
        )
    places = bearings_z_mm if spec.place == "bearings" else planes_z_mm
    total = total_gmm(spec, mass_kg=mass_kg, speed_rpm=speed_rpm)
    if total is not None:
        share1, share2 = allocate(places, centre_of_mass_z_mm=zs).shares
        tolerances = (share1 * total, share2 * total)
    elif spec.each_side_gmm is not None:
        tolerances = (spec.each_side_gmm, spec.each_side_gmm)
    else:
        assert spec.left_gmm is not None  # made sure of by ToleranceSpec
        assert spec.right_gmm is not None
        tolerances = (spec.left_gmm, spec.right_gmm)
        # "left" belongs to the bearing on the left plane's side, whichever number that bearing has
        if (places[1] - places[0]) * (planes_z_mm[1] - planes_z_mm[0]) < 0.0:
            tolerances = (spec.right_gmm, spec.left_gmm)
    names = ("bearing 1", "bearing 2") if spec.place == "bearings" else ("left", "right")
    seen = [plane_shares(z_mm, places) for z_mm in planes_z_mm]
    return tuple(
        LimitRow(
            at=names[i],
            weight_1=seen[0][i],
            weight_2=seen[1][i],
            tolerance_gmm=tolerances[i],
            z_mm=places[i],
        )
        for i in (0, 1)
    )


@dataclass(frozen=True, kw_only=True)
class StaticAndCouple:
    """Limits for planes that are close together or outside the bearings, made of a total.

    Attributes
    ----------
    static_gmm : float
        Of the static vector [g*mm].
    couple_gmm : float
        Of each vector of the couple pair, in the planes [g*mm].
    case : str
        ``between`` (the bearings) or ``overhung``.
    needed : bool
        Whether planes like these want limits of this kind: closer than a third of the bearings' distance, or outside.
    """

    static_gmm: float
    couple_gmm: float
    case: Literal["between", "overhung"]
    needed: bool


def static_and_couple(
    total_gmm: float, *, planes_z_mm: tuple[float, float], bearings_z_mm: tuple[float, float]
) -> StaticAndCouple:
    """Return static and couple limits for a total, with ``d`` the bearings' and ``b`` the planes' distance.

    Between the bearings ``static = U/2``, ``couple = U/2 * 3d/(4b)`` in each plane; where both planes are outside of one
    bearing ``static = U/2 * d/(2c)``, with ``c`` from the static plane to the nearer bearing (here the farther of the two
    planes, the strict choice), and the same couple.  When such limits are wanted (``b < d/3``, or outside): [1]_; the
    formulas themselves from memory of the standard [2]_: to be checked against the bought text.

    Raises
    ------
    InputError
        If planes or bearings are at the same place.

    References
    ----------
    .. [1] Bloch & Geitner, Machinery Component Maintenance and Repair, ch. 6, p. 307.
    .. [2] ISO 21940-11 (from memory).
    """
    low, high = sorted(bearings_z_mm)
    near, far = sorted(planes_z_mm)
    if low == high or near == far:
        raise InputError(
            "the two planes, or the two bearings, are at the same place; they must be apart",
            hint="measure all of them from the same zero point",
        )
    span, distance = high - low, far - near
    outside = far <= low or near >= high
    couple = total_gmm / 2.0 * 3.0 * span / (4.0 * distance)
    static = total_gmm / 2.0
    if outside:
        reach = max(low - near, far - high)
        static = total_gmm / 2.0 * span / (2.0 * reach)
    return StaticAndCouple(
        static_gmm=static,
        couple_gmm=couple,
        case="overhung" if outside else "between",
        needed=outside or distance < span / 3.0,
    )


def check_places(planes_z_mm: Sequence[float], bearings_z_mm: Sequence[float]) -> None:
    """Check that bearings and reading planes are far enough apart to say anything.

    Raises
    ------
    InputError
        If the bearings are the same, or the planes are closer together than a tenth of the bearings' distance.
    """
    span = abs(bearings_z_mm[1] - bearings_z_mm[0])
    distance = abs(planes_z_mm[1] - planes_z_mm[0])
    if span == 0.0:
        raise InputError(
            f"given both bearings at z = {bearings_z_mm[0]:g} mm; they must be apart",
            hint="measure bearing_1_z and bearing_2_z from the same zero point",
        )
    if distance < 0.1 * span:
        raise InputError(
            f"given reading planes {distance:g} mm apart with the bearings {span:g} mm apart; planes must be at "
            f"least a tenth of that apart ({0.1 * span:g} mm), or every couple is read far too large",
            hint="read in planes farther apart, by habit the outermost counterweights",
        )


def tolerance_notes(
    spec: ToleranceSpec, *, planes_z_mm: tuple[float, float], bearings_z_mm: tuple[float, float]
) -> tuple[str, ...]:
    """Return what should be said about a grade or a total that is judged in the reading planes.

    The rules on the planes' distance are those of Bloch & Geitner, ch. 6, p. 307; moving the residual to the
    bearings needs none of them.
    """
    if spec.place == "bearings" or spec.way not in ("grade", "total"):
        return ()
    span = abs(bearings_z_mm[1] - bearings_z_mm[0])
    distance = abs(planes_z_mm[1] - planes_z_mm[0])
    notes = []
    if distance > span * (1.0 + 1e-9):
        notes.append(
            f"the planes ({distance:g} mm) are farther apart than the bearings ({span:g} mm): by the usual rule "
            f"the total should be taken {span / distance:.2f} times as large; judged at the bearings no such rule "
            "is needed"
        )
    low, high = sorted(bearings_z_mm)
    outboard = max(planes_z_mm) < low or min(planes_z_mm) > high
    if distance < span / 3.0 or outboard:
        why = (
            "both lie outside the bearings"
            if outboard
            else "are closer than a third of the bearings' distance"
        )
        notes.append(
            f"the planes {why}: state the tolerance as static and couple, or judge it at the bearings"
        )
    return tuple(notes)


def grade_reached(
    residual_gmm: Sequence[complex] | ComplexArray,
    *,
    planes_z_mm: tuple[float, float],
    bearings_z_mm: tuple[float, float],
    mass_kg: float,
    speed_rpm: float,
    centre_of_mass_z_mm: float | None = None,
) -> GradeReached:
    """Return the balance grade that a residual would just meet at the bearings, each with its share.

    Parameters
    ----------
    residual_gmm : sequence of 2 complex
        Residual vectors in the reading planes [g*mm].
    planes_z_mm, bearings_z_mm : tuple of 2 floats
        [mm]
    mass_kg, speed_rpm : float
        Mass [kg] and greatest service speed [rpm].
    centre_of_mass_z_mm : float, optional
        [mm]; the middle of the bearings if left out.
    """
    rows = limit_rows(
        ToleranceSpec(total_gmm=1.0),
        planes_z_mm=planes_z_mm,
        bearings_z_mm=bearings_z_mm,
        centre_of_mass_z_mm=centre_of_mass_z_mm,
    )
    total = max(place.amount_gmm / place.tolerance_gmm for place in judge(residual_gmm, rows))
    grade = grade_of_residual_mm_per_s(total, mass_kg=mass_kg, speed_rpm=speed_rpm)
    return GradeReached(grade_mm_per_s=grade, standard=next_standard_grade(grade))


def grams_at_radius_g(unbalance_gmm: float, *, radius_mm: float) -> float:
    """Return the mass [g] that makes an unbalance [g*mm] at a radius [mm].

    Raises
    ------
    InputError
        If the radius is not positive.
    """
    if not radius_mm > 0.0:
        raise InputError(f"given a radius of {radius_mm:g} mm; it must be more than 0 mm")
    return unbalance_gmm / radius_mm
