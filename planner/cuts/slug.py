"""Heavy metal in a hole: what is bored away and what is put in.

================= =================================================================================
through slug      ``(rho_slug - rho) pi a^2 t r``
part-length slug  seated on the shoulder of a blind bore, flush with the face, the cone left empty:
                  ``rho_slug pi a^2 L r - rho pi a^2 (L + c/3) r``
fill              an existing face hole is filled: ``rho_slug pi a^2 L r``, nothing is bored
radial slug       in a rim hole, seated on its shoulder, flat ends, the cone left empty:
                  ``rho_slug pi a^2 L (R - h + L/2) - rho M_hole``; **for the calculator only**
================= =================================================================================

A radial slug sits in a hole that opens outward: nothing but friction holds it against the centrifugal
force.  It is never planned (common practice).
"""

from __future__ import annotations

import math
from typing import Any

from planner.cuts.face_hole import face_hole
from planner.cuts.rim_hole import edge_sag_mm, rim_hole
from planner.cuts.solid import Solid, checked_positive, root_of_increasing
from planner.errors import InputError
from planner.records import dataclass
from planner.rotor.crankshaft import cone_height_mm

RADIAL_SLUG_WARNING = (
    "this slug's hole opens outward: friction alone holds it against the centrifugal force; such a slug is never "
    "planned here, bore it parallel to the shaft instead"
)


@dataclass(frozen=True, kw_only=True)
class SluggedHole:
    """A hole and the slug in it; ``pocket`` is None when the hole was there before.

    The densities [g/cm3] are those of the counterweight and of the slug.
    """

    slug: Solid
    pocket: Solid | None

    def removed_g(self, density_g_per_cm3: float) -> float:
        """Return the mass bored away [g], positive."""
        return 0.0 if self.pocket is None else self.pocket.mass_g(density_g_per_cm3)

    def net_mass_g(self, *, density_g_per_cm3: float, slug_density_g_per_cm3: float) -> float:
        """Return slug minus bored metal [g], positive when the counterweight gains."""
        return self.slug.mass_g(slug_density_g_per_cm3) - self.removed_g(density_g_per_cm3)

    def net_unbalance_gmm(self, *, density_g_per_cm3: float, slug_density_g_per_cm3: float) -> float:
        """Return the net unbalance added [g*mm], positive when the counterweight gains."""
        removed = 0.0 if self.pocket is None else self.pocket.unbalance_gmm(density_g_per_cm3)
        return self.slug.unbalance_gmm(slug_density_g_per_cm3) - removed

    def net_from_face_mm(self, *, density_g_per_cm3: float, slug_density_g_per_cm3: float) -> float | None:
        """Return how far inside the face the net change acts [mm]; None where slug and bore cancel."""
        net = self.net_unbalance_gmm(
            density_g_per_cm3=density_g_per_cm3, slug_density_g_per_cm3=slug_density_g_per_cm3
        )
        if net == 0.0 or self.slug.from_face_mm is None:
            return None
        moment = self.slug.unbalance_gmm(slug_density_g_per_cm3) * self.slug.from_face_mm
        if self.pocket is not None and self.pocket.from_face_mm is not None:
            moment -= self.pocket.unbalance_gmm(density_g_per_cm3) * self.pocket.from_face_mm
        return moment / net


def axial_slug(
    *,
    radius_mm: float,
    diameter_mm: float,
    length_mm: float,
    through: bool,
    thickness_mm: float | None = None,
    point_angle_deg: float = 118.0,
) -> SluggedHole:
    """Return a slug in a new face hole, flush with the face (both faces when ``through``).

    Parameters
    ----------
    radius_mm, diameter_mm, length_mm : float
        Radius of the hole's axis, bore and length of the slug [mm].
    through : bool
        The bore goes through and the slug fills it; else the bore is blind, its shoulder ``length_mm``
        deep, and the cone below the slug stays empty.
    thickness_mm : float, optional
        Thickness of the counterweight [mm], at least the slug's length.
    point_angle_deg : float
        Point angle of the drill that makes the blind bore [deg].

    Raises
    ------
    InputError
        If a size is not a number above zero or the slug is longer than the counterweight is thick.
    """
    length = checked_slug_length(length_mm=length_mm, thickness_mm=thickness_mm)
    axis: dict[str, Any] = {"radius_mm": radius_mm, "diameter_mm": diameter_mm}
    slug = face_hole(**axis, through=True, thickness_mm=length)
    if through:
        return SluggedHole(slug=slug, pocket=slug)
    bored: dict[str, Any] = {"depth_shoulder_mm": length, "point_angle_deg": point_angle_deg}
    return SluggedHole(slug=slug, pocket=face_hole(**axis, **bored, thickness_mm=thickness_mm))


def filled_hole(*, radius_mm: float, diameter_mm: float, length_mm: float) -> SluggedHole:
    """Return a slug in an existing face hole, flush with the face: nothing is bored.

    Raises
    ------
    InputError
        If a size is not a number above zero.
    """
    length = checked_slug_length(length_mm=length_mm)
    slug = face_hole(radius_mm=radius_mm, diameter_mm=diameter_mm, through=True, thickness_mm=length)
    return SluggedHole(slug=slug, pocket=None)


def radial_slug(
    *,
    outer_radius_mm: float,
    diameter_mm: float,
    depth_shoulder_mm: float,
    length_mm: float,
    point_angle_deg: float = 118.0,
) -> SluggedHole:
    """Return a slug with flat ends on the shoulder of a rim hole, for the calculator only.

    Show `RADIAL_SLUG_WARNING` with it.

    Raises
    ------
    InputError
        If a size is not a number above zero, or the slug would stand proud of the rim.
    """
    length = checked_slug_length(length_mm=length_mm)
    pocket = rim_hole(
        outer_radius_mm=outer_radius_mm,
        diameter_mm=diameter_mm,
        depth_shoulder_mm=depth_shoulder_mm,
        point_angle_deg=point_angle_deg,
    )
    room = depth_shoulder_mm - float(edge_sag_mm(outer_radius_mm=outer_radius_mm, diameter_mm=diameter_mm))
    if length > room:
        raise InputError(
            f"a slug {length:g} mm long stands proud of the rim in a hole {depth_shoulder_mm:g} mm deep",
            hint=f"with its end below the rim all around there is room for {max(room, 0.0):.2f} mm",
        )
    volume = math.pi * diameter_mm**2 / 4.0 * length
    middle = outer_radius_mm - depth_shoulder_mm + length / 2.0
    return SluggedHole(slug=Solid(volume_mm3=volume, first_moment_mm4=volume * middle), pocket=pocket)


def axial_slug_length_mm(
    *,
    unbalance_gmm: float,
    radius_mm: float,
    diameter_mm: float,
    density_g_per_cm3: float,
    slug_density_g_per_cm3: float,
    through: bool,
    point_angle_deg: float = 118.0,
    thickness_mm: float | None = None,
    existing: bool = False,
) -> float:
    """Return the length of slug that adds a wanted net unbalance [mm].

    Parameters
    ----------
    unbalance_gmm : float
        Net unbalance to add [g*mm].
    radius_mm, diameter_mm : float
        Radius of the hole's axis and bore [mm].
    density_g_per_cm3, slug_density_g_per_cm3 : float
        Densities of counterweight and slug [g/cm3].
    through : bool
        As in `axial_slug`: a blind bore also loses its cone.
    point_angle_deg : float
        Point angle of the drill that makes the blind bore [deg].
    thickness_mm : float, optional
        Thickness of the counterweight [mm]; the slug may not be longer, and the drill's point may come out.
    existing : bool
        The hole is there already (see `filled_hole`): nothing is bored.

    Raises
    ------
    InputError
        If the slug is not denser than the metal it replaces, a size is not a number above zero, or more is wanted
        than a slug through the full thickness adds; the message says how much that is.
    """
    wanted = float(checked_positive(unbalance_gmm, "unbalance", "g*mm"))
    r = float(checked_positive(radius_mm, "radius", "mm"))
    d = float(checked_positive(diameter_mm, "diameter", "mm"))
    parent = 0.0 if existing else float(checked_positive(density_g_per_cm3, "density", "g/cm3"))
    gain = float(checked_positive(slug_density_g_per_cm3, "slug density", "g/cm3")) - parent
    if gain <= 0.0:
        raise InputError(
            f"a slug of {slug_density_g_per_cm3:g} g/cm3 in metal of {density_g_per_cm3:g} g/cm3 adds nothing",
            hint="the slug has to be denser than the counterweight",
        )
    per_mm = math.pi * d**2 / 4.0 * r / 1000.0
    if thickness_mm is not None and wanted > gain * per_mm * thickness_mm * (1.0 + 1e-12):
        raise InputError(
            f"{wanted:g} g*mm can't be reached with a {d:g} mm slug at radius {r:g} mm: the greatest is "
            f"{gain * per_mm * thickness_mm:.1f} g*mm at length {thickness_mm:g} mm, the full thickness",
            hint="take a larger or denser slug, a larger radius, or more than one slug",
        )
    cone = 0.0 if through or existing else cone_height_mm(diameter_mm=d, point_angle_deg=point_angle_deg)
    length = (wanted / per_mm + parent * cone / 3.0) / gain
    if thickness_mm is None or length + cone <= thickness_mm:
        return length
    if cone == 0.0:
        return min(length, thickness_mm)

    def too_little(tried_mm: float) -> float:
        hole = axial_slug(
            radius_mm=r,
            diameter_mm=d,
            length_mm=tried_mm,
            through=False,
            thickness_mm=thickness_mm,
            point_angle_deg=point_angle_deg,
        )
        densities = {"density_g_per_cm3": density_g_per_cm3, "slug_density_g_per_cm3": slug_density_g_per_cm3}
        return hole.net_unbalance_gmm(**densities) - wanted

    return root_of_increasing(too_little, 0.0, thickness_mm)


def checked_slug_length(*, length_mm: float, thickness_mm: float | None = None) -> float:
    """Return the length [mm]; InputError unless it is above zero and at most the thickness."""
    length = float(checked_positive(length_mm, "length", "mm"))
    if thickness_mm is not None and length > float(checked_positive(thickness_mm, "thickness", "mm")) + 1e-9:
        raise InputError(
            f"a slug {length:g} mm long does not fit a counterweight {thickness_mm:g} mm thick",
            hint="the slug must not stand proud of a face",
        )
    return length
