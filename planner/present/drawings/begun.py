"""A crankshaft of which not everything is known yet, drawn from the answers of a new job: it grows as one answers."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from html import escape
from typing import Any

from geometry_profiles.shapes import fan
from planner.engine.layouts import Layout, layout
from planner.errors import InputError
from planner.frames import SIDES, MachineConvention, ShaftAngle, Side
from planner.jobfile.job import Job
from planner.jobfile.new_job.checks import Answers, units_of
from planner.jobfile.new_job.questions import counterweight_name
from planner.jobfile.new_job.text import throw_angle_deg
from planner.present.drawings.live import end_view_of, line_svg, path_svg, svg_of, text_svg
from planner.quantity import Kind, finite_number
from planner.rotor.crankshaft import Counterweight, Throw

_USUAL_RADIUS_MM = 45.0
_LEAST_SHARE = 0.3


@dataclass(frozen=True, kw_only=True)
class Begun:
    """What is known of a crankshaft and of the machine's counting.

    ``counted`` says whether the machine's direction and viewing end are known; places along the shaft [mm] are None, or
    left out, as long as they are not.
    """

    machine: MachineConvention
    counted: bool
    throws: tuple[Throw, ...] = ()
    throws_z_mm: tuple[float, ...] = ()
    counterweights: tuple[Counterweight, ...] = ()
    bearings_z_mm: tuple[float | None, float | None] = (None, None)
    planes_z_mm: tuple[float | None, float | None] = (None, None)


def begun_of(answers: Answers, *, machine: Mapping[str, Any] | None = None) -> Begun:
    """Return what the answers so far say.

    Parameters
    ----------
    answers : mapping
        Key to answer, checked.
    machine : mapping, optional
        ``[machine]`` of a finished shop file, where that is used.
    """
    said = dict(machine) if machine is not None else {}
    direction = said.get("angle_direction", answers.get("angle_direction"))
    viewed = said.get("viewed_from", answers.get("viewed_from"))
    zero = said.get("angle_zero", answers.get("angle_zero"))
    offset = said.get("drill_offset", answers.get("drill_offset"))
    rotation = answers.get("rotation") or "cw"
    name = answers.get("layout")
    found = None if name is None else layout(name)
    throws = () if found is None else tuple(_throws(found, answers, rotation))
    known = {f"throw {each.name}": each.angle_deg for each in throws}
    return Begun(
        machine=MachineConvention(
            direction="cw" if direction == "cw" else "ccw",
            viewed_from="rear" if viewed == "rear" else "front",
            zero_deg=known.get(str(zero), ShaftAngle(_number(zero))),
            drill_offset_deg=_number(offset),
        ),
        counted=direction in ("cw", "ccw") and viewed in ("front", "rear"),
        throws=throws,
        throws_z_mm=() if found is None else tuple(_throws_z_mm(found, answers)),
        counterweights=tuple(_counterweights(answers)),
        bearings_z_mm=(_length(answers, "bearing_1_z"), _length(answers, "bearing_2_z")),
        planes_z_mm=(_length(answers, "left_plane"), _length(answers, "right_plane")),
    )


def begun_job(job: Job, *, counted: bool = True) -> Begun:
    """Return a whole job as one that is begun."""
    crankshaft = job.crankshaft
    return Begun(
        machine=job.machine,
        counted=counted,
        throws=tuple(crankshaft.throws),
        throws_z_mm=tuple(each.z_mm for each in crankshaft.throws),
        counterweights=tuple(crankshaft.counterweights),
        bearings_z_mm=(crankshaft.bearing_1_z_mm, crankshaft.bearing_2_z_mm),
        planes_z_mm=(job.planes_z_mm[0], job.planes_z_mm[1]),
    )


def begun_svgs(begun: Begun) -> tuple[str, str]:
    """Return the end view and the side view as far as they are known; an empty text for one of which nothing is."""
    end = ""
    if begun.throws or begun.counterweights or begun.counted:
        end = end_view_of(begun.machine, begun.throws, begun.counterweights, counted=begun.counted)
    return end, side_view_svg(begun)


def _throws(found: Layout, answers: Answers, rotation: str) -> Iterator[Throw]:
    radius = _length(answers, "radius") or _USUAL_RADIUS_MM
    for index, throw in enumerate(found.throws):
        yield Throw(
            name=str(index + 1),
            angle_deg=ShaftAngle(throw_angle_deg(found, index, rotation)),
            z_mm=0.0,
            radius_mm=radius,
            rods=max(1, len(throw.cylinders)),
        )


def _throws_z_mm(found: Layout, answers: Answers) -> Iterator[float]:
    first, spacing = _length(answers, "first_throw_z"), _length(answers, "spacing")
    if first is None or (spacing is None and len({each.z for each in found.throws}) > 1):
        return
    for throw in found.throws:
        yield first + (throw.z - found.throws[0].z) * (spacing or 0.0)


def _counterweights(answers: Answers) -> Iterator[Counterweight]:
    outer, thickness = _length(answers, "outer_radius"), _length(answers, "thickness")
    half = _number(answers.get("half_angle"))
    if outer is None or not 0.0 < half <= 180.0:
        return
    inner = _length(answers, "inner_radius")
    try:
        outline = fan(
            outer_radius_mm=outer,
            half_angle_deg=half,
            inner_radius_mm=_LEAST_SHARE * outer if inner is None or inner >= outer else inner,
        )
    except ValueError:  # InputError too
        return
    for number in range(int(answers.get("counterweights") or 0)):
        angle, z_mm = (
            answers.get(f"counterweight_{number + 1}_angle"),
            _length(answers, f"counterweight_{number + 1}_z"),
        )
        if angle is None:
            continue
        yield Counterweight(
            name=counterweight_name(number),
            z_mm=float("nan") if z_mm is None else z_mm,
            angle_deg=ShaftAngle(_number(angle)),
            thickness_mm=thickness or 0.2 * outer,
            outline=outline,
            cuts=(),
        )


def _length(answers: Answers, key: str) -> float | None:
    return _parsed(answers, key, "length")


def _parsed(answers: Answers, key: str, kind: Kind) -> float | None:
    text = answers.get(key)
    if not text:
        return None
    try:
        return units_of(answers).parse(text, kind)
    except InputError:
        return None


def _number(value: object) -> float:
    """Return an angle as a number; 0 for what is none (a throw of a crankshaft that is not known yet)."""
    try:
        return finite_number(re.sub(r"\s*(deg|degrees|°)$", "", str(value)), what="angle")
    except InputError:
        return 0.0


def side_view_svg(begun: Begun, *, known_z_mm: float | None = None) -> str:
    """Return the crankshaft from the side: bearings, crankpins, counterweights and reading planes along the shaft.

    ``known_z_mm`` is where a known mass is; an empty text where no two places are known.
    """
    weights = [each for each in begun.counterweights if each.z_mm == each.z_mm]
    places: Sequence[float] = [
        each
        for each in (
            *begun.throws_z_mm,
            *begun.bearings_z_mm,
            *begun.planes_z_mm,
            *(weight.z_mm for weight in weights),
        )
        if each is not None
    ]
    if len(set(places)) < 2:
        return ""
    low, high = min(places), max(places)
    span = high - low
    tall = 0.13 * span
    size = 0.034 * span
    parts = [line_svg(complex(low - 0.04 * span, 0.0), complex(high + 0.04 * span, 0.0), "shaft")]
    for weight in weights:
        # on which side of the shaft it is seen in the end view; level ones stand up
        up = -1.0 if 180.0 < weight.angle_deg % 360.0 < 360.0 else 1.0
        half = 0.5 * weight.thickness_mm
        corners = [
            complex(weight.z_mm + across * half, high_ * up * tall)
            for across, high_ in ((-1, 0.1), (1, 0.1), (1, 1), (-1, 1))
        ]
        parts.append(path_svg(corners, "body"))
        parts.append(text_svg(complex(weight.z_mm, up * (tall + 0.75 * size)), weight.name, size, "name"))
    for throw, z_mm in zip(begun.throws, begun.throws_z_mm, strict=False):
        parts.append(
            f'<circle class="throw" cx="{z_mm:.2f}" cy="0" r="{0.021 * span:.2f}">'
            f"<title>throw {escape(throw.name)}</title></circle>"
        )
        parts.append(text_svg(complex(z_mm, 0.0), throw.name, 0.8 * size, "number"))
    for bearing in begun.bearings_z_mm:
        if bearing is not None:
            parts.append(
                path_svg(
                    [
                        complex(bearing + x * 0.018 * span, -y * 0.03 * span)
                        for x, y in ((0, 0), (1, 1), (-1, 1))
                    ],
                    "bearing",
                )
            )
    sides: tuple[Side, Side] = SIDES
    for side, plane in zip(sides, begun.planes_z_mm, strict=True):
        if plane is not None:
            parts.append(
                line_svg(
                    complex(plane, -(tall + 1.7 * size)), complex(plane, (tall + 1.7 * size)), f"plane {side}"
                )
            )
            parts.append(text_svg(complex(plane, tall + 2.5 * size), side, size, f"mark {side}"))
    if known_z_mm is not None:
        # on the shaft's line: the end view says on which side
        parts.append(f'<circle class="known" cx="{known_z_mm:.2f}" cy="0" r="{0.026 * span:.2f}"/>')
    parts.append(text_svg(complex(low, -tall - 2.5 * size), "front", size, "number"))
    parts.append(text_svg(complex(high, -tall - 2.5 * size), "rear", size, "number"))
    top = tall + 3.5 * size
    box = (low - 0.09 * span, -top, 1.18 * span, 2 * top)
    return svg_of(box, parts, "The crankshaft from the side, front at the left.", "sideview")
