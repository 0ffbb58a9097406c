"""Plans of the wide problems made in solids: what the kernel (manifold3d) says that remains, and how thick the walls are.

Every counterweight is a disc of its rim's radius with its old holes in it, every cut what the drill sweeps of it; flanks are
thin sheets.  Nothing of the planner's formulas, polygons or statics is used but the records that say what is cut where.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import manifold3d
import numpy as np

from planner.correction.problem import CorrectionProblem
from planner.cuts.cut import Cut
from planner.rotor.crankshaft import Counterweight, ExistingHole
from tests.physics.shaped_jobs import _sheet
from tests.physics.solid_crankshaft import drill_solid, extrapolated, first_moments, slug_solid

FACETS = 48
WALL_FACETS = 96
SLACK_MM = 0.01
"""Drills of so many facets are thinner than round ones by half of this."""


def solid_faults(
    problem: CorrectionProblem, cuts: Sequence[Cut], residual_gmm: Sequence[complex]
) -> list[str]:
    """Return what the solids say against a plan: a limit not kept, a residual other than foretold, a thin wall."""
    faults = []
    left = _residual(problem, cuts)
    for name, own, told in zip(("first", "second"), left, residual_gmm, strict=True):
        if abs(own - told) > 0.02 + 2e-5 * abs(complex(problem.unbalance_gmm[0])):
            faults.append(f"{name} plane: {own:.2f} g*mm remain, foretold {told:.2f}")
    for limit in problem.limits:
        amount = abs(limit.weight_1 * left[0] + limit.weight_2 * left[1])
        if amount > limit.tolerance_gmm + 0.05:
            faults.append(f"{limit.at}: {amount:.2f} g*mm remain, {limit.tolerance_gmm:g} are allowed")
    for counterweight in problem.counterweights:
        here = [cut for cut in cuts if cut.counterweight == counterweight.name]
        faults += _thin_walls(problem, counterweight, here)
    return faults


def _residual(problem: CorrectionProblem, cuts: Sequence[Cut]) -> tuple[complex, complex]:
    named = {each.name: each for each in problem.counterweights}

    def moments(facets: int) -> np.ndarray:
        low, high = problem.planes_z_mm
        total = np.zeros(4)
        for cut in cuts:
            counterweight = named[cut.counterweight]
            parts = []
            if cut.kind != "fill":
                drill = drill_solid(cut, counterweight, problem, facets)
                removed = drill ^ _metal(problem, counterweight, facets)
                parts.append((removed, -problem.density_of(counterweight)))
            if cut.kind in ("slug", "fill"):
                parts.append((
                    slug_solid(cut, counterweight, facets), problem.shop.slug_density_g_per_cm3
                ))  # fmt: skip
            for solid, density in parts:
                volume, first = first_moments(solid)
                if volume <= 0.0:
                    continue
                along = -_moments_along_shaft(solid.to_mesh64())
                total += density / 1000.0 * np.array([first[0], first[1], along[0], along[1]])
        # a force at z splits between the planes by the lever
        second_share = (total[2:] - low * total[:2]) / (high - low)
        return np.concatenate([total[:2] - second_share, second_share])

    found = extrapolated(moments, FACETS)
    first, second = (complex(u) for u in problem.unbalance_gmm)
    return first + complex(found[0], found[1]), second + complex(found[2], found[3])


def _moments_along_shaft(mesh: manifold3d.Mesh64) -> np.ndarray:
    """Return the integrals of x*Z and y*Z over a closed mesh: second moments of tetrahedra about the origin."""
    corners = np.asarray(mesh.vert_properties, dtype=float)[:, :3][np.asarray(mesh.tri_verts)]
    volumes = np.einsum("ij,ij->i", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])) / 6.0
    total = corners.sum(axis=1)
    # of a tetrahedron with one corner at the origin: V/20 * (sum of products + product of sums)
    both = np.einsum("ijk,ij->ik", corners[:, :, :2], corners[:, :, 2]) + total[:, :2] * total[:, 2:3]
    return np.asarray((volumes[:, None] / 20.0 * both).sum(axis=0))


def _metal(problem: CorrectionProblem, counterweight: Counterweight, facets: int) -> manifold3d.Manifold:
    rim = counterweight.outline.greatest_radius_mm
    turns = np.radians(np.linspace(0.0, 360.0, 24 * facets + 1)[:-1])
    ring = rim * np.stack([np.cos(turns), np.sin(turns)], axis=1)
    plate = manifold3d.Manifold.extrude(manifold3d.CrossSection([ring]), counterweight.thickness_mm)
    plate = plate.translate([0.0, 0.0, -counterweight.z_mm - 0.5 * counterweight.thickness_mm])
    for hole in counterweight.existing:
        plate = plate - _old(problem, counterweight, hole, facets)
    return plate


def _old(
    problem: CorrectionProblem, counterweight: Counterweight, hole: ExistingHole, facets: int
) -> manifold3d.Manifold:
    as_cut = Cut(
        kind=hole.kind, counterweight=counterweight.name, angle_deg=hole.angle_deg,
        diameter_mm=hole.diameter_mm - problem.shop.hole_oversize_mm,
        depth_shoulder_mm=hole.depth_shoulder_mm, radius_mm=hole.radius_mm, through=hole.through,
    )  # fmt: skip
    return drill_solid(as_cut, counterweight, problem, facets)


def _thin_walls(problem: CorrectionProblem, cw: Counterweight, cuts: Sequence[Cut]) -> Iterator[str]:
    wall, half = problem.shop.least_wall_mm, 0.5 * cw.thickness_mm
    drills = []
    for cut in cuts:
        if cut.kind == "fill":
            continue
        name = f"{cut.kind} {cut.diameter_mm:g} mm at {cut.angle_deg:g} on {cut.counterweight}"
        solid = drill_solid(cut, cw, problem, WALL_FACETS)
        # the disc without its old holes: a hole that is drilled deeper is measured whole
        drills.append((name, cut, solid ^ _disc(cw)))
    around = [
        (
            f"flank {index}",
            _sheet(start, end, half).rotate([0.0, 0.0, cw.angle_deg]).translate([0, 0, -cw.z_mm]),
        )
        for index, (start, end) in enumerate(cw.outline.flanks_mm)
    ]
    for number, (name, cut, drill) in enumerate(drills):
        if drill.is_empty():
            yield f"{name} takes nothing"
            continue
        if cut.kind == "rim hole":
            low, high = drill.bounding_box()[2] + cw.z_mm, drill.bounding_box()[5] + cw.z_mm
            if low < -half + wall - SLACK_MM or high > half - wall + SLACK_MM:
                yield f"{name}: reaches from {low:.2f} to {high:.2f} along the shaft, the faces are at {half:.2f}"
        points = np.asarray(drill.to_mesh64().vert_properties)[:, :2]
        if float(np.hypot(points[:, 0], points[:, 1]).min()) < cw.outline.inner_radius_mm - SLACK_MM:
            yield f"{name}: below the inner radius"
        old = [
            (f"the old hole at {hole.angle_deg:g}", _old(problem, cw, hole, WALL_FACETS) ^ _disc(cw))
            for hole in cw.existing
            if not (cut.from_depth_mm is not None and _same(hole, cut))
        ]
        for what, body in [*around, *old, *((other, solid) for other, _, solid in drills[:number])]:
            gap = drill.min_gap(body, wall + 1.0)
            if gap < wall - SLACK_MM:
                yield f"{name}: {gap:.3f} mm to {what}, {wall:g} needed"


def _disc(cw: Counterweight) -> manifold3d.Manifold:
    rim, turns = cw.outline.greatest_radius_mm, np.radians(np.linspace(0.0, 360.0, 1441)[:-1])
    ring = rim * np.stack([np.cos(turns), np.sin(turns)], axis=1)
    plate = manifold3d.Manifold.extrude(manifold3d.CrossSection([ring]), cw.thickness_mm)
    return plate.translate([0.0, 0.0, -cw.z_mm - 0.5 * cw.thickness_mm])


def _same(hole: ExistingHole, cut: Cut) -> bool:
    apart = abs((hole.angle_deg - cut.angle_deg + 180.0) % 360.0 - 180.0)
    return hole.kind == cut.kind and math.isclose(apart, 0.0, abs_tol=1e-6)
