"""The residual against the tolerance: in, out, or too close to call, and what would pass or decide it."""

from __future__ import annotations

import math
from collections.abc import Iterator

from planner.frames import SideReading, TwoPlanes
from planner.jobfile.job import Job
from planner.records import dataclass
from planner.rotor.limits import LimitRow
from planner.rotor.tolerance import (
    Allocation,
    GradeReached,
    ToleranceSpec,
    allocate,
    grade_reached,
    grams_at_radius_g,
    tolerance_notes,
    total_gmm,
)
from planner.rotor.vectors import transfer
from planner.rotor.verdict import Judged, overall_verdict
from planner.steps.chances import chances_of
from planner.steps.correction_question import Posed, pose
from planner.steps.judging import error_of_verdict, judged_of
from planner.steps.trial import trial_uncertainty_gmm, with_trials
from planner.uncertainty.measuring_error import MOST_SPINS, MeasurementError, spins_to_decide
from planner.uncertainty.passing import Chances

# a share of the limit below which the bobs' own error is not worth a word
_WORTH_SAYING = 0.1


@dataclass(frozen=True, kw_only=True)
class AtRadius:
    """An unbalance as grams at the rim of the counterweight nearest to where it is judged."""

    counterweight: str
    radius_mm: float
    mass_g: float
    limit_g: float


@dataclass(frozen=True, kw_only=True)
class PassingReading:
    """What the display would have to show.

    ``at_same_angle`` is the residual made smaller until it passes, as the display shows it; ``share`` is how much of it
    that is.  ``any_angle`` is an amount per side that passes whatever the angles are, None when the display shows
    bobs or parts as well that are not those of the engine.
    """

    share: float
    at_same_angle: TwoPlanes[SideReading]
    any_angle: TwoPlanes[float] | None


@dataclass(frozen=True, kw_only=True)
class CheckAnswer:
    """The newest state of the crankshaft against its tolerance.

    Attributes
    ----------
    measured : bool
        False when cuts were made since the newest spin: then the residual is foretold.
    residual_gmm : tuple of 2 complex
        Left and right plane [g*mm], with the bobs and parts of the engine.
    judged : tuple of Judged
        Every limit, with the measurement error.
    at_radius : tuple of AtRadius
        The same as grams.
    side_radii : tuple of AtRadius
        The residual of the left and of the right plane as grams; ``limit_g`` is 0 where no limit stands there.
    allocation : Allocation or None
        How a grade or a total is shared.
    total_gmm : float or None
        That total [g*mm].
    passing : PassingReading or None
        None when it passes as it is, or when no reading can pass.
    decides : tuple of str
        What would decide it.
    chances : Chances
        That the residual is truly inside, and that a new spin, or the mean of two, proves it; by the job's error model.
    """

    job: Job
    spec: ToleranceSpec
    posed: Posed
    measured: bool
    residual_gmm: TwoPlanes[complex]
    rows: tuple[LimitRow, ...]
    error: MeasurementError
    judged: tuple[Judged, ...]
    verdict: str
    at_radius: tuple[AtRadius, ...]
    side_radii: TwoPlanes[AtRadius]
    allocation: Allocation | None
    total_gmm: float | None
    grade: GradeReached | None
    passing: PassingReading | None
    decides: tuple[str, ...]
    chances: Chances
    notes: tuple[str, ...]


def check_job(job: Job) -> CheckAnswer:
    """Return the newest state of a job judged against its tolerance.

    Raises
    ------
    InputError
        If there is no spin or no tolerance.
    """
    job = with_trials(job)
    posed = pose(job)
    spec = job.tolerance
    assert spec is not None  # pose has refused a job without one
    rows = posed.problem.limits
    residual = posed.problem.unbalance_gmm
    error = error_of_verdict(job, posed)
    judged = judged_of(job, posed, residual, foretold=bool(posed.made))
    places = job.crankshaft.bearings_z_mm if spec.place == "bearings" else job.planes_z_mm
    total = total_gmm(spec, mass_kg=job.crankshaft.mass_kg, speed_rpm=job.crankshaft.service_speed_rpm)
    passing = _passing(job, posed, judged, rows)
    return CheckAnswer(
        job=job,
        spec=spec,
        posed=posed,
        measured=not posed.made,
        residual_gmm=residual,
        rows=rows,
        error=error,
        judged=judged,
        verdict=overall_verdict(judged),
        at_radius=tuple(
            _at_radius(job, _z_of(job, place), place.amount_gmm, place.tolerance_gmm) for place in judged
        ),
        side_radii=TwoPlanes(
            *(_at_radius(job, job.planes_z_mm.at(side), abs(left), 0.0) for side, left in residual.items())
        ),
        allocation=None
        if total is None
        else allocate(places, centre_of_mass_z_mm=job.crankshaft.centre_of_mass_or_middle_z_mm),
        total_gmm=total,
        grade=grade_of(job, residual),
        passing=passing,
        decides=tuple(_decides(judged, error)),
        chances=chances_of(job, posed, ()),
        notes=(
            *tolerance_notes(spec, planes_z_mm=job.planes_z_mm, bearings_z_mm=job.crankshaft.bearings_z_mm),
            *_error_notes(job, posed, judged, error),
            *posed.notes,
        ),
    )


def _z_of(job: Job, place: Judged) -> float:
    if place.z_mm is not None:
        return place.z_mm
    # the static vector acts at the centre of mass, a couple pair in the reading planes
    return job.crankshaft.centre_of_mass_or_middle_z_mm if place.at == "static" else job.planes_z_mm[0]


def _at_radius(job: Job, z_mm: float, amount_gmm: float, limit_gmm: float) -> AtRadius:
    # the counterweight nearest to there
    counterweight = min(job.crankshaft.counterweights, key=lambda each: (abs(each.z_mm - z_mm), each.z_mm))
    outline = counterweight.outline
    radius = outline.rim_radius_mm if outline.rim_radius_mm is not None else float(outline.greatest_radius_mm)
    return AtRadius(
        counterweight=counterweight.name,
        radius_mm=radius,
        mass_g=grams_at_radius_g(amount_gmm, radius_mm=radius),
        limit_g=grams_at_radius_g(limit_gmm, radius_mm=radius),
    )


def grade_of(job: Job, residual: TwoPlanes[complex]) -> GradeReached | None:
    """Return the grade that a residual [g*mm] reaches; None where mass or service speed are not stated."""
    crankshaft = job.crankshaft
    mass_kg = job.graded_mass_kg
    if mass_kg is None or crankshaft.service_speed_rpm is None:
        return None
    return grade_reached(
        residual,
        planes_z_mm=job.planes_z_mm,
        bearings_z_mm=crankshaft.bearings_z_mm,
        mass_kg=mass_kg,
        speed_rpm=crankshaft.service_speed_rpm,
        centre_of_mass_z_mm=crankshaft.centre_of_mass_or_middle_z_mm,
    )


def _passing(
    job: Job, posed: Posed, judged: tuple[Judged, ...], rows: tuple[LimitRow, ...]
) -> PassingReading | None:
    if all(place.verdict == "in tolerance" for place in judged):
        return None
    rooms = [place.passes_at_gmm for place in judged]
    shares = [
        room / place.amount_gmm
        for room, place in zip(rooms, judged, strict=True)
        if room is not None and place.amount_gmm > 0.0
    ]
    if any(room is None or room <= 0.0 for room in rooms) or not shares:
        return None
    share = min(1.0, *shares)
    residual = posed.problem.unbalance_gmm
    shown = residual.map(lambda each: share * each).plus(posed.not_read_gmm, -1.0)
    any_angle = None
    if all(abs(each) < 1e-9 for each in posed.not_read_gmm):
        most = min(
            room / (abs(row.weight_1) + abs(row.weight_2))
            for room, row in zip(rooms, rows, strict=True)
            if room is not None
        )
        amounts = _each_plane_alone(rows, rooms) or TwoPlanes(most, most)
        any_angle = TwoPlanes(
            *(job.machine.display_amount(amount, side=side) for side, amount in amounts.items())
        )
    return PassingReading(share=share, at_same_angle=shown.shown(job.machine), any_angle=any_angle)


def _each_plane_alone(rows: tuple[LimitRow, ...], rooms: list[float | None]) -> TwoPlanes[float] | None:
    """Return the amounts [g*mm] where each limit judges one reading plane alone, else None."""
    if [(row.weight_1, row.weight_2) for row in rows] != [(1.0, 0.0), (0.0, 1.0)]:
        return None
    left, right = rooms
    return None if left is None or right is None else TwoPlanes(left, right)


def _decides(judged: tuple[Judged, ...], error: MeasurementError) -> Iterator[str]:
    close = [(index, place) for index, place in enumerate(judged) if place.verdict == "too close to call"]
    if not close or any(place.verdict == "out of tolerance" for place in judged):
        return
    needed: list[int | None] = []
    for index, place in close:
        gap = abs(place.amount_gmm - place.tolerance_gmm)
        # not measured: a stated error or a usual margin is taken as two standard deviations of one spin
        sigma = (
            error.sigma_gmm[index]
            if error.sigma_gmm is not None and error.source == "repeated spins"
            else 0.5 * place.error_gmm
        )
        needed.append(spins_to_decide(sigma, gap))
    most = max((each for each in needed if each is not None), default=0)
    if None in needed:
        yield (
            f"spinning again does not decide it: even {MOST_SPINS} spins would leave it within their scatter; "
            "bring the residual down to the reading that passes"
        )
    else:
        more = max(1, most - error.spins)
        times = "once more" if more == 1 else f"{more} more times"
        where = {
            "stated": ", with `measurement_error` taken out of the file so that the scatter counts",
            "usual margin": "; the scatter then takes the place of the usual margin",
            "repeated spins": "",
        }[error.source]
        supposed = "" if error.source == "repeated spins" else "about "
        yield (
            f"spin it again {supposed}{times} without touching anything and enter each with `bobplan spin ... --repeat`: "
            f"the mean of {most} spins decides if they scatter and stay as supposed{where}"
        )
    yield (
        "an index test takes the tooling's share out: turn the crankshaft 180 degrees against its drive or supports, "
        "spin again; half the sum of both readings (each in the crankshaft's own angles) is the crankshaft, half the "
        "difference the tooling, which goes into [[known_errors]]"
    )


def _error_notes(
    job: Job, posed: Posed, judged: tuple[Judged, ...], error: MeasurementError
) -> Iterator[str]:
    if error.source == "stated" and error.sigma_gmm is not None:
        scatter = max(posed.reading.scatter_gmm)
        stated = error.errors_gmm[0]
        if scatter > stated:
            yield (
                f"the spins lie up to {job.units.text(scatter, 'unbalance')} from their mean, more than the stated "
                f"measurement error of {job.units.text(stated, 'unbalance')}"
            )
    uncertain = trial_uncertainty_gmm(job)
    if uncertain is not None:
        left, right = (job.units.text(each, "unbalance") for each in uncertain)
        yield (
            f"not in the measurement error: the trial runs leave the state uncertain by {left} left, {right} right; a "
            "spin after the cuts settles it"
        )
    if max(job.spins[posed.spin_number - 1].bobs_g.values(), default=0.0) <= 0.0:
        return
    shift = [_bob_error(job, row) for row in posed.problem.limits]
    worst = max(range(len(shift)), key=lambda index: shift[index] / judged[index].tolerance_gmm)
    if shift[worst] > _WORTH_SAYING * judged[worst].tolerance_gmm:
        yield (
            f"not in the measurement error: bobs known to {job.errors.bob_mass_g:g} g each may shift {judged[worst].at} by "
            f"about {job.units.text(shift[worst], 'unbalance')}; no repeated spin shows that, weighing does"
        )


def _bob_error(job: Job, row: LimitRow) -> float:
    """Return two standard deviations of what the bobs' mass errors do to a limit [g*mm]."""
    square = sum(
        (row.weight_of_source(throw.z_mm, job.planes_z_mm) * throw.radius_mm * job.errors.bob_mass_g) ** 2
        for throw in job.crankshaft.throws
    )
    return 2.0 * math.sqrt(square)


def moved_residual(answer: CheckAnswer) -> TwoPlanes[complex]:
    """Return the residual at the places where it is judged [g*mm] (the planes' own for static and couple)."""
    if answer.spec.place == "planes" or answer.spec.way == "static and couple":
        return answer.residual_gmm
    moved = transfer(answer.residual_gmm, answer.job.planes_z_mm, answer.job.crankshaft.bearings_z_mm)
    return TwoPlanes.vectors(moved)
