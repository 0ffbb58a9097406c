"""Checks of the balancing machine as text, as JSON and with the working."""

from __future__ import annotations

import cmath
import json
import math
from collections.abc import Iterator, Sequence
from typing import Any

from planner.formula import Formula
from planner.frames import TwoPlanes
from planner.jobfile.job import Job
from planner.machine.index_test import IndexTest, RepeatTest
from planner.machine.reduction_test import USUAL_RUNS, ReductionTest
from planner.machine.residual_test import ResidualTest
from planner.present.document import Document, Values, block, document, lines, remarks, table
from planner.present.numbers import neat
from planner.present.to_json import picked, plain
from planner.present.words import amount_words, degrees, percent
from planner.quantity import UnitSystem
from planner.rotor.vectors import angle_deg

_CAUTION = block(
    "CAUTION",
    lines(
        "Trial masses fly off: fasten them so that they hold at speed, guard closed, nobody in line. The machine's "
        "manual, local rules and a qualified machinist's judgement stand above this answer.",
        level=1,
    ),
)
# beyond these the answer is worth a second look (common practice)
_GREAT_SCATTER, _GREAT_DRIFT, _GREAT_SHARE = 0.05, 0.05, 0.7


def residual_document(found: ResidualTest, *, units: UnitSystem, limit_gmm: float | None) -> Document:
    """Return what a residual test found."""
    rows = [
        (degrees(place), f"{read:g}", f"{fitted:.4g}")
        for place, read, fitted in zip(found.places_deg, found.readings, found.fitted, strict=True)
    ]
    verdict = None
    if limit_gmm is not None:
        passed = "PASSED" if found.greatest_gmm <= limit_gmm else "NOT PASSED"
        larger = amount_words(units, found.greatest_gmm)
        verdict = block(
            f"{passed}: the larger figure is {larger}, the limit {amount_words(units, limit_gmm)}"
        )
    return document(
        block(
            f"Residual test at {len(found.readings)} places, trial unbalance {amount_words(units, found.trial_gmm)}"
        ),
        table(("place", "read", "fitted"), rows),
        block(
            "",
            Values(
                rows=(
                    (
                        "residual by the published figure, T (max - min)/(max + min):",
                        amount_words(units, found.published_gmm),
                    ),
                    (
                        "residual by the exact fit of the squared readings:",
                        f"{amount_words(units, found.exact_gmm)}, heavy at {degrees(found.heavy_spot_deg)}",
                    ),
                )
            ),
            lines(
                "The published figure can only read low when readings do not scatter: the places miss the true extremes."
            ),
        ),
        verdict,
        remarks("note", residual_remarks(found, limit_gmm=limit_gmm)),
        _CAUTION,
    )


def residual_remarks(found: ResidualTest, *, limit_gmm: float | None) -> list[str]:
    """Return what is odd about a residual test."""
    said = []
    if limit_gmm is not None and (found.published_gmm <= limit_gmm) != (found.exact_gmm <= limit_gmm):
        said.append("one figure passes and the other does not: read at 12 places")
    if found.scatter > _GREAT_SCATTER:
        said.append(
            f"the readings scatter by {percent(found.scatter, digits=1)} about the exact fit: loose trial mass, drift, "
            "or a machine that is not linear?"
        )
    if found.repeat_share is not None and abs(found.repeat_share) > _GREAT_DRIFT:
        said.append(
            f"the first place read again differs by "
            f"{percent(found.repeat_share, digits=1, signed=True)}: something drifts"
        )
    if found.exact_gmm > _GREAT_SHARE * found.trial_gmm:
        said.append(
            "the residual is nearly as large as the trial unbalance: a residual larger than it by the same factor reads "
            "alike; take a larger trial mass"
        )
    return said


def residual_json(found: ResidualTest, *, limit_gmm: float | None) -> dict[str, Any]:
    """Return what a residual test found as plain data."""
    return {
        **picked(
            found,
            "places_deg readings fitted trial_gmm published_gmm exact_gmm heavy_spot_deg scatter "
            "first_again=repeat_share",
        ),
        "limit_gmm": neat(limit_gmm),
        "passed": None if limit_gmm is None else found.greatest_gmm <= limit_gmm,
        "notes": residual_remarks(found, limit_gmm=limit_gmm),
    }


def reduction_document(found: ReductionTest, *, units: UnitSystem) -> Document:
    """Return what a reduction test found."""
    rows = [
        (
            degrees(place),
            f"{amount_words(units, abs(read))} at {degrees(angle_deg(read))}",
            f"{amount_words(units, abs(exact))} at {degrees(angle_deg(exact))}",
            amount_words(units, abs(read - exact)),
            percent(share, digits=1),
        )
        for place, read, exact, share in zip(
            found.places_deg, found.read_gmm, found.exact_gmm, found.ratios, strict=True
        )
    ]
    notes = []
    if not found.passed and min(found.ratios_mended) >= found.claimed:
        notes.append(
            f"all runs read {found.gain:.3f} times the amount, turned by {found.turn_deg:+.1f}°; with that taken "
            f"out the least ratio is {percent(min(found.ratios_mended), digits=1)}: calibrate amount and angle, then test again"
        )
    if len(found.ratios) < USUAL_RUNS:
        notes.append(f"{USUAL_RUNS} runs are usual, 30 degrees apart")
    return document(
        block(f"Reduction test, {len(found.ratios)} runs, claimed ratio {percent(found.claimed)}"),
        table(("travelling mass at", "read", "exact", "left of it", "ratio"), rows),
        block(
            f"{'PASSED' if found.passed else 'NOT PASSED'}: the least ratio is {percent(found.worst, digits=1)}, "
            f"{percent(found.claimed)} is claimed",
            remarks("note", notes),
            remarks("source", [REDUCTION_SOURCE]),
        ),
        _CAUTION,
    )


REDUCTION_SOURCE = (
    "what the ratio is: Bloch & Geitner, ch. 6, p. 291; the test's masses, runs and the usual 95 %: ISO 21940-21, "
    "from memory"
)


def reduction_json(found: ReductionTest) -> dict[str, Any]:
    """Return what a reduction test found as plain data."""
    return {
        "runs": [
            plain(
                {
                    "place_deg": place,
                    "read": read,
                    "exact": exact,
                    "left_gmm": abs(read - exact),
                    "ratio": share,
                }
            )
            for place, read, exact, share in zip(
                found.places_deg, found.read_gmm, found.exact_gmm, found.ratios, strict=True
            )
        ],
        **picked(found, "claimed worst passed gain turn_deg"),
        "worst_mended": neat(min(found.ratios_mended)),
        "source": REDUCTION_SOURCE,
    }


def reduction_working(found: ReductionTest) -> Iterator[Formula | str]:
    """Yield the working of a reduction test."""
    yield "WORKING (g*mm, degrees): exact = stationary + travelling, as vectors"
    for place, read, exact, share in zip(
        found.places_deg, found.read_gmm, found.exact_gmm, found.ratios, strict=True
    ):
        of = {"read": complex(read), "exact": complex(exact)}
        yield Formula(f"ratio at {degrees(place)}", "1 - abs(read - exact) / abs(exact)", of, share)


def residual_working(found: ResidualTest) -> Iterator[Formula | str]:
    """Yield the working of a residual test."""
    x = found.harmonic / found.mean_square
    of = {"T": found.trial_gmm, "max": max(found.readings), "min": min(found.readings)}
    of |= {"c": found.harmonic, "a0": found.mean_square, "x": x}
    yield "WORKING (T trial unbalance in g*mm, A readings, theta places)"
    yield Formula("published: U", "T * (max - min) / (max + min)", of, found.published_gmm, "g*mm")
    yield f"a0 = mean of A^2 = {found.mean_square:.6g}"
    yield (
        "c = length of 2/n x (sum of A^2 cos theta, sum of A^2 sin theta) = "
        f"{found.harmonic:.6g}, at {found.heavy_spot_deg:.2f}: the heavy spot"
    )
    yield Formula("x", "c / a0", of, x)
    if x > 0.0:
        yield Formula("exact: U", "T * (1 - sqrt(1 - x^2)) / x", of, found.exact_gmm, "g*mm")


def index_document(
    found: Sequence[IndexTest], *, units: UnitSystem, job: Job | None, known_errors: Sequence[str]
) -> Document:
    """Return what an index test found, with the lines for the job file."""
    count = len(found[0].misses_gmm)
    rows = [
        ("tooling", *(_vector(units, each.tooling_gmm, job) for each in found)),
        ("crankshaft", *(_vector(units, each.crankshaft_gmm, job) for each in found)),
    ]
    if count > 2:
        rows.append(("misses by, at most", *(amount_words(units, max(each.misses_gmm)) for each in found)))
    turned = ", ".join(
        f"{'growing' if each.turned_with_angles else 'falling'} angles ({plane})"
        for plane, each in zip(_planes(found), found, strict=True)
    )
    fits = (
        "Two positions fit exactly: nothing shows how well they repeat; four positions would."
        if count == 2
        else f"The better fit is: the crankshaft was turned toward {turned}."
    )
    return document(
        block(
            f"Index test: {count} positions, {360.0 / count:g} degrees apart, angles counted from the {found[0].mark}'s mark",
            table(("", *_planes(found)), rows),
            lines("Both as they stand in the first position.", fits),
        ),
        block("For the job file, as long as the crankshaft is mounted as in the first position:")
        if known_errors
        else block("One plane only: [[known_errors]] of a job file needs both planes."),
        lines(*known_errors),
    )


def _file_amount(units: UnitSystem, amount_gmm: float, *, digits: int) -> str:
    """Return an amount as the job file takes it, in the user's unit; an oz*in has some hundreds of g*mm."""
    more = 0 if units.unit_of("unbalance") == "g*mm" else 3
    text = units.text(amount_gmm, "unbalance", digits=digits + more, with_unit=False)
    return f"{text.rstrip('0').rstrip('.') if '.' in text else text} {units.unit_of('unbalance')}"


def known_error_lines(
    found: Sequence[IndexTest], *, name: str, in_frame: bool, units: UnitSystem
) -> list[str]:
    """Return the tooling's error as one of ``[[known_errors]]``; empty for one plane.

    ``in_frame``: the vectors are in the crankshaft frame; if not, the lines say that they must be.
    """
    if len(found) != 2:
        return []
    head = "[[known_errors]]                # index test, positions: " + str(len(found[0].misses_gmm))
    frame = [] if in_frame else ["# angles as typed: they must be in the crankshaft's own frame"]
    sides = [
        f'{side} = {{ amount = "{_file_amount(units, abs(each.tooling_gmm), digits=4)}", '
        f"angle = {angle_deg(each.tooling_gmm):.3f} }}"
        for side, each in TwoPlanes(*found).items()
    ]
    return [head, *frame, f"name = {json.dumps(name, ensure_ascii=False)}", *sides]


def index_json(found: Sequence[IndexTest], *, lines: Sequence[str]) -> dict[str, Any]:
    """Return what an index test found as plain data."""
    return {
        "positions": len(found[0].misses_gmm),
        "mark": found[0].mark,
        "planes": [
            {
                "plane": plane,
                **picked(each, "misses_gmm turned_with_angles tooling=tooling_gmm crankshaft=crankshaft_gmm"),
            }
            for plane, each in zip(_names(found), found, strict=True)
        ],
        "known_errors": "\n".join(lines) or None,
    }


def index_working(found: Sequence[IndexTest], sides: Sequence[Sequence[complex]]) -> list[str]:
    """Return the working of an index test."""
    lines = ["WORKING (g*mm; X = U cos(angle), Y = U sin(angle))"]
    count = len(sides[0])
    if count > 2:
        lines.append(f"turn 1, turn 2, ..: back by one step of {360.0 / count:g} degrees, two steps, ..")
    for plane, each, readings in zip(_names(found), found, sides, strict=True):
        of = {f"M{index}": complex(m) for index, m in enumerate(readings)}
        lines += [f"{plane}: {name} = {_xy(m)}" for name, m in of.items()]
        fixed, moving = each.crankshaft_gmm, each.tooling_gmm
        names = ("crankshaft", "tooling")
        if each.mark == "tooling":
            fixed, moving, names = moving, fixed, names[::-1]
        back = "(M0 - M1)/2"
        if count > 2:
            way = 1.0 if each.turned_with_angles == (each.mark == "tooling") else -1.0
            of |= {f"turn {i}": cmath.exp(-2j * math.pi * way * i / count) for i in range(1, count)}
            back = " + ".join(["(M0", *(f"M{i} * turn {i}" for i in range(1, count))]) + f")/{count}"
        mean = " + ".join(f"M{index}" for index in range(count))
        for name, symbols, value in ((names[0], f"({mean})/{count}", fixed), (names[1], back, moving)):
            worked = Formula(name, symbols, of, value)
            lines.append(f"{plane}: {name} = {worked.in_line(lambda term, vector: term or _xy(vector))}")
    return lines


def repeat_document(found: Sequence[RepeatTest], *, units: UnitSystem, job: Job | None) -> Document:
    """Return how well readings repeat."""
    count = len(found[0].distances_gmm)
    rows = (
        ("mean", *(_vector(units, each.mean_gmm, job) for each in found)),
        ("circle about the mean, radius", *(amount_words(units, each.radius_gmm) for each in found)),
        ("standard deviation", *(amount_words(units, each.deviation_gmm) for each in found)),
        ("  of the mean", *(amount_words(units, each.deviation_of_mean_gmm) for each in found)),
    )
    radius = max(each.radius_gmm for each in found)
    few = [] if count >= 5 else ["five readings or more, mounted anew between them, say it better"]
    return document(
        block(
            f"{count} readings of one state",
            table(("", *_planes(found)), rows),
            lines("The circle holds all readings; its radius is the error of a single reading."),
            remarks("note", few),
        ),
        block("For [tolerance] of the job file:"),
        lines(f'measurement_error = "{_file_amount(units, radius, digits=2)}"'),
    )


def repeat_json(found: Sequence[RepeatTest]) -> dict[str, Any]:
    """Return how well readings repeat as plain data."""
    numbers = "radius_gmm deviation_gmm deviation_of_mean_gmm distances_gmm mean=mean_gmm"
    return {
        "readings": len(found[0].distances_gmm),
        "planes": [
            {"plane": plane, **picked(each, numbers)}
            for plane, each in zip(_names(found), found, strict=True)
        ],
    }


def repeat_working(
    found: Sequence[RepeatTest], sides: Sequence[Sequence[complex]]
) -> Iterator[Formula | str]:
    """Yield the working of a repeat test."""
    yield "WORKING (g*mm; X = U cos(angle), Y = U sin(angle); d = distance from the mean, the greatest is the radius)"
    for plane, each, readings in zip(_names(found), found, sides, strict=True):
        yield f"{plane}: mean = sum of M / {len(readings)} = {_xy(each.mean_gmm)}"
        distances = {f"d{index}": distance for index, distance in enumerate(each.distances_gmm)}
        for index, (m, distance) in enumerate(zip(readings, each.distances_gmm, strict=True)):
            yield f"{plane}: M{index} = {_xy(m)}, d{index} = {distance:.4g}"
        squares = " + ".join(f"{name}^2" for name in distances)
        symbols = f"sqrt(({squares}) / {len(readings) - 1})"
        yield Formula(f"{plane}: standard deviation", symbols, distances, each.deviation_gmm, "g*mm")


def _names(found: Sequence[object]) -> tuple[str, ...]:
    return ("left", "right") if len(found) == 2 else ("single",)


def _planes(found: Sequence[object]) -> list[str]:
    return [f"{name} plane" for name in _names(found)]


def _vector(units: UnitSystem, vector: complex, job: Job | None) -> str:
    """Return a vector with its heavy spot as a machine angle; without a job the angle is as typed."""
    angle = angle_deg(vector)
    if job is None:
        return f"{amount_words(units, abs(vector))} at {degrees(angle)}"
    return f"{amount_words(units, abs(vector))} heavy at {degrees(job.machine.machine_angle_deg(angle))}"


def _xy(vector: complex) -> str:
    return f"X {neat(vector.real):+.4g} Y {neat(vector.imag):+.4g}"
