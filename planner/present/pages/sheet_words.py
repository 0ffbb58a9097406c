"""Words that only the sheets use: amounts as printed, a cut's few big words, limits, spins."""

from __future__ import annotations

from planner.jobfile.job import Job
from planner.machine.spin import SideReading
from planner.present.drawings.words import shown
from planner.present.numbers import degrees
from planner.present.words import amount_words, drill_words, judged_words, length_words, shown_words
from planner.quantity import nearest_64th
from planner.rotor.tolerance import GradeReached
from planner.rotor.vectors import angle_deg
from planner.steps.check import AtRadius, CheckAnswer
from planner.steps.plan_answer import PlanStep
from planner.steps.spin import bob_words
from planner.steps.trial import spin_words

SIDES = ("left", "right")


def amount(job: Job, amount_gmm: float) -> str:
    """Return an unbalance [g*mm] in the job's unit, as printed: ``118 g·mm``."""
    return shown(amount_words(job, amount_gmm))


def judged(job: Job, at: str, amount_gmm: float) -> str:
    """Return an amount where it is judged, as printed: as the display shows it in a reading plane."""
    return shown(judged_words(job, at, amount_gmm))


def heavy_spot(job: Job, vector_gmm: complex) -> str:
    """Return an amount and where it is heavy in the machine's counting: ``118 g·mm at 12°``."""
    at = degrees(job.machine.machine_angle_deg(angle_deg(vector_gmm)))
    return f"{amount(job, abs(vector_gmm))} at {at}°"


def displayed(job: Job, reading: SideReading) -> str:
    """Return a reading as the display shows it."""
    return f"{shown(shown_words(job, reading.amount))} at {degrees(reading.angle_deg)}°"


def at_radius(job: Job, place: AtRadius) -> str:
    """Return grams at a counterweight's rim."""
    return f"{job.units.text(place.mass_g, 'mass')} at {job.units.text(place.radius_mm, 'length')}"


def grade(reached: GradeReached | None) -> str:
    """Return a grade reached, empty without one: ``G 7.4 (meets G 16)``."""
    if reached is None:
        return ""
    finest = reached.standard
    meets = f" (meets G {finest.grade_mm_per_s:g})" if finest else ""
    return f"G {reached.grade_mm_per_s:.3g}{meets}"


def limit(check: CheckAnswer) -> str:
    """Return the limit as the builder stated it, and where it is judged."""
    from planner.present.pages.check import limit_words

    return shown(limit_words(check))


def limits_in_amounts(check: CheckAnswer) -> str:
    """Return every limit as an amount: ``bearing 1: 289 g·mm, bearing 2: 276 g·mm``."""
    return ", ".join(f"{row.at}: {judged(check.job, row.at, row.tolerance_gmm)}" for row in check.rows)


def spin_of(check: CheckAnswer) -> str:
    """Return which spin the state was read in."""
    numbers = check.posed.state_numbers
    return spin_words(numbers[0]) if len(numbers) == 1 else f"mean of spins {', '.join(map(str, numbers))}"


def bobs_on(job: Job, spin_index: int) -> str:
    """Return what was clamped on the throws."""
    return bob_words(job, job.spins[spin_index].bobs_g)


def stop_words(step: PlanStep, job: Job) -> tuple[str, str, str]:
    """Return the one number on the stop: in big, the nearest 64th beside it (or empty), what it is counted to."""
    cut = step.cut
    if cut.kind in ("slug", "fill"):
        big, small = _split_length(job, cut.length_mm or step.counterweight.thickness_mm)
        if cut.through:
            return "through", "", f"slug {big}{f' ({small})' if small else ''} long"
        if step.stop_mm is None:  # a fill: the hole is there
            return big, small, f"slug's length, from the {cut.face}"
        slug = f"slug {big}{f' ({small})' if small else ''} long"
        return *_split_length(job, step.stop_mm), f"to the {job.shop.depth_to}, from the {cut.face}; {slug}"
    if cut.through or step.stop_mm is None:
        return "through", "", ""
    big, small = _split_length(job, step.stop_mm)
    face = f", from the {cut.face}" if cut.kind == "face hole" else ""
    return big, small, f"to the {job.shop.depth_to}{face}"


def _split_length(job: Job, length_mm: float) -> tuple[str, str]:
    return job.units.text(length_mm, "length"), nearest_64th(length_mm) if job.units.in_inches else ""


def first_pass(step: PlanStep, job: Job) -> str:
    """Return the stop of the first pass, empty when there is none."""
    if step.first_pass_mm is None or step.stop_mm is None:
        return ""
    if step.first_pass_mm > step.stop_mm - 1e-6:
        return "in one pass"
    return f"first pass {length_words(job, step.first_pass_mm)}"


def drill(step: PlanStep, job: Job) -> str:
    """Return the drill, or the bore of a slug."""
    return drill_words(job, step.cut.diameter_mm)


def kind_and_radius(step: PlanStep, job: Job) -> str:
    """Return the kind of cut, with the radius where the hole is parallel to the shaft."""
    cut = step.cut
    return cut.kind if cut.radius_mm is None else f"{cut.kind} at radius {length_words(job, cut.radius_mm)}"
