"""The sums behind ``bobplan cut``, with the numbers put in, for a trainee with a calculator.

Every line is ``name = formula`` or ``= numbers = result``; numbers are in mm, g and degrees and carry enough digits to
reach the result shown.
"""

from __future__ import annotations

import math

from planner.cuts.rim_hole import edge_sag_mm
from planner.rotor.crankshaft import cone_height_mm


def n(value: float) -> str:
    """Return a number with the digits a calculator needs."""
    return f"{value:.8g}"


def r(value: float) -> str:
    """Return a result."""
    return f"{value:.6g}"


def cone_lines(*, diameter_mm: float, point_angle_deg: float) -> list[str]:
    """Return the cone height's sum."""
    c = cone_height_mm(diameter_mm=diameter_mm, point_angle_deg=point_angle_deg)
    if point_angle_deg >= 180.0:
        return ["c = 0      (height of the drill's point; a flat bottom has none)"]
    half = point_angle_deg / 2.0
    return [
        "c = d / (2 * tan(point angle / 2))      (height of the drill's point)",
        f"  = {n(diameter_mm)} / (2 * tan({n(half)})) = {n(c)} mm",
    ]


def depth_lines(*, depth_shoulder_mm: float, cone_mm: float) -> list[str]:
    """Return how the two depths go together."""
    return [
        "depth to tip = depth to shoulder + c",
        f"  = {n(depth_shoulder_mm)} + {n(cone_mm)} = {r(depth_shoulder_mm + cone_mm)} mm",
    ]


def rim_lines(
    *,
    outer_radius_mm: float,
    diameter_mm: float,
    depth_shoulder_mm: float,
    point_angle_deg: float,
    density_g_per_cm3: float,
    volume_mm3: float,
    first_moment_mm4: float,
    wanted_gmm: float | None = None,
) -> list[str]:
    """Return the sums of a rim hole; with ``wanted_gmm`` [g*mm] first those that find the depth."""
    R, h, a = outer_radius_mm, depth_shoulder_mm, diameter_mm / 2.0
    c = cone_height_mm(diameter_mm=diameter_mm, point_angle_deg=point_angle_deg)
    sag_at_edge = float(edge_sag_mm(outer_radius_mm=R, diameter_mm=diameter_mm))
    lines = [
        f"R = {n(R)} outer radius, a = d / 2 = {n(diameter_mm)} / 2 = {n(a)}, h = depth to shoulder",
        *cone_lines(diameter_mm=diameter_mm, point_angle_deg=point_angle_deg),
    ]
    shallow = h < sag_at_edge
    if wanted_gmm is not None and not shallow:
        wanted = wanted_gmm / density_g_per_cm3 * 1000.0
        p = R - c / 3.0
        q = wanted / (math.pi * a**2) + a**2 / 8.0 + c**2 / 12.0 - c * R / 3.0
        lines += [
            "first moment wanted: M = U / (density / 1000)",
            f"  = {n(wanted_gmm)} / ({n(density_g_per_cm3)} / 1000) = {n(wanted)} mm4",
            "p = R - c / 3",
            f"  = {n(R)} - {n(c)} / 3 = {n(p)}",
            "Q = M / (pi * a^2) + a^2 / 8 + c^2 / 12 - c * R / 3",
            f"  = {n(wanted)} / (pi * {n(a)}^2) + {n(a)}^2 / 8 + {n(c)}^2 / 12 - {n(c)} * {n(R)} / 3 = {n(q)}",
            "h = p - sqrt(p^2 - 2 * Q)",
            f"  = {n(p)} - sqrt({n(p)}^2 - 2 * {n(q)}) = {r(h)} mm",
        ]
    lines += depth_lines(depth_shoulder_mm=h, cone_mm=c)
    lines += _rim_solid_lines(R, a, h, c, volume_mm3=volume_mm3, first_moment_mm4=first_moment_mm4)
    return lines + result_lines(
        density_g_per_cm3=density_g_per_cm3, volume_mm3=volume_mm3, first_moment_mm4=first_moment_mm4
    )


def _rim_solid_lines(
    R: float, a: float, h: float, c: float, *, volume_mm3: float, first_moment_mm4: float
) -> list[str]:
    sag_at_edge = float(edge_sag_mm(outer_radius_mm=R, diameter_mm=2.0 * a))
    if h < sag_at_edge:
        return [
            f"the rim lies {r(sag_at_edge)} mm lower at the hole's edge than on its axis and h is less: the full",
            "diameter is not yet all around in the metal; no calculator formula, integrated column by column",
            f"M = {n(first_moment_mm4)} mm4, V = {n(volume_mm3)} mm3",
        ]
    sag = a**2 / (8.0 * R) + a**4 / (64.0 * R**3) + 5.0 * a**6 / (1024.0 * R**5)
    return [
        "M = pi * a^2 * (R * h - h^2 / 2 - a^2 / 8 + (c / 3) * (R - h - c / 4))      (a^2 / 8: the rim is round)",
        f"  = pi * {n(a)}^2 * ({n(R)} * {n(h)} - {n(h)}^2 / 2 - {n(a)}^2 / 8 + ({n(c)} / 3) * "
        f"({n(R)} - {n(h)} - {n(c)} / 4)) = {r(first_moment_mm4)} mm4",
        "mean sag of the rim: s = a^2 / (8 * R) + a^4 / (64 * R^3) + 5 * a^6 / (1024 * R^5)",
        f"  = {n(a)}^2 / (8 * {n(R)}) + {n(a)}^4 / (64 * {n(R)}^3) + 5 * {n(a)}^6 / (1024 * {n(R)}^5) = {n(sag)} mm",
        "V = pi * a^2 * (h - s + c / 3)",
        f"  = pi * {n(a)}^2 * ({n(h)} - {n(sag)} + {n(c)} / 3) = {r(volume_mm3)} mm3",
    ]


def result_lines(*, density_g_per_cm3: float, volume_mm3: float, first_moment_mm4: float) -> list[str]:
    """Return mass, unbalance and centroid radius from volume [mm3] and first moment [mm4]."""
    rho, m, v = density_g_per_cm3, first_moment_mm4, volume_mm3
    return [
        "mass = density / 1000 * V",
        f"  = {n(rho)} / 1000 * {n(v)} = {r(rho * v / 1000.0)} g",
        "U = density / 1000 * M",
        f"  = {n(rho)} / 1000 * {n(m)} = {r(rho * m / 1000.0)} g*mm",
        "centroid radius = M / V",
        f"  = {n(m)} / {n(v)} = {r(m / v)} mm",
    ]


def face_lines(
    *,
    radius_mm: float,
    diameter_mm: float,
    depth_shoulder_mm: float | None,
    thickness_mm: float | None,
    point_angle_deg: float,
    density_g_per_cm3: float,
    volume_mm3: float,
    first_moment_mm4: float,
    whole: bool,
    wanted_gmm: float | None = None,
) -> list[str]:
    """Return the sums of a face hole; ``whole`` says that nothing of it lies outside the metal."""
    a, radius = diameter_mm / 2.0, radius_mm
    lines = [f"a = d / 2 = {n(diameter_mm)} / 2 = {n(a)}"]
    c = cone_height_mm(diameter_mm=diameter_mm, point_angle_deg=point_angle_deg)
    if depth_shoulder_mm is not None:
        lines += cone_lines(diameter_mm=diameter_mm, point_angle_deg=point_angle_deg)
        if wanted_gmm is not None and whole and depth_shoulder_mm >= 0.0:
            lines += [
                "h = U / (density / 1000 * pi * a^2 * radius) - c / 3      (depth to shoulder)",
                f"  = {n(wanted_gmm)} / ({n(density_g_per_cm3)} / 1000 * pi * {n(a)}^2 * {n(radius)}) - {n(c)} / 3"
                f" = {r(depth_shoulder_mm)} mm",
            ]
        lines += depth_lines(depth_shoulder_mm=depth_shoulder_mm, cone_mm=c)
    if not whole or (depth_shoulder_mm is not None and depth_shoulder_mm < 0.0):
        lines += [
            "part of the hole lies outside the metal (rim, far face, or only the point enters): no short formula,",
            f"from the lens of the two circles: V = {n(volume_mm3)} mm3, M = {n(first_moment_mm4)} mm4",
        ]
    elif depth_shoulder_mm is None:
        lines += [
            "V = pi * a^2 * thickness",
            f"  = pi * {n(a)}^2 * {n(thickness_mm or 0.0)} = {r(volume_mm3)} mm3",
        ]
    else:
        lines += [
            "V = pi * a^2 * (h + c / 3)      (a cone is a third of its cylinder)",
            f"  = pi * {n(a)}^2 * ({n(depth_shoulder_mm)} + {n(c)} / 3) = {r(volume_mm3)} mm3",
        ]
    if whole:
        lines += ["M = V * radius", f"  = {n(volume_mm3)} * {n(radius)} = {r(first_moment_mm4)} mm4"]
    return lines + result_lines(
        density_g_per_cm3=density_g_per_cm3, volume_mm3=volume_mm3, first_moment_mm4=first_moment_mm4
    )


def lens_lines(
    *, radius_mm: float, diameter_mm: float, outer_radius_mm: float, thickness_mm: float
) -> list[str]:
    """Return the sums of a through hole that breaks out through the rim; angles in radians."""
    rc, a, R, t = radius_mm, diameter_mm / 2.0, outer_radius_mm, thickness_mm
    x = (rc**2 + R**2 - a**2) / (2.0 * rc)
    b, g = math.acos(x / R), math.acos((rc - x) / a)
    hole = a**2 * (g - math.sin(g) * math.cos(g))
    rim = R**2 * (b - math.sin(b) * math.cos(b))
    return [
        f"a = d / 2 = {n(diameter_mm)} / 2 = {n(a)}; the hole breaks out: what counts is the lens of the two circles",
        "x = (radius^2 + R^2 - a^2) / (2 * radius)      (where the circles meet)",
        f"  = ({n(rc)}^2 + {n(R)}^2 - {n(a)}^2) / (2 * {n(rc)}) = {n(x)} mm",
        "b = acos(x / R), g = acos((radius - x) / a)      (in radians)",
        f"  = acos({n(x)} / {n(R)}) = {n(b)}",
        f"  = acos(({n(rc)} - {n(x)}) / {n(a)}) = {n(g)}",
        "V = thickness * (R^2 * (b - sin(b) * cos(b)) + a^2 * (g - sin(g) * cos(g)))",
        f"  = {n(t)} * ({n(rim)} + {n(hole)}) = {r(t * (rim + hole))} mm3",
        "M = thickness * radius * a^2 * (g - sin(g) * cos(g))",
        f"  = {n(t)} * {n(rc)} * {n(hole)} = {r(t * rc * hole)} mm4",
    ]
