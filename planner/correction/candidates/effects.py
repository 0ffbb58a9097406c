"""Amounts, costs and axial offsets of whole tables of settings (see `planner.cuts` for the formulas)."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from geometry_profiles.rims import RimForm
from planner.correction.candidates.sections import FloatArray
from planner.cuts.cut import Shop
from planner.cuts.face_hole import face_hole
from planner.cuts.rim_form_hole import HoleMoments, rim_form_holes
from planner.cuts.rim_hole import rim_hole_first_moment_mm4, rim_hole_volume_mm3
from planner.cuts.rim_off import rim_cut_moments
from planner.cuts.slug import axial_slug, filled_hole
from planner.cuts.solid import Solid
from planner.rotor.crankshaft import CutKind, Face

FAR_MM = 1000.0
"""A face hole's moment is its volume times its radius; any radius off the axis serves to ask for it [mm]."""


def rim_hole_amounts(
    *,
    rim_radius_mm: float,
    diameter_mm: FloatArray,
    depth_shoulder_mm: FloatArray,
    point_angle_deg: float,
    density_g_per_cm3: float,
) -> tuple[FloatArray, FloatArray]:
    """Return the signed amounts [g*mm] and the grams drilled of rim holes."""
    moment = rim_hole_first_moment_mm4(
        outer_radius_mm=rim_radius_mm,
        diameter_mm=diameter_mm,
        depth_shoulder_mm=depth_shoulder_mm,
        point_angle_deg=point_angle_deg,
    )
    volume = rim_hole_volume_mm3(
        outer_radius_mm=rim_radius_mm,
        diameter_mm=diameter_mm,
        depth_shoulder_mm=depth_shoulder_mm,
        point_angle_deg=point_angle_deg,
    )
    return -moment * density_g_per_cm3 / 1000.0, volume * density_g_per_cm3 / 1000.0


def formed_rim_hole_amounts(
    *,
    form: RimForm,
    diameter_mm: float,
    depth_shoulder_mm: FloatArray,
    point_angle_deg: float,
    density_g_per_cm3: float,
    from_middle_mm: float,
    tilt_deg: float = 0.0,
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return signed amounts [g*mm], grams drilled and places from the middle plane [mm] of holes in a rim of any form."""
    holes = _formed_rim_holes(
        form, diameter_mm, tuple(map(float, depth_shoulder_mm)), point_angle_deg, from_middle_mm, tilt_deg
    )
    metal = density_g_per_cm3 / 1000.0
    return (
        np.array([-metal * hole.radial_mm4 for hole in holes]),
        np.array([metal * hole.volume_mm3 for hole in holes]),
        np.array([hole.from_middle_mm for hole in holes]),
    )


@lru_cache(maxsize=512)
def _formed_rim_holes(
    form: RimForm,
    diameter_mm: float,
    depths_mm: tuple[float, ...],
    point_angle_deg: float,
    from_middle_mm: float,
    tilt_deg: float,
) -> tuple[HoleMoments, ...]:
    return rim_form_holes(
        form=form,
        diameter_mm=diameter_mm,
        depths_shoulder_mm=depths_mm,
        point_angle_deg=point_angle_deg,
        from_middle_mm=from_middle_mm,
        tilt_deg=tilt_deg,
    )


def rim_cut_amounts(
    *,
    kind: CutKind,
    form: RimForm,
    off_mm: FloatArray,
    sector_deg: FloatArray,
    slope_deg: float | None,
    face: Face,
    density_g_per_cm3: float,
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return signed amounts [g*mm], grams taken off and places from the middle plane [mm] of cuts of the rim itself."""
    found = [
        _rim_cut(kind, form, float(off), None if kind == "flat" else float(sector), slope_deg, face)
        for off, sector in zip(off_mm, sector_deg, strict=True)
    ]
    metal = density_g_per_cm3 / 1000.0
    return (
        np.array([-metal * each.radial_mm4 for each in found]),
        np.array([metal * each.volume_mm3 for each in found]),
        np.array([each.radial_s_mm5 / each.radial_mm4 if each.radial_mm4 else 0.0 for each in found]),
    )


@lru_cache(maxsize=8192)
def _rim_cut(
    kind: CutKind, form: RimForm, off_mm: float, sector_deg: float | None, slope_deg: float | None, face: Face
) -> HoleMoments:
    return rim_cut_moments(
        kind, form=form, off_mm=off_mm, sector_deg=sector_deg, slope_deg=slope_deg, face=face
    )


def through_hole_amounts(
    *, diameter_mm: float, thickness_mm: float, density_g_per_cm3: float
) -> tuple[float, float]:
    """Return the signed amount per mm of radius [g] and the grams drilled of a through face hole."""
    solid = face_hole(radius_mm=FAR_MM, diameter_mm=diameter_mm, through=True, thickness_mm=thickness_mm)
    mass = solid.mass_g(density_g_per_cm3)
    return -mass, mass


def blind_hole_amounts(
    *, diameter_mm: float, depth_shoulder_mm: FloatArray, point_angle_deg: float, density_g_per_cm3: float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return signed amounts per mm of radius [g], grams drilled, and the centroids' depths below the face [mm]."""
    solids = [_blind_hole(diameter_mm, float(depth), point_angle_deg) for depth in depth_shoulder_mm]
    mass = np.array([solid.mass_g(density_g_per_cm3) for solid in solids])
    return -mass, mass, np.array([float(solid.from_face_mm or 0.0) for solid in solids])


@lru_cache(maxsize=4096)
def _blind_hole(diameter_mm: float, depth_shoulder_mm: float, point_angle_deg: float) -> Solid:
    return face_hole(
        radius_mm=FAR_MM,
        diameter_mm=diameter_mm,
        depth_shoulder_mm=depth_shoulder_mm,
        point_angle_deg=point_angle_deg,
    )


def slug_amounts(
    *,
    shop: Shop,
    diameter_mm: float,
    length_mm: float,
    through: bool,
    thickness_mm: float,
    density_g_per_cm3: float,
) -> tuple[float, float, float]:
    """Return the signed amount per mm of radius [g], grams of heavy metal, and the offset for the front face [mm]."""
    hole = axial_slug(
        radius_mm=FAR_MM,
        diameter_mm=diameter_mm,
        length_mm=min(length_mm, thickness_mm),
        through=through,
        thickness_mm=thickness_mm,
        point_angle_deg=shop.point_angle_deg,
    )
    heavy = shop.slug_density_g_per_cm3
    net = hole.net_unbalance_gmm(density_g_per_cm3=density_g_per_cm3, slug_density_g_per_cm3=heavy)
    inside = hole.net_from_face_mm(density_g_per_cm3=density_g_per_cm3, slug_density_g_per_cm3=heavy)
    offset = 0.0 if through or inside is None else inside - thickness_mm / 2.0
    return net / FAR_MM, hole.slug.mass_g(heavy), offset


def filled_hole_mass_g(*, density_g_per_cm3: float, diameter_mm: float, length_mm: float) -> float:
    """Return the mass of the slug that fills an existing hole [g]."""
    hole = filled_hole(radius_mm=FAR_MM, diameter_mm=diameter_mm, length_mm=length_mm)
    return hole.slug.mass_g(density_g_per_cm3)
