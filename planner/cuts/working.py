"""The sums of one cut with the numbers put in, for a trainee with a calculator (mm, g, degrees)."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from planner.cuts.retention import SlugRetention
from planner.cuts.rim_hole import edge_sag_mm
from planner.formula import Formula
from planner.rotor.crankshaft import cone_height_mm
from planner.rotor.materials import Material

Working = Iterator[Formula | str]


def cone(*, diameter_mm: float, point_angle_deg: float) -> Working:
    """Yield the height of the drill's point."""
    if point_angle_deg >= 180.0:
        yield "c = 0      (height of the drill's point; a flat bottom has none)"
        return
    of = _drill(diameter_mm, point_angle_deg)
    yield Formula(
        "c", "d / (2 * tan(point angle / 2))", of, of["c"], "mm", remark="height of the drill's point"
    )


def _drill(diameter_mm: float, point_angle_deg: float) -> dict[str, float]:
    """Return the numbers that all sums of a drilled hole share."""
    c = cone_height_mm(diameter_mm=diameter_mm, point_angle_deg=point_angle_deg)
    return {"d": diameter_mm, "a": diameter_mm / 2.0, "point angle": point_angle_deg, "c": c}


def _half(diameter_mm: float) -> Formula:
    return Formula("a", "d / 2", {"d": diameter_mm}, diameter_mm / 2.0, "mm")


def _two_depths(of: Mapping[str, float]) -> Formula:
    return Formula("depth to tip", "h + c", of, of["h"] + of["c"], "mm", remark="h depth to shoulder")


def result(*, density_g_per_cm3: float, volume_mm3: float, first_moment_mm4: float) -> Working:
    """Yield mass, unbalance and centroid radius from volume [mm3] and first moment [mm4]."""
    rho, m, v = density_g_per_cm3, first_moment_mm4, volume_mm3
    of = {"density": rho, "V": v, "M": m}
    yield Formula("mass", "density / 1000 * V", of, rho * v / 1000.0, "g")
    yield Formula("U", "density / 1000 * M", of, rho * m / 1000.0, "g*mm")
    yield Formula("centroid radius", "M / V", of, m / v, "mm")


def rim_hole_working(
    *,
    outer_radius_mm: float,
    diameter_mm: float,
    depth_shoulder_mm: float,
    point_angle_deg: float,
    density_g_per_cm3: float,
    volume_mm3: float,
    first_moment_mm4: float,
    wanted_gmm: float | None = None,
) -> Working:
    """Yield the sums of a rim hole; with ``wanted_gmm`` [g*mm] first those that find the depth."""
    R, h = outer_radius_mm, depth_shoulder_mm
    of = _drill(diameter_mm, point_angle_deg) | {"R": R, "h": h}
    a, c = of["a"], of["c"]
    sag_at_edge = float(edge_sag_mm(outer_radius_mm=R, diameter_mm=diameter_mm))
    yield f"R = {R:.8g} mm outer radius, h depth to shoulder"
    yield _half(diameter_mm)
    yield from cone(diameter_mm=diameter_mm, point_angle_deg=point_angle_deg)
    if wanted_gmm is not None and h >= sag_at_edge:
        wanted = wanted_gmm / density_g_per_cm3 * 1000.0
        p = R - c / 3.0
        q = wanted / (math.pi * a**2) + a**2 / 8.0 + c**2 / 12.0 - c * R / 3.0
        found = of | {"U": wanted_gmm, "density": density_g_per_cm3, "M": wanted, "p": p, "Q": q}
        yield Formula("first moment wanted M", "U / (density / 1000)", found, wanted, "mm4")
        yield Formula("p", "R - c / 3", found, p, "mm")
        yield Formula("Q", "M / (pi * a^2) + a^2 / 8 + c^2 / 12 - c * R / 3", found, q, "mm2")
        yield Formula("h", "p - sqrt(p^2 - 2 * Q)", found, h, "mm")
    yield _two_depths(of)
    if h < sag_at_edge:
        yield (
            f"the rim lies {sag_at_edge:.6g} mm lower at the hole's edge than on its axis and h is less: the full "
            "diameter is not yet all around in the metal; no calculator formula, integrated column by column"
        )
        yield f"M = {first_moment_mm4:.8g} mm4, V = {volume_mm3:.8g} mm3"
    else:
        of["s"] = a**2 / (8.0 * R) + a**4 / (64.0 * R**3) + 5.0 * a**6 / (1024.0 * R**5)
        moment = "pi * a^2 * (R * h - h^2 / 2 - a^2 / 8 + (c / 3) * (R - h - c / 4))"
        yield Formula("M", moment, of, first_moment_mm4, "mm4", remark="a^2 / 8: the rim is round")
        sag = "a^2 / (8 * R) + a^4 / (64 * R^3) + 5 * a^6 / (1024 * R^5)"
        yield Formula("s", sag, of, of["s"], "mm", remark="mean sag of the rim")
        yield Formula("V", "pi * a^2 * (h - s + c / 3)", of, volume_mm3, "mm3")
    yield from result(
        density_g_per_cm3=density_g_per_cm3, volume_mm3=volume_mm3, first_moment_mm4=first_moment_mm4
    )


def face_hole_working(
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
) -> Working:
    """Yield the sums of a face hole; ``whole`` says that nothing of it lies outside the metal."""
    h = depth_shoulder_mm
    of = _drill(diameter_mm, point_angle_deg) | {"radius": radius_mm, "thickness": thickness_mm or 0.0}
    yield _half(diameter_mm)
    if h is not None:
        of["h"] = h
        yield from cone(diameter_mm=diameter_mm, point_angle_deg=point_angle_deg)
        if wanted_gmm is not None and whole and h >= 0.0:
            wanted = of | {"U": wanted_gmm, "density": density_g_per_cm3}
            yield Formula("h", "U / (density / 1000 * pi * a^2 * radius) - c / 3", wanted, h, "mm")
        yield _two_depths(of)
    if not whole or (h is not None and h < 0.0):
        yield (
            "part of the hole lies outside the metal (rim, far face, or only the point enters): no short formula, "
            f"from the lens of the two circles: V = {volume_mm3:.8g} mm3, M = {first_moment_mm4:.8g} mm4"
        )
    elif h is None:
        yield Formula("V", "pi * a^2 * thickness", of, volume_mm3, "mm3")
    else:
        remark = "a cone is a third of its cylinder"
        yield Formula("V", "pi * a^2 * (h + c / 3)", of, volume_mm3, "mm3", remark=remark)
    if whole:
        yield _moment(volume_mm3, radius_mm, first_moment_mm4)
    yield from result(
        density_g_per_cm3=density_g_per_cm3, volume_mm3=volume_mm3, first_moment_mm4=first_moment_mm4
    )


def _moment(volume_mm3: float, radius_mm: float, first_moment_mm4: float) -> Formula:
    return Formula("M", "V * radius", {"V": volume_mm3, "radius": radius_mm}, first_moment_mm4, "mm4")


def lens_working(
    *,
    radius_mm: float,
    diameter_mm: float,
    outer_radius_mm: float,
    thickness_mm: float,
    density_g_per_cm3: float,
) -> Working:
    """Yield the sums of a through hole that breaks out through the rim: what counts is the lens of the two circles."""
    rc, a, R, t = radius_mm, diameter_mm / 2.0, outer_radius_mm, thickness_mm
    x = (rc**2 + R**2 - a**2) / (2.0 * rc)
    b, g = math.acos(x / R), math.acos((rc - x) / a)
    hole, rim = a**2 * (g - math.sin(g) * math.cos(g)), R**2 * (b - math.sin(b) * math.cos(b))
    volume, moment = t * (rim + hole), t * rc * hole
    of = {"radius": rc, "a": a, "R": R, "thickness": t, "x": x, "b": b, "g": g}
    yield _half(diameter_mm)
    yield "the hole breaks out: what counts is the lens of the two circles; angles in radians"
    yield Formula("x", "(radius^2 + R^2 - a^2) / (2 * radius)", of, x, "mm", remark="where the circles meet")
    yield Formula("b", "acos(x / R)", of, b)
    yield Formula("g", "acos((radius - x) / a)", of, g)
    both = "thickness * (R^2 * (b - sin(b) * cos(b)) + a^2 * (g - sin(g) * cos(g)))"
    yield Formula("V", both, of, volume, "mm3")
    yield Formula("M", "thickness * radius * a^2 * (g - sin(g) * cos(g))", of, moment, "mm4")
    yield from result(density_g_per_cm3=density_g_per_cm3, volume_mm3=volume, first_moment_mm4=moment)


def slug_length_working(
    *,
    wanted_gmm: float,
    diameter_mm: float,
    length_mm: float,
    radius_mm: float,
    point_angle_deg: float | None,
    parent_density_g_per_cm3: float,
    slug_density_g_per_cm3: float,
) -> Working:
    """Yield the sum that finds a slug's length; ``point_angle_deg`` is None when there is no empty cone."""
    of = {
        "U": wanted_gmm,
        "radius": radius_mm,
        "density bored away": parent_density_g_per_cm3,
        "slug density": slug_density_g_per_cm3,
    } | _drill(diameter_mm, point_angle_deg or 180.0)
    symbols = "U / (pi * a^2 * radius / 1000) / (slug density - density bored away)"
    if point_angle_deg is not None:
        symbols = "(U / (pi * a^2 * radius / 1000) + density bored away * c / 3) / (slug density - density bored away)"
    yield Formula("length", symbols, of, length_mm, "mm")


def pocket_working(
    *,
    bore: str,
    diameter_mm: float,
    length_mm: float,
    radius_mm: float,
    point_angle_deg: float,
    volume_mm3: float,
    whole: bool,
) -> Working:
    """Yield the sums of the bore of an axial slug; ``whole`` says that the drill's point stays inside."""
    if bore == "existing":
        yield "bored away: nothing, the hole is there already"
        return
    of = _drill(diameter_mm, point_angle_deg) | {"length": length_mm}
    if bore == "through":
        yield Formula("bored away: V", "pi * a^2 * length", of, volume_mm3, "mm3")
    elif whole:
        yield Formula("bored away: V", "pi * a^2 * (length + c / 3)", of, volume_mm3, "mm3")
    else:
        yield f"bored away: the drill's point comes out of the far face; V = {volume_mm3:.8g} mm3 in the metal"
    yield _moment(volume_mm3, radius_mm, volume_mm3 * radius_mm)


def net_working(
    *,
    diameter_mm: float,
    length_mm: float,
    slug_radius_mm: float,
    density_g_per_cm3: float,
    slug_density_g_per_cm3: float,
    pocket_volume_mm3: float,
    pocket_first_moment_mm4: float,
) -> Working:
    """Yield the sums from slug and bore to the net."""
    rho, heavy, a = density_g_per_cm3, slug_density_g_per_cm3, diameter_mm / 2.0
    slug_mm3 = math.pi * a**2 * length_mm
    slug_g, bored_g = heavy * slug_mm3 / 1000.0, rho * pocket_volume_mm3 / 1000.0
    bored_gmm = rho * pocket_first_moment_mm4 / 1000.0
    slug = {"a": a, "length": length_mm, "slug density": heavy, "V": slug_mm3}
    yield Formula("slug: V", "pi * a^2 * length", slug, slug_mm3, "mm3")
    yield Formula("slug's mass", "slug density / 1000 * V", slug, slug_g, "g")
    bored = {"density": rho, "V": pocket_volume_mm3, "M": pocket_first_moment_mm4}
    yield Formula("mass bored away", "density / 1000 * V", bored, bored_g, "g")
    yield Formula("unbalance bored away", "density / 1000 * M", bored, bored_gmm, "g*mm")
    net = {
        "slug": slug_g,
        "its radius": slug_radius_mm,
        "bored away": bored_g,
        "unbalance bored away": bored_gmm,
    }
    yield Formula("net mass", "slug - bored away", net, slug_g - bored_g, "g")
    net_gmm = slug_g * slug_radius_mm - bored_gmm
    yield Formula("net unbalance", "slug * its radius - unbalance bored away", net, net_gmm, "g*mm")


def force_working(*, slug_mass_g: float, radius_mm: float, speed_rpm: float, force_n: float) -> Working:
    """Yield the sum of the centrifugal force."""
    of = {"mass": slug_mass_g / 1000.0, "radius": radius_mm / 1000.0, "n": speed_rpm}
    symbols, remark = "mass * radius * (2 * pi * n / 60)^2", "mass [kg], radius [m], n [rpm]"
    yield Formula("centrifugal force", symbols, of, force_n, "N", remark=remark)


def retention_working(
    found: SlugRetention,
    *,
    diameter_mm: float,
    length_mm: float,
    boss_diameter_mm: float,
    boss: Material,
    slug: Material,
    temperature_rise_k: float,
    friction: float,
) -> Working:
    """Yield the sums of the press fit, hot (E in MPa)."""
    hot = found.fit_mm - found.fit_lost_hot_mm
    of = {
        "d": diameter_mm,
        "D": boss_diameter_mm,
        "length": length_mm,
        "fit": hot,
        "expansion of counterweight": boss.expansion_per_million_k or 0.0,
        "of slug": slug.expansion_per_million_k or 0.0,
        "temperature rise": temperature_rise_k,
        "Eo": 1000.0 * (boss.elastic_modulus_gpa or 0.0),
        "vo": boss.poisson_ratio or 0.0,
        "Ei": 1000.0 * (slug.elastic_modulus_gpa or 0.0),
        "vi": slug.poisson_ratio or 0.0,
        "friction": friction,
        "pressure": found.pressure_hot_mpa,
        "hold": found.hold_hot_n,
        "centrifugal force": found.centrifugal_force_n,
    }
    lost = "d * (expansion of counterweight - of slug) * 10^-6 * temperature rise"
    yield Formula("fit lost hot", lost, of, found.fit_lost_hot_mm, "mm")
    if hot <= 0.0:
        yield f"fit hot = {found.fit_mm:.8g} - {found.fit_lost_hot_mm:.8g}: no fit is left"
        return
    lame = "fit / (d / Eo * ((D^2 + d^2) / (D^2 - d^2) + vo) + d / Ei * (1 - vi))"
    remark = "Lame; D boss, o counterweight, i slug"
    yield Formula("pressure hot", lame, of, found.pressure_hot_mpa, "MPa", remark=remark)
    yield Formula("hold", "friction * pressure * pi * d * length", of, found.hold_hot_n, "N")
    yield (
        "stress in the ligament = sqrt(t^2 + t*p + p^2), t = p * (D^2 + d^2) / (D^2 - d^2), p = pressure cold + force / (d * "
        f"length): {found.ligament_stress_mpa:.6g} MPa"
    )
    yield Formula("safety factor", "hold / centrifugal force", of, found.safety_factor)
