"""Two-dimensional sections of cuts, and how far apart in angle two of them must stand.

Every cut's section in the plane normal to the shaft is symmetric about the ray from the shaft axis on which the
cut stands: a rim hole is a pentagon (rectangle and point), a face hole or slug a disc.  Both are the convex hull of a
few points grown by a radius.  Because of that symmetry "is the wall kept?" becomes "is the angle between them at
least so much?", and that angle has a closed form: turning one section about the shaft axis moves each of its corners
on a circle, and the last place where such a circle leaves the other section, grown by the wall, is found from a line
or an arc.  No polygons are needed, and a whole table of pairs is one array expression.

Angles here are radians inside a section and degrees at the edges.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from planner.records import dataclass

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]

ANGLE_SAFETY_DEG = 1e-8
"""Added to every separation [deg], so that rounding can never eat into a wall."""


@dataclass(frozen=True)
class Sections:
    """Sections of n cuts, each in its own frame with +x along its ray.

    Attributes
    ----------
    radius_mm, angle_rad : ndarray, shape (..., 3)
        Corners of the upper half in polar coordinates, from the rim inward (a disc: its centre three times).
    grow_mm : ndarray, shape (...)
        Growth of the hull [mm]: 0 for a pentagon, the disc's radius for a disc.
    """

    radius_mm: FloatArray
    angle_rad: FloatArray
    grow_mm: FloatArray

    def __len__(self) -> int:
        return int(self.grow_mm.shape[0])

    def take(self, index: Any) -> Sections:
        """Return the sections at ``index`` (numpy indexing on the leading axes)."""
        return Sections(self.radius_mm[index], self.angle_rad[index], self.grow_mm[index])

    def hull_xy_mm(self) -> FloatArray:
        """Return the five corners of the whole hull in the own frame, shape (..., 5, 2) [mm]."""
        x, y = self.radius_mm * np.cos(self.angle_rad), self.radius_mm * np.sin(self.angle_rad)
        upper = np.stack([x, y], axis=-1)
        lower = np.stack([x[..., 1::-1], -y[..., 1::-1]], axis=-1)
        return np.concatenate([upper, lower], axis=-2)


def rim_hole_sections(
    *, rim_radius_mm: float, diameter_mm: FloatArray, depth_shoulder_mm: FloatArray, cone_mm: FloatArray
) -> Sections:
    """Return pentagon sections: a rectangle from the rim to the shoulder and the point below it [mm]."""
    half = diameter_mm / 2.0
    shoulder = rim_radius_mm - depth_shoulder_mm
    x = np.stack([np.full_like(half, rim_radius_mm), shoulder, shoulder - cone_mm], axis=-1)
    y = np.stack([half, half, np.zeros_like(half)], axis=-1)
    return Sections(np.hypot(x, y), np.arctan2(y, x), np.zeros_like(half))


def disc_sections(*, radius_mm: FloatArray, diameter_mm: FloatArray) -> Sections:
    """Return disc sections at a radius [mm]."""
    r, d = np.broadcast_arrays(np.asarray(radius_mm, float), np.asarray(diameter_mm, float))
    corners = np.repeat(r[..., None], 3, axis=-1)
    return Sections(corners, np.zeros_like(corners), d / 2.0)


def rim_cut_sections(
    *, outer_radius_mm: FloatArray, off_mm: FloatArray, half_angle_deg: FloatArray
) -> Sections:
    """Return what cuts of the rim take seen along the shaft, as hulls that hold them where they end.

    Between its ends the sector's rim bulges beyond the hull; nothing comes that near to the rim there that does not meet
    the hull too.
    """
    half = np.radians(half_angle_deg)
    low = outer_radius_mm - off_mm
    radius = np.stack([outer_radius_mm, low, low * np.cos(half)], axis=-1)
    angle = np.stack([half, half, np.zeros_like(half)], axis=-1)
    return Sections(radius, angle, np.zeros_like(half))


def ray_section(length_mm: float) -> Sections:
    """Return the section of a straight edge from the shaft axis outward (a fan's flank) [mm], shape (1,)."""
    return Sections(np.array([[length_mm, length_mm, 0.0]]), np.zeros((1, 3)), np.zeros(1))


def join(parts: list[Sections]) -> Sections:
    """Return several sets of sections as one."""
    return Sections(
        np.concatenate([p.radius_mm for p in parts]),
        np.concatenate([p.angle_rad for p in parts]),
        np.concatenate([p.grow_mm for p in parts]),
    )


def separation_deg(first: Sections, second: Sections, wall_mm: float) -> FloatArray:
    """Return the least angle between two sections' rays that keeps the wall [deg].

    Parameters
    ----------
    first, second : Sections
        Shapes broadcast against each other.
    wall_mm : float
        Wall to keep [mm].

    Returns
    -------
    ndarray, shape broadcast
        0 where they never meet; any greater angle (up to 180) keeps the wall too.
    """
    gap = wall_mm + first.grow_mm + second.grow_mm
    best = np.maximum(_last_contact_rad(first, second, gap), _last_contact_rad(second, first, gap))
    return np.where(best > 0.0, np.degrees(np.minimum(best, np.pi)) + ANGLE_SAFETY_DEG, 0.0)


def between_deg(first_deg: FloatArray, second_deg: FloatArray | float) -> FloatArray:
    """Return the angle between rays the shorter way round [deg], broadcast against each other."""
    return np.asarray(np.abs((first_deg - second_deg + 180.0) % 360.0 - 180.0))


def _last_contact_rad(fixed: Sections, turned: Sections, gap: FloatArray) -> FloatArray:
    """Return the greatest turn at which a lower corner of ``turned`` touches the grown ``fixed``; -inf if none."""
    best = np.full(np.broadcast_shapes(fixed.grow_mm.shape, turned.grow_mm.shape), -np.inf)
    radius, angle = fixed.radius_mm, fixed.angle_rad
    x, y = radius * np.cos(angle), radius * np.sin(angle)
    fixed_is_disc = bool(np.all(radius == radius[..., :1]) and np.all(angle == 0.0))
    turned_is_disc = bool(
        np.all(turned.radius_mm == turned.radius_mm[..., :1]) and np.all(turned.angle_rad == 0.0)
    )
    for corner in range(1 if turned_is_disc else 3):
        r, ahead = turned.radius_mm[..., corner], turned.angle_rad[..., corner]
        contact = np.full(best.shape, -np.inf)
        for at in range(1 if fixed_is_disc else 3):
            contact = np.maximum(contact, _leaves_disc(r, radius[..., at], angle[..., at], gap))
        if not fixed_is_disc:
            for at in range(2):
                contact = np.maximum(
                    contact, _leaves_edge(r, x[..., at], y[..., at], x[..., at + 1], y[..., at + 1], gap)
                )
        best = np.maximum(best, contact + ahead)
    return best


def _leaves_disc(r: FloatArray, q: FloatArray, at: FloatArray, gap: FloatArray) -> FloatArray:
    """Greatest polar angle on the circle of radius r within ``gap`` of the point (q, at)."""
    product = 2.0 * r * q
    usable = product > 1e-12
    cosine = (r * r + q * q - gap * gap) / np.where(usable, product, 1.0)
    # cosine > 1: never that near; < -1: always that near
    leaving = at + np.arccos(np.clip(cosine, -1.0, 1.0))
    never = np.where(usable, cosine > 1.0, True)
    return np.where(never, -np.inf, leaving)


def _leaves_edge(
    r: FloatArray, x1: FloatArray, y1: FloatArray, x2: FloatArray, y2: FloatArray, gap: FloatArray
) -> FloatArray:
    """Greatest polar angle at which the circle of radius r crosses the edge's parallel at distance ``gap``."""
    length = np.hypot(x2 - x1, y2 - y1)
    usable = length > 1e-9
    safe = np.where(usable, length, 1.0)
    tx, ty = (x2 - x1) / safe, (y2 - y1) / safe
    nx, ny = ty, -tx  # corners run from the rim inward along the upper side: this points outward
    offset = nx * x1 + ny * y1 + gap
    positive = r > 1e-12
    cosine = offset / np.where(positive, r, 1.0)
    valid = usable & positive & (np.abs(cosine) <= 1.0)
    opening = np.arccos(np.clip(cosine, -1.0, 1.0))
    normal = np.arctan2(ny, nx)
    best = np.full(np.broadcast_shapes(r.shape, x1.shape, gap.shape), -np.inf)
    for sign in (1.0, -1.0):
        at = normal + sign * opening
        foot = (r * np.cos(at) - x1) * tx + (r * np.sin(at) - y1) * ty
        hit = valid & (foot >= -1e-9) & (foot <= length + 1e-9)
        wrapped = (at + np.pi) % (2.0 * np.pi) - np.pi
        best = np.where(hit, np.maximum(best, wrapped), best)
    return best
