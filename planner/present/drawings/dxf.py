"""The plan laid over the shop's drawings: one DXF per counterweight, planned cuts on a layer of their own.

A counterweight whose outline came from a drawing is written in that drawing's place, turn, view and unit, so that it lies
over it; others in their own frame (shaft axis at the origin, centre line to the right, seen from the front) in millimetres.
"""

from __future__ import annotations

import cmath
import math
from pathlib import Path

from geometry_profiles.exchange import DrawingFrame, DrawnCut, write_dxf
from planner.errors import InputError
from planner.present.drawings.holes import Shape, old_holes, shape_of_cut, shape_of_existing
from planner.present.words import depth_words, drill_words, where_words
from planner.rotor.crankshaft import Counterweight
from planner.steps.plan_answer import PlanAnswer, PlanStep


def write_plan_dxf(answer: PlanAnswer, folder: Path) -> list[Path]:
    """Write one drawing per counterweight that the plan cuts.

    Parameters
    ----------
    answer : PlanAnswer
        The plan.
    folder : Path
        Where the files go: ``A.dxf`` and so on; made when it is not there.

    Returns
    -------
    list of Path
        The files, in the plan's order.

    Raises
    ------
    InputError
        If a file can't be written.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(f"`{folder}` can't be made: {error.strerror or error}") from error
    written = []
    for name in dict.fromkeys(step.cut.counterweight for step in answer.steps):
        steps = [step for step in answer.steps if step.cut.counterweight == name]
        counterweight = steps[0].counterweight
        shapes = [shape_of_cut(step.cut, counterweight=counterweight, shop=answer.job.shop) for step in steps]
        frame, unit = counterweight.drawn_in or (DrawingFrame(), "mm")
        safe = (
            "".join(letter if letter.isalnum() or letter in "-_ " else "_" for letter in name).strip() or "_"
        )
        path = folder / f"{safe}.dxf"
        try:
            write_dxf(
                path,
                counterweight.outline,
                planned=[
                    _drawn(shape, counterweight, step.label)
                    for shape, step in zip(shapes, steps, strict=True)
                ],
                existing=[
                    _drawn(shape_of_existing(hole, counterweight=counterweight), counterweight, "")
                    for hole in old_holes(answer, counterweight)
                ],
                notes=[
                    f"counterweight {name}: planned cuts, seen from the {'rear' if frame.seen_from_rear else 'front'}",
                    *(_note(answer, step) for step in steps),
                    "drawn in the plane across the shaft; depths and drills as written, not as drawn",
                ],
                units=unit,
                frame=frame,
            )
        except OSError as error:
            raise InputError(f"`{path}` can't be written: {error.strerror or error}") from error
        written.append(path)
    return written


def _drawn(shape: Shape, counterweight: Counterweight, label: str) -> DrawnCut:
    """Return a section in the outline's own frame."""
    back = cmath.exp(-1j * math.radians(counterweight.angle_deg))

    def own(point: complex) -> tuple[float, float]:
        turned = point * back
        return turned.real, turned.imag

    if not shape.corners:
        return DrawnCut(points_mm=(own(shape.centre),), diameter_mm=2.0 * shape.radius_mm, label=label)
    return DrawnCut(points_mm=tuple(own(corner) for corner in shape.corners), label=label)


def _note(answer: PlanAnswer, step: PlanStep) -> str:
    job = answer.job
    return (
        f"{step.label}: {where_words(step, job)}, dial {step.dial_deg:g}, {drill_words(job, step.cut.diameter_mm)}, "
        f"{depth_words(step, job)}"
    )
