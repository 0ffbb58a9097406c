"""The residual that a balance grade permits, in total, per bearing, and as static and couple limits."""

from __future__ import annotations

from planner.errors import InputError
from planner.formula import Formula
from planner.quantity import from_gmm
from planner.records import dataclass
from planner.rotor.grades import (
    next_standard_grade,
    permissible_eccentricity_um,
    permissible_residual_gmm,
    standard_grade,
)
from planner.rotor.tolerance import (
    Allocation,
    StaticAndCouple,
    allocate,
    grams_at_radius_g,
    static_and_couple,
)
from planner.rotor.tolerance_work import allocation_work, residual_work


@dataclass(frozen=True, kw_only=True)
class GradeQuestion:
    """What is asked; ``mass_g`` is the drive's where ``of_drive``, places along the shaft [mm]."""

    grade_mm_per_s: float
    mass_g: float
    of_drive: bool
    speed_rpm: float
    bearings_z_mm: tuple[float, float] | None
    centre_of_mass_z_mm: float | None
    planes_z_mm: tuple[float, float] | None
    radius_mm: float | None


@dataclass(frozen=True, kw_only=True)
class GradeAnswer:
    """What is permitted; without bearings half and half, without a centre of mass their middle."""

    question: GradeQuestion
    total_gmm: float
    centre_z_mm: float | None
    allocation: Allocation
    pair: StaticAndCouple | None

    @property
    def mass_kg(self) -> float:
        """The mass that counts [kg]."""
        return self.question.mass_g / 1000.0

    @property
    def eccentricity_um(self) -> float:
        """How far the centre of mass may lie off the axis [micrometre]."""
        return permissible_eccentricity_um(self.question.grade_mm_per_s, speed_rpm=self.question.speed_rpm)

    @property
    def grade_of_drives(self) -> bool:
        """Whether the table's row of the grade, or the next one, is of crank drives."""
        grade = self.question.grade_mm_per_s
        row = standard_grade(grade) or next_standard_grade(grade)
        return row is not None and "crank drive" in row.machinery

    def grams_g(self, amount_gmm: float) -> float | None:
        """Return an amount as a mass at the radius that was asked about [g]."""
        radius = self.question.radius_mm
        return None if radius is None else grams_at_radius_g(amount_gmm, radius_mm=radius)


def grade_answer(question: GradeQuestion) -> GradeAnswer:
    """Return what a grade permits.

    Raises
    ------
    InputError
        If only some of the places that belong together are given, or they can't be.
    """
    total = permissible_residual_gmm(
        question.grade_mm_per_s, mass_kg=question.mass_g / 1000.0, speed_rpm=question.speed_rpm
    )
    centre = question.centre_of_mass_z_mm
    allocation = Allocation(levers=(0.5, 0.5), shares=(0.5, 0.5), inboard=True)
    if question.bearings_z_mm is not None:
        first, second = question.bearings_z_mm
        if first == second:
            raise InputError(
                f"given both bearings at z = {first:g} mm; they must be apart",
                hint="measure both from the same zero point",
            )
        centre = 0.5 * (first + second) if centre is None else centre
        allocation = allocate((first, second), centre_of_mass_z_mm=centre)
    pair = None
    if question.planes_z_mm is not None:
        if question.bearings_z_mm is None:
            raise InputError(
                "static and couple limits need both planes and both bearings",
                hint="--plane-1-z, --plane-2-z, --bearing-1-z and --bearing-2-z",
            )
        pair = static_and_couple(
            total, planes_z_mm=question.planes_z_mm, bearings_z_mm=question.bearings_z_mm
        )
    return GradeAnswer(
        question=question, total_gmm=total, centre_z_mm=centre, allocation=allocation, pair=pair
    )


def grade_working(answer: GradeAnswer) -> tuple[Formula | str, ...]:
    """Return the sums behind the answer."""
    question, total = answer.question, answer.total_gmm
    worked = residual_work(question.grade_mm_per_s, mass_kg=answer.mass_kg, speed_rpm=question.speed_rpm)
    if question.bearings_z_mm is None or answer.centre_z_mm is None:
        return (*worked, Formula("each bearing", "U_per / 2", {"U_per": total}, 0.5 * total, "g*mm"))
    shares = allocation_work(
        answer.allocation,
        names=("bearing 1", "bearing 2"),
        places_z_mm=question.bearings_z_mm,
        centre_of_mass_z_mm=answer.centre_z_mm,
        total_gmm=total,
    )
    ounces, remark = from_gmm(total, "oz*in"), "1 oz*in = 720.078 g*mm"
    in_ounces = Formula("in oz*in", "U_per / 720.078", {"U_per": total}, ounces, "oz*in", remark)
    return (*worked, *shares, in_ounces)
