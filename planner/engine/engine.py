"""An engine as its shaking forces see it: throws, cylinders, direction of rotation.

Everything is in the one frame of the project: z front to rear, angles [deg] counter-clockwise as seen from the
front, pins and banks alike.  Layouts of the catalogue count in the direction of rotation; brought into this
frame their angles keep their sign for an engine that turns counter-clockwise and change it for one that turns
clockwise.  At crank travel 0 the crankshaft's frame lies on the frame of the block.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Mapping, Sequence
from typing import Literal

from planner.engine.layouts import Layout
from planner.errors import InputError
from planner.frames import ShaftAngle
from planner.records import dataclass
from planner.rotor.crankshaft import Throw
from planner.rotor.vectors import difference_deg, wrap_deg

Rotation = Literal["cw", "ccw"]

#: Throws that are off a layout by no more than this are its own [deg].
_AGREES_DEG = 1.0


def sense_of(rotation: str) -> int:
    """Return 1 for ``ccw`` and -1 for ``cw``, as seen from the front.

    Raises
    ------
    InputError
        For any other word.
    """
    if rotation == "ccw":
        return 1
    if rotation == "cw":
        return -1
    raise InputError(
        f"rotation `{rotation}`, it must be `cw` or `ccw` as seen from the front",
        hint="most engines turn clockwise as seen from the nose of the crankshaft",
    )


@dataclass(frozen=True, kw_only=True)
class EngineCylinder:
    """A cylinder and what moves in it.

    Attributes
    ----------
    name, throw : str
        Its own name and that of its throw.
    bank_angle_deg : float
        Direction of the cylinder's axis, outward [deg, counter-clockwise from the front, from the reference].
    z_mm : float
        Where its rod and piston are [mm].
    rod_length_mm : float
        Centre to centre [mm].
    offset_mm : float
        How far the piston pin's line is off the crank axis, toward ``bank_angle_deg + 90`` [mm].
    reciprocating_g, rotating_g : float
        Masses that go with the piston, and with the crankpin [g].
    """

    name: str
    throw: str
    bank_angle_deg: float
    z_mm: float
    rod_length_mm: float
    offset_mm: float = 0.0
    reciprocating_g: float = 1.0
    rotating_g: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Engine:
    """Throws and cylinders of an engine.

    ``spacing_mm`` and ``unit_gmm`` are the units of inherent forces and couples: a couple of 1 is the force of
    one cylinder, ``unit_gmm * omega**2``, times ``spacing_mm``.  ``middle_z_mm`` is where couples are taken.
    ``reference_axis_deg`` is the axis along which and across which forces are stated and weighted, in the
    frame of the bank angles: 0 is what these count from, another number an inclined mounting.
    """

    throws: tuple[Throw, ...]
    cylinders: tuple[EngineCylinder, ...]
    rotation: Rotation
    reference_axis_deg: float = 0.0
    middle_z_mm: float = 0.0
    spacing_mm: float = 1.0

    def __post_init__(self) -> None:
        """Refuse what can't turn."""
        sense_of(self.rotation)
        if not self.cylinders:
            raise InputError("the engine has no cylinders", hint="name a layout, or list [[cylinders]]")
        throws = {throw.name: throw for throw in self.throws}
        names = [cylinder.name for cylinder in self.cylinders]
        for cylinder in self.cylinders:
            if names.count(cylinder.name) > 1:
                raise InputError(f"cylinder `{cylinder.name}` is given twice")
            if cylinder.throw not in throws:
                known = ", ".join(f"`{name}`" for name in throws)
                raise InputError(
                    f"cylinder `{cylinder.name}` hangs on throw `{cylinder.throw}`, the throws are {known}"
                )
            reach = throws[cylinder.throw].radius_mm + abs(cylinder.offset_mm)
            if not cylinder.rod_length_mm > reach:
                raise InputError(
                    f"cylinder `{cylinder.name}`: rod length {cylinder.rod_length_mm:g} mm, it must be more "
                    f"than throw radius plus offset, {reach:g} mm",
                    hint="the rod length is from centre to centre, the throw radius is half the stroke",
                )
            if not (cylinder.reciprocating_g >= 0.0 and cylinder.rotating_g >= 0.0):
                raise InputError(f"cylinder `{cylinder.name}`: masses must be 0 or more")

    @property
    def sense(self) -> int:
        """1 when the engine turns counter-clockwise as seen from the front, else -1."""
        return sense_of(self.rotation)

    @property
    def unit_gmm(self) -> float:
        """Mean of reciprocating mass times throw radius [g*mm]: times omega squared it is the unit of force."""
        return math.fsum(
            cylinder.reciprocating_g * self.throw(cylinder.throw).radius_mm for cylinder in self.cylinders
        ) / len(self.cylinders)

    def throw(self, name: str) -> Throw:
        """Return the throw of that name (KeyError if there is none)."""
        for throw in self.throws:
            if throw.name == name:
                return throw
        raise KeyError(name)

    def bobs_g(self, fraction: float) -> dict[str, float]:
        """Return the bob of every throw with that share of the reciprocating mass [g]."""
        bobs = dict.fromkeys((throw.name for throw in self.throws), 0.0)
        for cylinder in self.cylinders:
            bobs[cylinder.throw] += cylinder.rotating_g + fraction * cylinder.reciprocating_g
        return bobs

    def dead_centres_deg(self) -> dict[str, float]:
        """Return the crank travel [deg, 0 <= travel < 360] at which every piston is at the top.

        With an offset the pin stands a little off the bank angle there: rod and crank in one line.
        """
        centres = {}
        for cylinder in self.cylinders:
            throw = self.throw(cylinder.throw)
            lean = math.asin(cylinder.offset_mm / (cylinder.rod_length_mm + throw.radius_mm))
            angle = cylinder.bank_angle_deg + math.degrees(lean) - throw.angle_deg
            centres[cylinder.name] = wrap_deg(self.sense * angle)
        return centres


def engine_from_layout(
    layout: Layout, *, rotation: Rotation = "cw", rod_ratio: float = 3.5, rods_apart: float = 0.0
) -> Engine:
    """Return a catalogue layout as an engine in units: throw radius, spacing and masses all 1.

    Parameters
    ----------
    layout : Layout
    rotation : {"cw", "ccw"}
        As seen from the front.
    rod_ratio : float
        Rod length over throw radius.
    rods_apart : float
        Distance of the two rods of a pin, in throw spacings.

    Raises
    ------
    InputError
        If the rod is not longer than the throw radius.
    """
    sense = sense_of(rotation)
    places = [throw.z for throw in layout.throws]
    for each in layout.cylinders:
        if len(layout.throws[each.throw].cylinders) == 1:  # half of a split pin: its bob sits at its own rod
            places[each.throw] += each.rod_offset * rods_apart
    throws = tuple(
        Throw(
            name=str(index + 1),
            angle_deg=ShaftAngle(wrap_deg(sense * throw.angle_deg)),
            z_mm=places[index],
            radius_mm=1.0,
            rods=len(throw.cylinders),
            cylinders=throw.cylinders,
        )
        for index, throw in enumerate(layout.throws)
    )
    cylinders = tuple(
        EngineCylinder(
            name=each.name,
            throw=str(each.throw + 1),
            bank_angle_deg=sense * each.bank_deg,
            z_mm=layout.throws[each.throw].z + each.rod_offset * rods_apart,
            rod_length_mm=rod_ratio,
        )
        for each in layout.cylinders
    )
    return Engine(throws=throws, cylinders=cylinders, rotation=rotation)


@dataclass(frozen=True, kw_only=True)
class LayoutMatch:
    """How the throws of a crankshaft agree with a layout.

    ``offset_deg`` is the crankshaft-frame angle of the layout's zero; ``worst_deg`` the largest deviation that
    is left; ``mirrored`` is True when the throws are those of the layout turning the other way.
    ``throw_names`` are the throws in the layout's order.
    """

    agrees: bool
    mirrored: bool
    offset_deg: float
    worst_deg: float
    throw_names: tuple[str, ...]


def match_layout(layout: Layout, *, throws: Sequence[Throw], rotation: Rotation) -> LayoutMatch:
    """Return how the throws, taken front to rear, agree with a layout.

    Raises
    ------
    InputError
        If the number of throws or of rods on a throw differs from the layout's.
    """
    ordered = sorted(throws, key=lambda throw: throw.z_mm)
    if len(ordered) != len(layout.throws):
        raise InputError(
            f"the layout `{layout.name}` has {len(layout.throws)} throws, the crankshaft has {len(ordered)}",
            hint="a split pin is two throws, a pin shared by two rods is one",
        )
    for throw, wanted in zip(ordered, layout.throws, strict=True):
        if throw.rods != len(wanted.cylinders):
            raise InputError(
                f"throw `{throw.name}` has {throw.rods} rods, the layout `{layout.name}` has "
                f"{len(wanted.cylinders)} there"
            )
    sense = sense_of(rotation)
    straight = _deviation(layout, ordered, sense)
    turned = _deviation(layout, ordered, -sense)
    mirrored = straight[1] > _AGREES_DEG and turned[1] <= _AGREES_DEG
    offset, worst = turned if mirrored else straight
    return LayoutMatch(
        agrees=straight[1] <= _AGREES_DEG,
        mirrored=mirrored,
        offset_deg=offset,
        worst_deg=worst,
        throw_names=tuple(throw.name for throw in ordered),
    )


def _deviation(layout: Layout, ordered: Sequence[Throw], sense: int) -> tuple[float, float]:
    """Return (offset, largest deviation) of the throws from the layout in that sense [deg]."""
    steps = [
        difference_deg(throw.angle_deg, sense * wanted.angle_deg)
        for throw, wanted in zip(ordered, layout.throws, strict=True)
    ]
    # all about the first one, so that no angle is near the cut at 180 degrees when they agree
    about_first = [difference_deg(step, steps[0]) for step in steps]
    middle = 0.5 * (max(about_first) + min(about_first))
    return wrap_deg(steps[0] + middle), max(abs(step - middle) for step in about_first)


def engine_from_throws(
    layout: Layout,
    *,
    throws: Sequence[Throw],
    rotation: Rotation,
    rod_length_mm: float,
    masses_g: Mapping[str, tuple[float, float]] | None = None,
    rods_apart_mm: float = 0.0,
    reference_axis_deg: float = 0.0,
) -> Engine:
    """Return a real crankshaft with the banks of a catalogue layout.

    Parameters
    ----------
    layout : Layout
        Gives the banks; the throws' own angles and places are used.
    throws : sequence of Throw
        As many as the layout has, with as many rods.  Cylinders that a throw names are taken in the order of
        the layout's banks (bank A first); throws that name none get the layout's own numbers.
    rod_length_mm : float
    masses_g : mapping of cylinder to (reciprocating, rotating), optional
        [g]; all 1 and 0 if left out.
    rods_apart_mm : float
        Distance of the two rods of a pin [mm].

    Raises
    ------
    InputError
        As `match_layout`; if the angles of the throws are not those of the layout.
    """
    match = match_layout(layout, throws=throws, rotation=rotation)
    if not match.agrees:
        hint = "check the layout's name and the angles of the throws"
        if match.mirrored:
            hint = f"they are those of the layout turning the other way: is the rotation really `{rotation}`?"
        raise InputError(
            f"the angles of the throws are not those of `{layout.name}` turning `{rotation}`"
            + ("" if match.mirrored else f": one is off by {match.worst_deg:.3g} degrees"),
            hint=hint,
        )
    by_name = {throw.name: throw for throw in throws}
    cylinders = []
    for each in layout.cylinders:
        throw = by_name[match.throw_names[each.throw]]
        place = layout.throws[each.throw].cylinders.index(each.name)
        name = throw.cylinders[place] if throw.cylinders else each.name
        reciprocating, rotating = (1.0, 0.0) if masses_g is None else masses_g[name]
        cylinders.append(
            EngineCylinder(
                name=name,
                throw=throw.name,
                bank_angle_deg=sense_of(rotation) * each.bank_deg,
                z_mm=throw.z_mm + each.rod_offset * rods_apart_mm * (throw.rods > 1),
                rod_length_mm=rod_length_mm,
                reciprocating_g=reciprocating,
                rotating_g=rotating,
            )
        )
    return custom_engine(
        throws=throws, cylinders=cylinders, rotation=rotation, reference_axis_deg=reference_axis_deg
    )


def custom_engine(
    *,
    throws: Sequence[Throw],
    cylinders: Sequence[EngineCylinder],
    rotation: Rotation,
    reference_axis_deg: float = 0.0,
) -> Engine:
    """Return any engine; couples are taken about the middle of the pins, in mean spacings of them.

    Throws nearer to each other than half the widest gap (the halves of a split pin) count as one pin.  Raises
    as `Engine`.
    """
    places = sorted(throw.z_mm for throw in throws)
    widest = max((b - a for a, b in itertools.pairwise(places)), default=0.0)
    pins: list[list[float]] = []
    for place in places:
        if pins and place - pins[-1][-1] <= 0.5 * widest:
            pins[-1].append(place)
        else:
            pins.append([place])
    centres = [math.fsum(pin) / len(pin) for pin in pins] or [0.0]
    length = centres[-1] - centres[0]
    return Engine(
        throws=tuple(throws),
        cylinders=tuple(cylinders),
        rotation=rotation,
        reference_axis_deg=reference_axis_deg,
        middle_z_mm=0.5 * (centres[0] + centres[-1]),
        spacing_mm=length / (len(centres) - 1) if len(centres) > 1 else 1.0,
    )
