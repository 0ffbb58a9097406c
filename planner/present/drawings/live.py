"""Drawings for the screen, straight as SVG from the same placed shapes as the paper drawings: no plotting library, no waiting.

Everything is in mm from the shaft axis, seen from the machine's own end, up is up.  Looks come from the page's style sheet by
class, so that light, dark and print are its own affair.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Iterable, Sequence
from html import escape
from typing import TYPE_CHECKING

from planner.frames import MachineAngle, ShaftAngle, TwoPlanes
from planner.present.drawings.counterweight import shapes_in
from planner.present.drawings.holes import Shape
from planner.present.drawings.place import seen
from planner.present.words import degrees, reference_of
from planner.rotor.crankshaft import FILLS
from planner.rotor.vectors import angle_deg, difference_deg

if TYPE_CHECKING:
    from planner.frames import MachineConvention, ViewedFrom
    from planner.jobfile.job import Job
    from planner.rotor.crankshaft import Counterweight, Throw
    from planner.steps.plan_answer import PlanAnswer, PlanStep

_TICK_DEG = 10
_NUMBER_DEG = 30


def end_view_svg(
    job: Job,
    heavy_gmm: Sequence[complex] | None = None,
    *,
    known: tuple[ShaftAngle, str, float] | None = None,
) -> str:
    """Return the crankshaft's end view in the machine's own numbers and direction.

    Parameters
    ----------
    job : Job
        The job.
    heavy_gmm : sequence of 2 complex, optional
        Unbalance of the left and of the right plane, pointing to the heavy spot [g*mm]; an arrow for each that is something.
    known : (angle, words, radius), optional
        A place [deg] to mark, what stands there (a known mass), and at which radius [mm].

    Returns
    -------
    str
        An ``svg`` element; its label says in words what the arrows show.
    """
    return end_view_of(
        job.machine, job.crankshaft.throws, job.crankshaft.counterweights, heavy_gmm, known=known
    )


def end_view_of(
    machine: MachineConvention,
    throws: Sequence[Throw],
    counterweights: Sequence[Counterweight],
    heavy_gmm: Sequence[complex] | None = None,
    *,
    known: tuple[ShaftAngle, str, float] | None = None,
    counted: bool = True,
) -> str:
    """Return the end view of a crankshaft of which not everything need be known yet; see `end_view_svg`.

    ``counted`` is False as long as it is not known how the machine counts: then it has no numbers.
    """
    view = machine.viewed_from
    rim = max(
        [each.outline.greatest_radius_mm for each in counterweights]
        + [throw.radius_mm for throw in throws]
        + [10.0]
    )
    ring = 1.3 * rim
    size = 0.085 * rim
    parts: list[str] = []
    for each in counterweights:
        parts.append(path_svg(_body(each, each.angle_deg, view), "body"))
    for throw in throws:
        at = seen(cmath.rect(throw.radius_mm, math.radians(throw.angle_deg)), view)
        parts.append(circle_svg(at, 0.1 * rim, "throw"))
    parts.append(f'<circle class="ring" r="{_n(ring)}"/>')
    for number in range(0, 360, _TICK_DEG) if counted else ():
        turn = seen(cmath.rect(1.0, math.radians(machine.place_deg(MachineAngle(number)))), view)
        long = number % _NUMBER_DEG == 0
        start, end = turn * ring, turn * ring * (1.055 if long else 1.03)
        parts.append(line_svg(start, end, "tick"))
        if long:
            parts.append(text_svg(turn * ring * 1.14, str(number), 1.15 * size, "number"))
    parts += _names(counterweights, rim, size, view)
    if counted:
        parts += _counting(machine, ring, size)
    said = []
    if heavy_gmm is not None:
        most = max((abs(each) for each in heavy_gmm), default=0.0)
        for side, vector in TwoPlanes.vectors(heavy_gmm).items():
            if abs(vector) <= 1e-6:
                continue
            direction = seen(vector / abs(vector), view)
            # the shorter arrow is never so short that it is all head
            tip = direction * (0.62 + 0.6 * abs(vector) / most) * rim
            parts.append(_arrow(tip, 0.05 * rim, f"heavy {side}"))
            # two labels never meet: the left one stands at the left of its arrow, the right one at the right
            aside = direction * complex(0.0, 0.13 if side == "left" else -0.13) * rim
            parts.append(text_svg(0.72 * tip + aside, side[0].upper(), 1.7 * size, f"mark {side}"))
            spot = degrees(machine.machine_angle_deg(ShaftAngle(angle_deg(vector))))
            said.append(f"{side} heavy at {spot}")
    if known is not None:
        at_deg, words, radius_mm = known
        # what lies far outside is drawn at the ring
        place = seen(cmath.rect(min(radius_mm, ring), math.radians(at_deg)), view)
        parts.append(circle_svg(place, 0.075 * rim, "known"))
        said.append(words)
    parts.append('<path class="axis" d="M-4 0H4M0-4V4"/>')
    reach = 1.62 * rim
    label = (
        f"End view of the crankshaft, seen from the {view}. {'; '.join(said) or 'No heavy spot is marked.'}"
    )
    return svg_of((-reach, -reach, 2 * reach, 2 * reach), parts, label, "endview")


def under_drill_svg(answer: PlanAnswer, step: PlanStep, *, label: str) -> str:
    """Return a step's counterweight as it stands under the drill, its hole at the top.

    A rim hole carries what a script needs to drag it along the rim and to pull its depth: radius [mm], diameter, cone and
    depth of the drill [mm], the number on the dial and how it grows on the screen, the steps and bounds of both.

    Returns
    -------
    str
        An ``svg`` element.
    """
    job, counterweight, cut = answer.job, step.counterweight, step.cut
    view = job.machine.viewed_from
    turn = cmath.exp(1j * math.radians(90.0 - cut.angle_deg))
    rim = counterweight.outline.greatest_radius_mm
    steps = tuple(
        each for each in answer.steps if each.cut.counterweight == counterweight.name and each != step
    )
    body = _body(counterweight, ShaftAngle(counterweight.angle_deg + 90.0 - cut.angle_deg), view)
    parts = [path_svg(body, "body")]
    if counterweight.outline.inner_radius_mm > 0.0:
        parts.append(f'<circle class="inner" r="{_n(counterweight.outline.inner_radius_mm)}"/>')
    mine = f"step {step.label}"
    for gid, shape, _ in shapes_in(answer, counterweight, (*steps, step)):
        kind = gid.split(" ")[0] if gid.split(" ")[0] != "round" else "keep-out"
        filled = " slug" if gid == mine and cut.kind in ("slug", *FILLS) else ""
        parts.append(_shape(shape, turn, view, f"{'now' if gid == mine else kind}{filled}"))
    name, reference_deg, from_deg = reference_of(step)
    line = seen(cmath.exp(1j * math.radians(reference_deg)) * turn, view)
    parts.append(line_svg(-0.1 * rim * line, 1.06 * rim * line, "centre"))
    away = from_deg if view == "front" else -from_deg
    parts += _way(step, away, rim)
    if cut.kind == "rim hole":
        parts.append(_drill(cut.diameter_mm, rim))
    high = 1.42 * rim if cut.kind == "rim hole" else 1.2 * rim
    xs = [point.real for point in body] + [-0.45 * rim, 0.45 * rim]
    ys = [-point.imag for point in body] + [0.12 * rim, -high]
    pad = 0.08 * rim
    box = (min(xs) - pad, min(ys), max(xs) - min(xs) + 2 * pad, max(ys) - min(ys) + pad)
    extra = ""
    if cut.kind == "rim hole" and not cut.deepens and step.stop_mm is not None:
        shop = job.shop
        grows = job.machine.sense_seen_from(view)
        drilled = cut.diameter_mm + shop.hole_oversize_mm
        facts = {
            "rim": rim,
            "across": drilled,
            "cone": shop.cone_height_mm(drilled),
            "shoulder": (cut.depth_shoulder_mm or 0.0),
            "stop": step.stop_mm,
            "dial": float(step.dial_deg),
            "grows": grows,
            "turn-step": shop.angle_step_deg,
            "depth-step": shop.depth_step_mm,
            "least": shop.least_depth_mm,
            "most": shop.greatest_depth_mm,
        }
        extra = "".join(f' data-{key}="{value:.9g}"' for key, value in facts.items())
    return svg_of(box, parts, f"{label} {name} marked.", "underdrill", extra)


def _body(counterweight: Counterweight, at_deg: ShaftAngle, view: ViewedFrom) -> list[complex]:
    turn = cmath.exp(1j * math.radians(at_deg))
    return [seen(complex(x, y) * turn, view) for x, y in counterweight.outline.boundary_mm]


def _names(
    counterweights: Sequence[Counterweight], rim: float, size: float, view: ViewedFrom
) -> Iterable[str]:
    """Return the counterweights' names where their centre lines end; those of one direction together."""
    found: list[tuple[ShaftAngle, list[str]]] = []
    for each in counterweights:
        near = next((names for at, names in found if abs(difference_deg(at, each.angle_deg)) < 9.0), None)
        if near is None:
            found.append((each.angle_deg, [each.name]))
        else:
            near.append(each.name)
    for at, names in found:
        text = " ".join(names)
        # a full ring of letters would hide the arrows
        shown = text if len(text) <= 12 else f"{text[:11]}…"
        place = seen(cmath.rect(1.13 * rim, math.radians(at)), view)
        yield line_svg(0.9 * rim * place / abs(place), 1.04 * rim * place / abs(place), "centre")
        yield text_svg(place, shown, size, "name")


def _counting(machine: MachineConvention, ring: float, size: float) -> Iterable[str]:
    """Return an arrow in the direction in which the numbers grow, outside their zero."""
    view = machine.viewed_from
    radius = 1.235 * ring
    points = [
        seen(cmath.rect(radius, math.radians(machine.place_deg(MachineAngle(number)))), view)
        for number in range(-11, 12, 2)
    ]
    yield path_svg(points, "grow", closed=False)
    tip = points[-1]
    way = (points[-1] - points[-2]) / abs(points[-1] - points[-2])
    yield path_svg([tip + 0.9 * size * way, tip + 0.5j * size * way, tip - 0.5j * size * way], "growhead")


def _way(step: PlanStep, away: float, rim: float) -> Iterable[str]:
    """Return one thick arrow along the rim from the centre line to the hole at the top."""
    if abs(away) < 0.05:
        return
    radius = 1.1 * rim
    room = math.degrees(0.5 * step.cut.diameter_mm / radius) + 2.0
    start = 90.0 - math.copysign(max(abs(away), 14.0), away)
    end = 90.0 - math.copysign(min(room, 0.3 * max(abs(away), 14.0)), away)
    head = math.copysign(min(9.0, 0.6 * abs(end - start)), end - start)
    arc = [cmath.rect(radius, math.radians(start + (end - head - start) * i / 12)) for i in range(13)]
    yield path_svg(arc, "way", closed=False)
    tip = cmath.rect(radius, math.radians(end))
    base = arc[-1]
    side = 0.055 * rim * base / abs(base)
    yield path_svg([tip, base + side, base - side], "wayhead")


def _drill(diameter_mm: float, rim: float) -> str:
    half = max(0.5 * diameter_mm, 0.02 * rim)
    tip, top = 1.03 * rim, 1.4 * rim
    shoulder = tip + 0.6 * half
    points = [
        complex(0.0, tip),
        complex(half, shoulder),
        complex(half, top),
        complex(-half, top),
        complex(-half, shoulder),
    ]
    return path_svg(points, "drill")


def _shape(shape: Shape, turn: complex, view: ViewedFrom, kind: str) -> str:
    if shape.corners:
        return path_svg([seen(corner * turn, view) for corner in shape.corners], f"hole {kind}")
    return circle_svg(seen(shape.centre * turn, view), shape.radius_mm, f"hole {kind}")


def _arrow(tip: complex, half: float, kind: str) -> str:
    way = tip / abs(tip)
    neck = tip - 3.2 * half * way
    side = 1j * way
    points = [
        0.35 * half * side,
        neck + 0.35 * half * side,
        neck + 1.25 * half * side,
        tip,
        neck - 1.25 * half * side,
        neck - 0.35 * half * side,
        -0.35 * half * side,
    ]
    return path_svg(points, kind)


def path_svg(points: Sequence[complex], kind: str, *, closed: bool = True) -> str:
    """Return a path through points [mm, up is up] of a class."""
    way = "L".join(f"{_n(point.real)} {_n(-point.imag)}" for point in points)
    return f'<path class="{kind}" d="M{way}{"Z" if closed else ""}"/>'


def line_svg(start: complex, end: complex, kind: str) -> str:
    """Return a line between two points [mm, up is up] of a class."""
    return f'<path class="{kind}" d="M{_n(start.real)} {_n(-start.imag)}L{_n(end.real)} {_n(-end.imag)}"/>'


def circle_svg(at: complex, radius: float, kind: str) -> str:
    """Return a circle about a point [mm, up is up] of a class."""
    return f'<circle class="{kind}" cx="{_n(at.real)}" cy="{_n(-at.imag)}" r="{_n(radius)}"/>'


def text_svg(at: complex, text: str, size: float, kind: str) -> str:
    """Return a text about a point [mm, up is up], its height in mm."""
    return (
        f'<text class="{kind}" x="{_n(at.real)}" y="{_n(-at.imag)}" font-size="{_n(size)}" text-anchor="middle" '
        f'dominant-baseline="central">{escape(text)}</text>'
    )


def svg_of(
    box: tuple[float, float, float, float], parts: Iterable[str], label: str, kind: str, extra: str = ""
) -> str:
    """Return a drawing: its box (left, top, width, height) [mm], its parts, its label in words, its class."""
    view = " ".join(_n(each) for each in box)
    return f'<svg class="{kind}" viewBox="{view}" role="img" aria-label="{escape(label)}"{extra}>{"".join(parts)}</svg>'


def _n(value: float) -> str:
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text
