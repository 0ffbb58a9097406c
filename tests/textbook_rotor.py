"""A textbook's rotor, put through what the product runs.

A book's masses become bobs on throws: what bobs that are put on would change in the two reading planes is the product's way
from masses to vectors (``bob_shift``).  What a balance mass would have to be, and where, is what a display that marks the
light spot shows for that (``TwoPlanes.shown``); static vector and couple are the rows by which the product judges a residual
(``limit_rows``, ``judge``).  All of these are linear: the books' units (kg, mm, lb, in) are carried as they are printed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from planner.frames import MachineConvention, ShaftAngle, TwoPlanes
from planner.machine.unbalance import bob_shift
from planner.rotor.crankshaft import Throw
from planner.rotor.tolerance import ToleranceSpec, limit_rows
from planner.rotor.vectors import ComplexArray, difference_deg
from planner.rotor.verdict import judge

Mass = tuple[float, float, float, float]
"""Mass, radius, angle [deg], z, in the book's units."""

LIGHT_SPOT = MachineConvention(marks="light spot")


def in_planes(masses: Sequence[Mass], planes: tuple[float, float]) -> ComplexArray:
    """Return what the masses are in two planes, by the product's bobs."""
    throws = [
        Throw(name=str(index), angle_deg=ShaftAngle(deg), z_mm=z, radius_mm=radius, rods=1)
        for index, (_, radius, deg, z) in enumerate(masses)
    ]
    return bob_shift(
        throws=throws,
        bobs_on_g={each.name: 0.0 for each in throws},
        bobs_wanted_g={each.name: mass[0] for each, mass in zip(throws, masses, strict=True)},
        planes_z_mm=planes,
    )


@dataclass(frozen=True)
class ToAdd:
    """What has to be added: an amount (mass times radius) and where."""

    amount: float
    angle_deg: float


def to_add(vectors: ComplexArray) -> tuple[ToAdd, ToAdd]:
    """Return what balances vectors in the planes that they are in: what a display of the light spot shows."""
    left, right = TwoPlanes.vectors(vectors).shown(LIGHT_SPOT)
    return ToAdd(left.amount, left.angle_deg), ToAdd(right.amount, right.angle_deg)


def to_add_in_one_plane(masses: Sequence[tuple[float, float, float]]) -> ToAdd:
    """Return what balances masses (mass, radius, angle) that are all in the first of two planes."""
    vectors = in_planes([(*mass, 0.0) for mass in masses], (0.0, 100.0))
    assert abs(vectors[1]) == 0.0
    return to_add(vectors)[0]


def static_and_couple(
    vectors: ComplexArray, planes: tuple[float, float], about: float
) -> tuple[float, float]:
    """Return the amounts of static vector and couple of a residual, as the product judges them."""
    rows = limit_rows(
        ToleranceSpec(static_gmm=1.0, couple_gmm=1.0),
        planes_z_mm=planes,
        bearings_z_mm=planes,
        centre_of_mass_z_mm=about,
    )
    static, couple = judge(vectors, rows)
    return static.amount_gmm, couple.amount_gmm


class Degrees:
    """An angle to compare with, counted round the circle."""

    def __init__(self, expected: float, *, within: float) -> None:
        self.expected, self.within = expected, within

    def __eq__(self, other: object) -> bool:
        return isinstance(other, float | int) and abs(difference_deg(other, self.expected)) <= self.within

    __hash__ = None  # type: ignore[assignment]

    def __repr__(self) -> str:
        return f"{self.expected:g} ± {self.within:g} deg"
