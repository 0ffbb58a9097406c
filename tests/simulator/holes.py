"""What a cut takes away or brings, integrated numerically over the tool's circle: mass, first moment, place along z.

The tool's circle is split into rings at Gauss points (radius) and equal steps (angle); along the tool the integrand is
a polynomial and done in closed form on every line.  Lengths [mm], density [g/cm3], results in g, g*mm, mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

_RINGS, _SPOKES = 24, 64
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(_RINGS)


@dataclass(frozen=True)
class Taken:
    """Mass [g] and first moment about the shaft axis [g*mm] (removed is negative), and the mass's place along z [mm]."""

    mass_g: float
    moment_gmm: float
    z_mm: float


def cone_mm(diameter_mm: float, point_angle_deg: float) -> float:
    """How much longer than its full diameter a hole is in its middle."""
    return 0.5 * diameter_mm / math.tan(math.radians(0.5 * point_angle_deg)) if point_angle_deg < 180 else 0.0


def _circle(radius_mm: float) -> tuple[np.ndarray, np.ndarray, np.ndarray, np.ndarray]:
    """Points of a disc: distance from its middle, two coordinates, area of each."""
    rho = 0.5 * radius_mm * (_NODES + 1.0)
    phi = 2.0 * math.pi * (np.arange(_SPOKES) + 0.5) / _SPOKES
    area = (0.5 * radius_mm * _WEIGHTS * rho)[:, None] * np.full(_SPOKES, 2.0 * math.pi / _SPOKES)
    r = np.broadcast_to(rho[:, None], area.shape)
    return r, r * np.cos(phi), r * np.sin(phi), area


def rim_hole(
    *,
    rim_mm: float,
    diameter_mm: float,
    shoulder_mm: float,
    point_angle_deg: float,
    density: float,
    z_mm: float,
) -> Taken:
    """A hole drilled through the convex rim toward the axis; the depth counts on the hole's own axis, from the rim."""
    a = 0.5 * diameter_mm
    rho, across, _, area = _circle(a)
    cone = cone_mm(diameter_mm, point_angle_deg)
    outer = np.sqrt(rim_mm**2 - across**2)  # where a line of the drill enters
    inner = rim_mm - shoulder_mm - cone * (1.0 - rho / a)  # where it ends
    length = np.maximum(outer - inner, 0.0)
    grams = density / 1000.0
    mass = grams * float(np.sum(length * area))
    moment = grams * float(np.sum(0.5 * (outer + inner) * length * area))
    return Taken(-mass, -moment, z_mm)


def face_hole(
    *,
    radius_mm: float,
    diameter_mm: float,
    shoulder_mm: float,
    point_angle_deg: float,
    density: float,
    face_z_mm: float,
    inward: int,
) -> Taken:
    """A blind hole parallel to the shaft axis, from a face at ``face_z_mm`` into ``inward`` (+1 or -1 along z)."""
    a = 0.5 * diameter_mm
    rho, along, _, area = _circle(a)
    deep = shoulder_mm + cone_mm(diameter_mm, point_angle_deg) * (1.0 - rho / a)
    grams = density / 1000.0
    mass = grams * float(np.sum(deep * area))
    moment = grams * float(np.sum((radius_mm + along) * deep * area))
    middle = float(np.sum(0.5 * deep**2 * area) / np.sum(deep * area))
    return Taken(-mass, -moment, face_z_mm + inward * middle)


def bore(
    *, radius_mm: float, diameter_mm: float, length_mm: float, density: float, z_mm: float, added: bool
) -> Taken:
    """A flat-ended cylinder parallel to the shaft axis: a through hole, or a slug that is added."""
    _, along, _, area = _circle(0.5 * diameter_mm)
    grams = density / 1000.0 * length_mm
    mass = grams * float(np.sum(area))
    moment = grams * float(np.sum((radius_mm + along) * area))
    sign = 1.0 if added else -1.0
    return Taken(sign * mass, sign * moment, z_mm)
