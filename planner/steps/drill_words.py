"""How a drill is called, everywhere."""

from __future__ import annotations

from planner.jobfile.job import Job
from planner.quantity import nearest_64th
from planner.rotor.drills import number_or_letter


def drill_words(job: Job, diameter_mm: float) -> str:
    """Return a drill's size: as the shop calls it, inches as a fraction where it is one, millimetres as they are."""
    name = job.drill_names.get(round(diameter_mm, 6)) or number_or_letter(diameter_mm)
    if name is not None:
        return name
    fraction = nearest_64th(diameter_mm)
    numerator = diameter_mm / 25.4 * 64.0
    if job.units.in_inches or (abs(numerator - round(numerator)) < 1e-6 and diameter_mm % 0.5 > 1e-9):
        if abs(numerator - round(numerator)) < 1e-6:
            return f"{fraction} in"
        if job.units.in_inches and abs(diameter_mm * 10.0 - round(diameter_mm * 10.0)) > 1e-6:
            return f"{diameter_mm / 25.4:.3f} in"
    return f"{diameter_mm:g} mm"
