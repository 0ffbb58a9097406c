"""The closed formulas against a solid kernel that knows nothing of them (manifold3d, a general-purpose library).

Plate and drill are built as facetted solids and cut by the kernel's boolean; facets make them too small by a term in
1/n^2, which Richardson's extrapolation from n and 2n facets removes: ``(4 f(2n) - f(n))/3``.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import numpy as np
import pytest
from manifold3d import CrossSection, Manifold

from geometry_profiles.shapes import disc
from planner.cuts.cut import Cut, Shop
from planner.cuts.effects import effect_of
from planner.cuts.face_hole import face_hole
from planner.cuts.rim_hole import rim_hole
from planner.rotor.crankshaft import Counterweight, cone_height_mm

R, THICKNESS = 90.0, 26.0


def integrals(solid: Manifold) -> np.ndarray:
    """Return volume, integral of x, integral of z and integral of x*z of a solid [mm3, mm4, mm4, mm5]."""
    mesh = solid.to_mesh64()
    corners = np.asarray(mesh.vert_properties)[:, :3][np.asarray(mesh.tri_verts)]
    sixth = np.linalg.det(corners) / 6.0
    total = corners.sum(axis=1)
    first = sixth[:, None] * total / 4.0
    x, z = corners[:, :, 0], corners[:, :, 2]
    mixed = sixth * (total[:, 0] * total[:, 2] + (x * z).sum(axis=1)) / 20.0
    return np.array([sixth.sum(), first[:, 0].sum(), first[:, 2].sum(), mixed.sum()])


def extrapolated(solid: Callable[[int], Manifold], n: int = 128) -> np.ndarray:
    return (4.0 * integrals(solid(2 * n)) - integrals(solid(n))) / 3.0


def plate(n: int, *, outer_radius: float = R) -> Manifold:
    """Return a disc about the z axis whose front face is at z = 0."""
    return Manifold.cylinder(THICKNESS, outer_radius, outer_radius, 8 * n)


def drill(n: int, *, diameter: float, depth: float, point: float, length: float = 200.0) -> Manifold:
    """Return a drill along +z whose shoulder is at z = depth, starting well before z = 0."""
    a, cone = diameter / 2.0, cone_height_mm(diameter_mm=diameter, point_angle_deg=point)
    profile = [(0.0, depth - length), (a, depth - length), (a, depth), (0.0, depth + cone)]
    if cone == 0.0:
        profile[-1] = (0.0, depth)
    return CrossSection([profile]).revolve(n)


def rim_drill(n: int, *, diameter: float, depth: float, point: float) -> Manifold:
    """Return a drill that enters the rim at angle 0, in the plate's middle."""
    inward = drill(n, diameter=diameter, depth=depth, point=point).rotate((0.0, -90.0, 0.0))  # +z to -x
    return inward.translate((R, 0.0, THICKNESS / 2.0))


def test_the_yardstick_itself() -> None:
    """Volume, moments of a plain cylinder beside the axis are known exactly."""
    found = extrapolated(lambda n: Manifold.cylinder(10.0, 7.0, 7.0, n).translate((70.0, 0.0, 3.0)))
    volume = math.pi * 49.0 * 10.0
    assert found == pytest.approx([volume, volume * 70.0, volume * 8.0, volume * 70.0 * 8.0], rel=1e-6)


@pytest.mark.parametrize(
    ("diameter", "depth", "point"),
    [
        (14.0, 20.0, 118.0),
        (25.4, 30.0, 118.0),
        (10.0, 12.0, 90.0),
        (16.0, 22.0, 180.0),
        (22.0, 0.5, 118.0),  # the shoulder is above the rim at the hole's edge
        (22.0, 0.3, 180.0),
        (22.0, -3.0, 118.0),  # only the point has entered
    ],
)
def test_rim_hole(diameter: float, depth: float, point: float) -> None:
    n = 128 if depth > 1.0 else 384  # a sliver under the rim needs finer facets
    found = extrapolated(lambda n: plate(n) ^ rim_drill(n, diameter=diameter, depth=depth, point=point), n)
    ours = rim_hole(outer_radius_mm=R, diameter_mm=diameter, depth_shoulder_mm=depth, point_angle_deg=point)
    assert ours.volume_mm3 == pytest.approx(found[0], rel=2e-6)
    assert ours.first_moment_mm4 == pytest.approx(found[1], rel=2e-6)


@pytest.mark.parametrize(
    ("radius", "diameter", "depth", "point"),
    [
        (70.0, 14.0, 15.0, 118.0),
        (70.0, 14.0, 24.0, 118.0),  # the point comes out of the far face
        (86.0, 14.0, 15.0, 118.0),  # breaks out through the rim, point included
        (86.0, 14.0, 23.0, 135.0),  # both
        (86.0, 14.0, 40.0, 180.0),  # through and out
        (70.0, 20.0, -2.0, 118.0),
    ],
)
def test_face_hole(radius: float, diameter: float, depth: float, point: float) -> None:
    found = extrapolated(
        lambda n: (
            plate(n) ^ drill(n, diameter=diameter, depth=depth, point=point).translate((radius, 0.0, 0.0))
        )
    )
    ours = face_hole(
        radius_mm=radius,
        diameter_mm=diameter,
        depth_shoulder_mm=depth,
        thickness_mm=THICKNESS,
        point_angle_deg=point,
        outer_radius_mm=R,
    )
    assert ours.from_face_mm is not None
    assert ours.volume_mm3 == pytest.approx(found[0], rel=3e-6)
    assert ours.first_moment_mm4 == pytest.approx(found[1], rel=3e-6)
    assert ours.from_face_mm == pytest.approx(found[2] / found[0], rel=3e-6)


SHOP = Shop(drills_mm=(14.0,), hole_oversize_mm=0.2, slug_density_g_per_cm3=17.5)
COUNTERWEIGHT = Counterweight(
    name="A",
    z_mm=52.0,
    angle_deg=180.0,
    thickness_mm=THICKNESS,
    outline=disc(outer_radius_mm=R, inner_radius_mm=30.0),
    cuts=("rim hole", "face hole", "slug", "fill"),
)


def plain(**numbers: object) -> Cut:
    return Cut(counterweight="A", angle_deg=0.0, **numbers)  # type: ignore[arg-type]


def cut_solids(n: int, cut: Cut) -> list[tuple[float, Manifold]]:
    """Return what a cut takes away and puts in, as (density with sign, solid), front face at z = 0."""
    if cut.kind == "rim hole":
        assert cut.depth_shoulder_mm is not None
        return [(-7.85, plate(n) ^ rim_drill(n, diameter=14.2, depth=cut.depth_shoulder_mm, point=118.0))]
    assert cut.radius_mm is not None
    place = (cut.radius_mm, 0.0, 0.0)
    if cut.kind == "face hole":
        assert cut.depth_shoulder_mm is not None
        bits = [(-7.85, drill(n, diameter=14.2, depth=cut.depth_shoulder_mm, point=118.0))]
    else:
        length = THICKNESS if cut.length_mm is None else cut.length_mm
        bore = drill(n, diameter=20.0, depth=length, point=180.0 if cut.through else 118.0)
        slug = Manifold.cylinder(length, 10.0, 10.0, n)
        bits = [(17.5, slug)] if cut.kind == "fill" else [(-7.85, bore), (17.5, slug)]
    solids = [(density, plate(n) ^ solid.translate(place)) for density, solid in bits]
    if cut.face == "rear":
        return [(d, s.mirror((0.0, 0.0, 1.0)).translate((0.0, 0.0, THICKNESS))) for d, s in solids]
    return solids


@pytest.mark.parametrize(
    "cut",
    [
        plain(kind="rim hole", diameter_mm=14.0, depth_shoulder_mm=20.0),
        plain(kind="face hole", diameter_mm=14.0, depth_shoulder_mm=12.0, radius_mm=70.0),
        plain(kind="face hole", diameter_mm=14.0, depth_shoulder_mm=12.0, radius_mm=70.0, face="rear"),
        plain(kind="slug", diameter_mm=20.0, radius_mm=70.0, length_mm=15.0, face="rear"),
        plain(kind="slug", diameter_mm=20.0, radius_mm=70.0, length_mm=15.0),
        plain(kind="slug", diameter_mm=20.0, radius_mm=70.0, through=True),
        plain(kind="fill", diameter_mm=20.0, radius_mm=70.0, length_mm=9.0, face="rear"),
    ],
    ids=lambda cut: f"{cut.kind} {cut.face} {cut.length_mm}",
)
def test_effect_of_a_cut(cut: Cut) -> None:
    """Mass, unbalance and where it acts: the whole way from the record to the signed effect."""

    def weighed(n: int) -> np.ndarray:
        return np.sum([density / 1000.0 * integrals(solid) for density, solid in cut_solids(n, cut)], axis=0)

    mass, moment, _, moment_z = (4.0 * weighed(256) - weighed(128)) / 3.0
    effect = effect_of(cut, counterweight=COUNTERWEIGHT, density_g_per_cm3=7.85, shop=SHOP)
    front_face_z = COUNTERWEIGHT.z_mm - THICKNESS / 2.0
    assert effect.mass_g == pytest.approx(mass, rel=5e-6)
    assert effect.unbalance_gmm == pytest.approx(moment, rel=5e-6)
    assert effect.z_mm == pytest.approx(front_face_z + moment_z / moment, abs=1e-4)
