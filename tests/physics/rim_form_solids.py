"""Random cuts in rims of every form, as solids (manifold3d, a general-purpose solid kernel), against the formulas.

The rim is a polygon in (radius, s) turned about the shaft axis, the drill a convex hull of two circles and a tip; what is
removed is their intersection.  Facets make everything too small by about 1/n^2; Richardson's extrapolation over n and
2n facets removes that.  The frame is that of `planner.cuts.rim_form_hole`: X along the cut's ray, Y to its left, Z = s.
All sizes are invented.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import manifold3d
import numpy as np

from geometry_profiles import rims
from geometry_profiles.rims import RimForm
from planner.cuts.face_hole import face_hole
from planner.cuts.rim_form_hole import HoleMoments, rim_form_hole, rim_hole_breaking_out
from planner.cuts.rim_off import edge_bevel, flat, rim_turned
from tests.physics.solid_crankshaft import first_moments

FACETS = 96
FORMS = ("cylindrical", "bevelled", "one bevel", "tapered", "rounded", "stepped")
KINDS = (
    "middle",
    "in a row",
    "beside",
    "tilted",
    "shallow",
    "out of a face",
    "out of a flank",
)
OTHER_KINDS = ("deeper", "wider", "face hole", "turned", "flat", "bevel")
"""Cuts of other kinds, after those of `KINDS` in a long run."""


@dataclass(frozen=True)
class RimCase:
    """One cut in one rim: what the formulas are given."""

    name: str
    form: RimForm
    kind: str
    numbers: dict[str, Any]


def random_cases(count: int, seed: int = 15) -> Iterator[RimCase]:
    """Yield cuts of every kind in every form of rim, in turn."""
    random = np.random.default_rng(seed)
    pairs = [(form, kind) for kind in (*KINDS, *OTHER_KINDS) for form in FORMS]
    made = 0
    while made < count:
        form_name, kind = pairs[made % len(pairs)]
        case = _random(random, form_name, kind, made)
        if case is None:
            continue
        made += 1
        yield case


def _random(random: np.random.Generator, form_name: str, kind: str, number: int) -> RimCase | None:
    R, t = random.uniform(60.0, 100.0), random.uniform(22.0, 40.0)
    d = random.uniform(6.0, min(16.0, 0.45 * t))
    plain = {"outer_radius_mm": R, "thickness_mm": t}
    widths = random.uniform(1.0, 0.3 * t, size=2)
    if form_name == "cylindrical":
        form = rims.cylindrical(**plain)
    elif form_name == "bevelled":
        slopes = random.uniform(15.0, 55.0, size=2)
        form = rims.bevelled(
            **plain, front_width_mm=widths[0], rear_width_mm=widths[1],
            front_slope_deg=slopes[0], rear_slope_deg=slopes[1],
        )  # fmt: skip
    elif form_name == "one bevel":
        form = rims.bevelled(**plain, rear_width_mm=widths[0], rear_slope_deg=random.uniform(15.0, 55.0))
    elif form_name == "tapered":
        form = rims.tapered(**plain, taper_deg=random.uniform(2.0, 20.0) * random.choice([-1.0, 1.0]))
    elif form_name == "rounded":
        form = rims.rounded(**plain, front_rounding_mm=widths[0], rear_rounding_mm=widths[1])
    else:
        share = random.uniform(0.4, 0.6)
        form = rims.stepped([(share * t, R), ((1.0 - share) * t, R - random.uniform(2.0, 12.0))])
    point = float(random.choice([90.0, 118.0, 135.0, 180.0]))
    numbers: dict[str, Any] = {
        "diameter_mm": d,
        "depth_shoulder_mm": random.uniform(0.5 * d + 5.0, 35.0),
        "point_angle_deg": point,
        "from_middle_mm": 0.0,
    }
    spare = 0.5 * t - 0.5 * d - 0.3
    if kind in ("in a row", "beside", "tilted"):
        numbers["from_middle_mm"] = random.uniform(-spare, spare)
    if kind == "beside":
        numbers["beside_mm"] = random.uniform(-12.0, 12.0)
        numbers["depth_shoulder_mm"] += 4.0
    elif kind == "tilted":
        if form_name == "stepped":
            return RimCase(f"{number}: stands for a tilted one, stepped", form, "in a row", numbers)
        tilt = random.uniform(1.0, 12.0) * random.choice([-1.0, 1.0])
        numbers |= {"tilt_deg": tilt, "from_middle_mm": -math.copysign(0.6 * spare, tilt)}
        numbers["depth_shoulder_mm"] = min(
            numbers["depth_shoulder_mm"], 1.2 * spare / math.tan(math.radians(abs(tilt)))
        )
        if numbers["depth_shoulder_mm"] < 6.0:
            return None
    elif kind == "shallow":
        numbers["from_middle_mm"] = random.uniform(-spare, spare)
        numbers["depth_shoulder_mm"] = random.uniform(0.05, 1.0)
    elif kind == "out of a face":
        numbers["from_middle_mm"] = random.choice([-1.0, 1.0]) * (0.5 * t - random.uniform(0.1, 0.45) * d)
    elif kind == "out of a flank":
        width = math.degrees(math.asin(0.5 * d / R))
        numbers["flanks_deg"] = (float(random.uniform(0.3, 1.2) * width * random.choice([-1.0, 1.0])),)
    elif kind in ("deeper", "wider"):
        numbers["from_middle_mm"] = random.uniform(-spare, spare)
        numbers["before"] = {
            "diameter_mm": d if kind == "deeper" else 0.7 * d,
            "depth_shoulder_mm": 0.5 * numbers["depth_shoulder_mm"] + 0.25 * d,
        }
    elif kind == "face hole":
        r = random.uniform(0.45 * R, R - 13.0 - d)
        return RimCase(
            f"{number}: {kind}, {form_name}",
            form,
            kind,
            {
                "radius_mm": r,
                "diameter_mm": d,
                "depth_shoulder_mm": random.uniform(3.0, 0.6 * t),
                "point_angle_deg": point,
                "through": bool(random.random() < 0.3),
            },
        )
    elif kind == "turned":
        return RimCase(
            f"{number}: {kind}, {form_name}",
            form,
            kind,
            {"off_mm": random.uniform(1.0, 8.0), "sector_deg": random.uniform(20.0, 150.0)},
        )
    elif kind == "flat":
        return RimCase(f"{number}: {kind}, {form_name}", form, kind, {"off_mm": random.uniform(3.0, 12.0)})
    elif kind == "bevel":
        sizes = {
            "width_mm": random.uniform(1.0, 0.4 * t),
            "slope_deg": random.uniform(20.0, 60.0),
            "sector_deg": random.uniform(20.0, 150.0),
        }
        return RimCase(f"{number}: {kind}, plain", rims.cylindrical(**plain), kind, sizes)
    return RimCase(f"{number}: {kind}, {form_name}", form, kind, numbers)


def by_formula(case: RimCase) -> np.ndarray:
    """Return volume, radial and tangential moment, both times s, and the volume times s."""
    numbers = case.numbers
    if case.kind in ("deeper", "wider"):
        plain = {k: v for k, v in numbers.items() if k != "before"}
        after = as_array(rim_form_hole(form=case.form, **plain))
        return after - as_array(rim_form_hole(form=case.form, **{**plain, **numbers["before"]}))
    if case.kind == "turned":
        return as_array(rim_turned(form=case.form, **numbers))
    if case.kind == "flat":
        return as_array(flat(form=case.form, **numbers))
    if case.kind == "bevel":
        return as_array(edge_bevel(form=case.form, **numbers))
    if case.kind == "face hole":
        return _face_hole(case)
    if case.kind in ("out of a face", "out of a flank"):
        found = rim_hole_breaking_out(form=case.form, **numbers)
    else:
        found = rim_form_hole(form=case.form, **numbers)
    return as_array(found)


def _face_hole(case: RimCase) -> np.ndarray:
    """Return what a hole from the front removes; its s from the middle plane."""
    numbers, t = dict(case.numbers), case.form.thickness_mm
    through = numbers.pop("through")
    if through:
        numbers.pop("depth_shoulder_mm")
    solid = face_hole(through=through, thickness_mm=t, **numbers)
    s = (solid.from_face_mm or 0.0) - 0.5 * t
    V, M = solid.volume_mm3, solid.first_moment_mm4
    return np.array([V, M, 0.0, M * s, 0.0, V * s])


def as_array(found: HoleMoments) -> np.ndarray:
    return np.array([
        found.volume_mm3, found.radial_mm4, found.tangential_mm4,
        found.radial_s_mm5, found.tangential_s_mm5, found.along_mm4,
    ])  # fmt: skip


def by_solids(case: RimCase, facets: int = FACETS) -> np.ndarray:
    """Return the same by boolean solids, extrapolated."""
    return (4.0 * _measured(case, 2 * facets) - _measured(case, facets)) / 3.0


def _measured(case: RimCase, n: int) -> np.ndarray:
    body = rim_solid(case.form, n)
    numbers = dict(case.numbers)
    if case.kind in OTHER_KINDS:
        return integrals(_removed(case, body, n))
    flanks = numbers.pop("flanks_deg", ())
    drill = drill_solid(case.form, n, **numbers)
    for flank in flanks:
        turn = math.radians(flank)
        # the metal of a positive flank lies clockwise of it
        normal = (math.sin(turn), -math.cos(turn), 0.0)
        drill = drill.trim_by_plane([math.copysign(1.0, flank) * each for each in normal], 0.0)
    return integrals(body ^ drill)


def _removed(case: RimCase, body: manifold3d.Manifold, n: int) -> manifold3d.Manifold:
    """Return what cuts of the other kinds take out of a body."""
    numbers = dict(case.numbers)
    if case.kind in ("deeper", "wider"):
        before = numbers.pop("before")
        narrow = drill_solid(case.form, n, **{**numbers, **before})
        return (body ^ drill_solid(case.form, n, **numbers)) - narrow
    if case.kind == "face hole":
        a, t = 0.5 * numbers["diameter_mm"], case.form.thickness_mm
        half_point = math.radians(0.5 * numbers["point_angle_deg"])
        c = 0.0 if numbers["point_angle_deg"] >= 180.0 else a / math.tan(half_point)
        deep = t + 5.0 if numbers["through"] else numbers["depth_shoulder_mm"]
        turns = 2.0 * np.pi * (np.arange(n) + 0.5) / n
        circle = np.stack([a * np.cos(turns), a * np.sin(turns)], axis=1)
        points = [np.column_stack([circle, np.full(n, z)]) for z in (-0.5 * t - 5.0, -0.5 * t + deep)]
        points.append(np.array([[0.0, 0.0, -0.5 * t + deep + c]]))
        drill = manifold3d.Manifold.hull_points(np.concatenate(points))
        return body ^ drill.translate([numbers["radius_mm"], 0.0, 0.0])
    if case.kind == "flat":
        return body.trim_by_plane([1.0, 0.0, 0.0], case.form.greatest_radius_mm - numbers["off_mm"])
    half = math.radians(0.5 * numbers["sector_deg"])
    turns = np.linspace(-half, half, 7 * n + 1)
    ring = [(0.0, 0.0), *((300.0 * math.cos(t), 300.0 * math.sin(t)) for t in turns)]
    wedge = manifold3d.Manifold.extrude(manifold3d.CrossSection([ring]), 120.0).translate([0.0, 0.0, -60.0])
    if case.kind == "turned":
        low = case.form.greatest_radius_mm - numbers["off_mm"]
        return (body - manifold3d.Manifold.cylinder(200.0, low, low, 12 * n, True)) ^ wedge
    after = rims.bevelled(
        outer_radius_mm=case.form.greatest_radius_mm,
        thickness_mm=case.form.thickness_mm,
        front_width_mm=numbers["width_mm"],
        front_slope_deg=numbers["slope_deg"],
    )
    return (body - rim_solid(after, n)) ^ wedge


def integrals(solid: manifold3d.Manifold) -> np.ndarray:
    """Return the integrals of 1, x, y, x*s, y*s, s over a closed mesh: sum of tetrahedra from the origin."""
    volume, first = first_moments(solid)
    mesh = solid.to_mesh64()
    p = np.asarray(mesh.vert_properties, dtype=float)[:, :3][np.asarray(mesh.tri_verts)]
    v = np.einsum("ij,ij->i", p[:, 0], np.cross(p[:, 1], p[:, 2])) / 6.0
    total = p.sum(axis=1)
    # mean over a tetrahedron with a corner at the origin: (sum_i p_i p_j + (sum p)(sum p))/20
    second = [
        float((v * ((p[:, :, k] * p[:, :, 2]).sum(axis=1) + total[:, k] * total[:, 2])).sum()) / 20.0
        for k in (0, 1)
    ]
    return np.array([volume, first[0], first[1], *second, first[2]])


def rim_solid(form: RimForm, n: int) -> manifold3d.Manifold:
    """Return the body of revolution inside a rim."""
    ring: list[tuple[float, float]] = [(0.0, form.breaks_mm[0])]
    for piece in form.pieces:
        if piece.rounding_mm == 0.0:
            ring += [(piece.from_radius_mm, piece.from_mm), (piece.to_radius_mm, piece.to_mm)]
            continue
        rising = piece.to_radius_mm > piece.from_radius_mm
        centre = piece.to_mm if rising else piece.from_mm
        top = max(piece.from_radius_mm, piece.to_radius_mm) - piece.rounding_mm
        turns = np.linspace(0.0, 0.5 * np.pi, n + 1)
        s = centre - piece.rounding_mm * np.cos(turns) * (1.0 if rising else -1.0)
        r = top + piece.rounding_mm * np.sin(turns)
        points = list(zip(r.tolist(), s.tolist(), strict=True))
        ring += points if rising else points[::-1]
    ring.append((0.0, form.breaks_mm[-1]))
    clean = [p for i, p in enumerate(ring) if i == 0 or math.dist(p, ring[i - 1]) > 1e-9]
    return manifold3d.Manifold.revolve(manifold3d.CrossSection([clean]), 12 * n)


def drill_solid(
    form: RimForm,
    n: int,
    *,
    diameter_mm: float,
    depth_shoulder_mm: float,
    point_angle_deg: float,
    from_middle_mm: float = 0.0,
    beside_mm: float = 0.0,
    tilt_deg: float = 0.0,
) -> manifold3d.Manifold:
    """Return what a drill sweeps, from well outside the rim to its tip."""
    a = 0.5 * diameter_mm
    c = 0.0 if point_angle_deg >= 180.0 else a / math.tan(math.radians(0.5 * point_angle_deg))
    R = form.radius_mm(from_middle_mm)
    turns = 2.0 * np.pi * (np.arange(n) + 0.5) / n
    circle = np.stack([a * np.cos(turns), a * np.sin(turns)], axis=1)
    out = 4.0 * a + 10.0
    # along Z first: Z = -(way of the drill), the surface at 0
    points = [np.column_stack([circle, np.full(n, z)]) for z in (-depth_shoulder_mm, out)]
    if c > 0.0:
        points.append(np.array([[0.0, 0.0, -depth_shoulder_mm - c]]))
    drill = manifold3d.Manifold.hull_points(np.concatenate(points)).rotate([0.0, 90.0 + tilt_deg, 0.0])
    return drill.translate([math.sqrt(R * R - beside_mm**2), beside_mm, from_middle_mm])
