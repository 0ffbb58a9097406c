"""Engines of textbooks, put together from their figures."""

from __future__ import annotations

from planner.engine.engine import Engine, EngineCylinder, custom_engine
from planner.rotor.crankshaft import Throw


def throw(name: str, angle: float, z: float, radius: float, rods: int = 1) -> Throw:
    return Throw(name=name, angle_deg=angle, z_mm=z, radius_mm=radius, rods=rods)


def cylinder(
    name: str, on: str, *, bank: float = 0.0, z: float = 0.0, rod: float, mass_kg: float, rotating_kg=0.0
):
    return EngineCylinder(
        name=name,
        throw=on,
        bank_angle_deg=bank,
        z_mm=z,
        rod_length_mm=rod,
        reciprocating_g=1000.0 * mass_kg,
        rotating_g=1000.0 * rotating_kg,
    )


def single(mass_kg: float, rotating_kg: float, radius: float, ratio: float = 1e4) -> Engine:
    """One cylinder; the huge rod leaves the first order alone, as the books do."""
    return custom_engine(
        throws=[throw("1", 0.0, 0.0, radius)],
        cylinders=[cylinder("1", "1", rod=ratio * radius, mass_kg=mass_kg, rotating_kg=rotating_kg)],
        rotation="ccw",
    )
