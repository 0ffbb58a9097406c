"""Counterweights and their cuts as solids (manifold3d, a general-purpose solid kernel), for the rigid-body engine.

A counterweight is a plate of the outline's shape, a drill is the convex hull of two circles and a tip, a cut is a
boolean difference.  Round things have facets: everything that comes out is too small by about 1/n^2, and Richardson's
extrapolation over two facet numbers removes that (`extrapolated`).  Coordinates are the engine's (see
`rigid_body`): X, Y as the project's, Z = -z.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import manifold3d
import numpy as np

from planner.correction.problem import CorrectionProblem
from planner.cuts.cut import Cut
from planner.rotor.crankshaft import Counterweight
from tests.physics.rigid_body import Body

RIM_FACETS_PER_DRILL_FACET = 12


def extrapolated(value: Callable[[int], np.ndarray], facets: int) -> np.ndarray:
    """Return what a value that is off by 1/n^2 tends to, from n and 2n facets."""
    return (4.0 * value(2 * facets) - value(facets)) / 3.0


def bodies(problem: CorrectionProblem, cuts: Sequence[Cut], *, facets: int) -> list[Body]:
    """Return all counterweights with the cuts made in them, and the slugs put into them."""
    found = []
    for counterweight in problem.counterweights:
        density = problem.density_of(counterweight) / 1000.0
        here = [cut for cut in cuts if cut.counterweight == counterweight.name]
        plate = plate_solid(counterweight, facets)
        for cut in here:
            if cut.kind != "fill":
                plate = plate - drill_solid(cut, counterweight, problem, facets)
        found.append(_body(plate, density))
        for cut in here:
            if cut.kind in ("slug", "fill"):
                slug = slug_solid(cut, counterweight, facets)
                found.append(_body(slug, problem.shop.slug_density_g_per_cm3 / 1000.0))
    return found


def plate_solid(counterweight: Counterweight, facets: int) -> manifold3d.Manifold:
    """Return a fan or disc as a plate, with its old face holes drilled through."""
    outline = counterweight.outline
    rim, inner = outline.rim_radius_mm, outline.inner_radius_mm
    assert rim is not None
    half = outline.half_angle_deg
    count = RIM_FACETS_PER_DRILL_FACET * facets
    if half is None:
        turns = np.linspace(-180.0, 180.0, count + 1)[:-1]
        ring = _arc(rim, turns)
    else:
        turns = np.linspace(-half, half, count + 1)
        ring = np.concatenate([_arc(rim, turns), _arc(inner, turns[::-1])])
    section = manifold3d.CrossSection([ring])
    thickness = counterweight.thickness_mm
    plate = manifold3d.Manifold.extrude(section, thickness).translate([0.0, 0.0, -0.5 * thickness])
    plate = plate.rotate([0.0, 0.0, counterweight.angle_deg]).translate([0.0, 0.0, -counterweight.z_mm])
    for hole in counterweight.existing:
        assert hole.kind == "face hole"
        assert hole.through
        assert hole.radius_mm is not None
        bore = _prism(0.5 * hole.diameter_mm, facets, -0.5 * thickness - 1.0, 0.5 * thickness + 1.0)
        plate = plate - _placed(bore, hole.radius_mm, hole.angle_deg, counterweight)
    return plate


def drill_solid(
    cut: Cut, counterweight: Counterweight, problem: CorrectionProblem, facets: int
) -> manifold3d.Manifold:
    """Return what the drill sweeps: a cylinder with a point, standing out of the surface."""
    shop, thickness = problem.shop, counterweight.thickness_mm
    a = 0.5 * (cut.diameter_mm + (0.0 if cut.kind == "slug" else shop.hole_oversize_mm))
    c = 0.0 if shop.point_angle_deg >= 180.0 else a / math.tan(math.radians(0.5 * shop.point_angle_deg))
    if cut.kind == "rim hole":
        rim = counterweight.outline.rim_radius_mm
        assert rim is not None
        assert cut.depth_shoulder_mm is not None
        shoulder = rim - cut.depth_shoulder_mm
        along_x = _prism(a, facets, shoulder, rim + 2.0, tip=shoulder - c).rotate([0.0, 90.0, 0.0])
        return along_x.rotate([0.0, 0.0, cut.angle_deg]).translate([0.0, 0.0, -counterweight.z_mm])
    assert cut.radius_mm is not None
    half = 0.5 * thickness
    if cut.through:
        drill = _prism(a, facets, -half - 1.0, half + 1.0)
    else:
        depth = cut.length_mm if cut.kind == "slug" else cut.depth_shoulder_mm
        assert depth is not None
        # the front face is the one with the smaller z, hence the greater Z
        drill = _prism(a, facets, half - depth, half + 1.0, tip=half - depth - c)
        if cut.face == "rear":
            drill = drill.rotate([180.0, 0.0, 0.0])
    return _placed(drill, cut.radius_mm, cut.angle_deg, counterweight)


def slug_solid(cut: Cut, counterweight: Counterweight, facets: int) -> manifold3d.Manifold:
    """Return the slug itself, flush with the face that it is put in from."""
    assert cut.radius_mm is not None
    assert cut.length_mm is not None
    half = 0.5 * counterweight.thickness_mm
    slug = _prism(0.5 * cut.diameter_mm, facets, half - cut.length_mm, half)
    if cut.face == "rear":
        slug = slug.rotate([180.0, 0.0, 0.0])
    return _placed(slug, cut.radius_mm, cut.angle_deg, counterweight)


def first_moments(solid: manifold3d.Manifold) -> tuple[float, np.ndarray]:
    """Return volume [mm3] and first moment about the origin [mm4], shape (3,), of a closed mesh: sum of tetrahedra."""
    mesh = solid.to_mesh64()
    corners = np.asarray(mesh.vert_properties, dtype=float)[:, :3][np.asarray(mesh.tri_verts)]
    volumes = np.einsum("ij,ij->i", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])) / 6.0
    return float(volumes.sum()), (volumes[:, None] * corners.sum(axis=1) / 4.0).sum(axis=0)


def _prism(
    a: float, facets: int, low: float, high: float, *, tip: float | None = None
) -> manifold3d.Manifold:
    """Return a many-sided cylinder along Z from low to high, with a point below it."""
    turns = 2.0 * np.pi * (np.arange(facets) + 0.5) / facets
    circle = np.stack([a * np.cos(turns), a * np.sin(turns)], axis=1)
    points = [np.column_stack([circle, np.full(facets, z)]) for z in (low, high)]
    if tip is not None and tip < low:
        points.append(np.array([[0.0, 0.0, tip]]))
    return manifold3d.Manifold.hull_points(np.concatenate(points))


def _placed(
    solid: manifold3d.Manifold, radius_mm: float, angle_deg: float, counterweight: Counterweight
) -> manifold3d.Manifold:
    moved = solid.translate([radius_mm, 0.0, 0.0]).rotate([0.0, 0.0, angle_deg])
    return moved.translate([0.0, 0.0, -counterweight.z_mm])


def _arc(radius: float, turns_deg: np.ndarray) -> np.ndarray:
    turns = np.radians(turns_deg)
    return np.stack([radius * np.cos(turns), radius * np.sin(turns)], axis=1)


def _body(solid: manifold3d.Manifold, density_g_per_mm3: float) -> Body:
    mesh = solid.to_mesh64()
    vertices = np.asarray(mesh.vert_properties, dtype=float)[:, :3]
    return Body(vertices, np.asarray(mesh.tri_verts), density_g_per_mm3)
