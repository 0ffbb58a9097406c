"""The sums of one cut with the numbers put in, for a trainee with a calculator (mm, g, degrees)."""

from __future__ import annotations

import math
from collections.abc import Iterator

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
    yield Formula(
        name="c",
        symbols="d / (2 * tan(point angle / 2))",
        of={"d": diameter_mm, "point angle": point_angle_deg},
        value=cone_height_mm(diameter_mm=diameter_mm, point_angle_deg=point_angle_deg),
        unit="mm",
        remark="height of the drill's point",
    )


def _half(diameter_mm: float) -> Formula:
    return Formula(name="a", symbols="d / 2", of={"d": diameter_mm}, value=diameter_mm / 2.0, unit="mm")


def _two_depths(depth_shoulder_mm: float, cone_mm: float) -> Formula:
    return Formula(
        name="depth to tip",
        symbols="h + c",
        of={"h": depth_shoulder_mm, "c": cone_mm},
        value=depth_shoulder_mm + cone_mm,
        unit="mm",
        remark="h depth to shoulder",
    )


def result(*, density_g_per_cm3: float, volume_mm3: float, first_moment_mm4: float) -> Working:
    """Yield mass, unbalance and centroid radius from volume [mm3] and first moment [mm4]."""
    rho, m, v = density_g_per_cm3, first_moment_mm4, volume_mm3
    yield Formula(
        name="mass",
        symbols="density / 1000 * V",
        of={"density": rho, "V": v},
        value=rho * v / 1000.0,
        unit="g",
    )
    yield Formula(
        name="U",
        symbols="density / 1000 * M",
        of={"density": rho, "M": m},
        value=rho * m / 1000.0,
        unit="g*mm",
    )
    yield Formula(name="centroid radius", symbols="M / V", of={"M": m, "V": v}, value=m / v, unit="mm")


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
    R, h, a = outer_radius_mm, depth_shoulder_mm, diameter_mm / 2.0
    c = cone_height_mm(diameter_mm=diameter_mm, point_angle_deg=point_angle_deg)
    sag_at_edge = float(edge_sag_mm(outer_radius_mm=R, diameter_mm=diameter_mm))
    yield f"R = {R:.8g} mm outer radius, h depth to shoulder"
    yield _half(diameter_mm)
    yield from cone(diameter_mm=diameter_mm, point_angle_deg=point_angle_deg)
    if wanted_gmm is not None and h >= sag_at_edge:
        wanted = wanted_gmm / density_g_per_cm3 * 1000.0
        p = R - c / 3.0
        q = wanted / (math.pi * a**2) + a**2 / 8.0 + c**2 / 12.0 - c * R / 3.0
        yield Formula(
            name="first moment wanted M",
            symbols="U / (density / 1000)",
            of={"U": wanted_gmm, "density": density_g_per_cm3},
            value=wanted,
            unit="mm4",
        )
        yield Formula(name="p", symbols="R - c / 3", of={"R": R, "c": c}, value=p, unit="mm")
        yield Formula(
            name="Q",
            symbols="M / (pi * a^2) + a^2 / 8 + c^2 / 12 - c * R / 3",
            of={"M": wanted, "a": a, "c": c, "R": R},
            value=q,
            unit="mm2",
        )
        yield Formula(name="h", symbols="p - sqrt(p^2 - 2 * Q)", of={"p": p, "Q": q}, value=h, unit="mm")
    yield _two_depths(h, c)
    if h < sag_at_edge:
        yield (
            f"the rim lies {sag_at_edge:.6g} mm lower at the hole's edge than on its axis and h is less: the full "
            "diameter is not yet all around in the metal; no calculator formula, integrated column by column"
        )
        yield f"M = {first_moment_mm4:.8g} mm4, V = {volume_mm3:.8g} mm3"
    else:
        sag = a**2 / (8.0 * R) + a**4 / (64.0 * R**3) + 5.0 * a**6 / (1024.0 * R**5)
        yield Formula(
            name="M",
            symbols="pi * a^2 * (R * h - h^2 / 2 - a^2 / 8 + (c / 3) * (R - h - c / 4))",
            of={"a": a, "R": R, "h": h, "c": c},
            value=first_moment_mm4,
            unit="mm4",
            remark="a^2 / 8: the rim is round",
        )
        yield Formula(
            name="s",
            symbols="a^2 / (8 * R) + a^4 / (64 * R^3) + 5 * a^6 / (1024 * R^5)",
            of={"a": a, "R": R},
            value=sag,
            unit="mm",
            remark="mean sag of the rim",
        )
        yield Formula(
            name="V",
            symbols="pi * a^2 * (h - s + c / 3)",
            of={"a": a, "h": h, "s": sag, "c": c},
            value=volume_mm3,
            unit="mm3",
        )
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
    a, h, radius = diameter_mm / 2.0, depth_shoulder_mm, radius_mm
    c = cone_height_mm(diameter_mm=diameter_mm, point_angle_deg=point_angle_deg)
    yield _half(diameter_mm)
    if h is not None:
        yield from cone(diameter_mm=diameter_mm, point_angle_deg=point_angle_deg)
        if wanted_gmm is not None and whole and h >= 0.0:
            yield Formula(
                name="h",
                symbols="U / (density / 1000 * pi * a^2 * radius) - c / 3",
                of={"U": wanted_gmm, "density": density_g_per_cm3, "a": a, "radius": radius, "c": c},
                value=h,
                unit="mm",
            )
        yield _two_depths(h, c)
    if not whole or (h is not None and h < 0.0):
        yield (
            "part of the hole lies outside the metal (rim, far face, or only the point enters): no short formula, "
            f"from the lens of the two circles: V = {volume_mm3:.8g} mm3, M = {first_moment_mm4:.8g} mm4"
        )
    elif h is None:
        yield Formula(
            name="V",
            symbols="pi * a^2 * thickness",
            of={"a": a, "thickness": thickness_mm or 0.0},
            value=volume_mm3,
            unit="mm3",
        )
    else:
        yield Formula(
            name="V",
            symbols="pi * a^2 * (h + c / 3)",
            of={"a": a, "h": h, "c": c},
            value=volume_mm3,
            unit="mm3",
            remark="a cone is a third of its cylinder",
        )
    if whole:
        yield _moment(volume_mm3, radius, first_moment_mm4)
    yield from result(
        density_g_per_cm3=density_g_per_cm3, volume_mm3=volume_mm3, first_moment_mm4=first_moment_mm4
    )


def _moment(volume_mm3: float, radius_mm: float, first_moment_mm4: float) -> Formula:
    of = {"V": volume_mm3, "radius": radius_mm}
    return Formula(name="M", symbols="V * radius", of=of, value=first_moment_mm4, unit="mm4")


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
    yield _half(diameter_mm)
    yield "the hole breaks out: what counts is the lens of the two circles; angles in radians"
    yield Formula(
        name="x",
        symbols="(radius^2 + R^2 - a^2) / (2 * radius)",
        of={"radius": rc, "R": R, "a": a},
        value=x,
        unit="mm",
        remark="where the circles meet",
    )
    yield Formula(name="b", symbols="acos(x / R)", of={"x": x, "R": R}, value=b)
    yield Formula(name="g", symbols="acos((radius - x) / a)", of={"radius": rc, "x": x, "a": a}, value=g)
    yield Formula(
        name="V",
        symbols="thickness * (R^2 * (b - sin(b) * cos(b)) + a^2 * (g - sin(g) * cos(g)))",
        of={"thickness": t, "R": R, "b": b, "a": a, "g": g},
        value=volume,
        unit="mm3",
    )
    yield Formula(
        name="M",
        symbols="thickness * radius * a^2 * (g - sin(g) * cos(g))",
        of={"thickness": t, "radius": rc, "a": a, "g": g},
        value=moment,
        unit="mm4",
    )
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
        "a": diameter_mm / 2.0,
        "radius": radius_mm,
        "density bored away": parent_density_g_per_cm3,
        "slug density": slug_density_g_per_cm3,
    }
    if point_angle_deg is None:
        symbols = "U / (pi * a^2 * radius / 1000) / (slug density - density bored away)"
    else:
        of["c"] = cone_height_mm(diameter_mm=diameter_mm, point_angle_deg=point_angle_deg)
        symbols = "(U / (pi * a^2 * radius / 1000) + density bored away * c / 3) / (slug density - density bored away)"
    yield Formula(name="length", symbols=symbols, of=of, value=length_mm, unit="mm")


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
    of = {"a": diameter_mm / 2.0, "length": length_mm}
    if bore == "through":
        yield Formula(name="bored away: V", symbols="pi * a^2 * length", of=of, value=volume_mm3, unit="mm3")
    elif whole:
        of["c"] = cone_height_mm(diameter_mm=diameter_mm, point_angle_deg=point_angle_deg)
        yield Formula(
            name="bored away: V", symbols="pi * a^2 * (length + c / 3)", of=of, value=volume_mm3, unit="mm3"
        )
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
    rho, heavy = density_g_per_cm3, slug_density_g_per_cm3
    slug_mm3 = math.pi * (diameter_mm / 2.0) ** 2 * length_mm
    slug_g, bored_g = heavy * slug_mm3 / 1000.0, rho * pocket_volume_mm3 / 1000.0
    bored_gmm = rho * pocket_first_moment_mm4 / 1000.0
    for name, symbols, of, value, unit in (
        ("slug: V", "pi * a^2 * length", {"a": diameter_mm / 2.0, "length": length_mm}, slug_mm3, "mm3"),
        ("slug's mass", "slug density / 1000 * V", {"slug density": heavy, "V": slug_mm3}, slug_g, "g"),
        ("mass bored away", "density / 1000 * V", {"density": rho, "V": pocket_volume_mm3}, bored_g, "g"),
        (
            "unbalance bored away",
            "density / 1000 * M",
            {"density": rho, "M": pocket_first_moment_mm4},
            bored_gmm,
            "g*mm",
        ),
        ("net mass", "slug - bored away", {"slug": slug_g, "bored away": bored_g}, slug_g - bored_g, "g"),
        (
            "net unbalance",
            "slug * its radius - unbalance bored away",
            {"slug": slug_g, "its radius": slug_radius_mm, "unbalance bored away": bored_gmm},
            slug_g * slug_radius_mm - bored_gmm,
            "g*mm",
        ),
    ):
        yield Formula(name=name, symbols=symbols, of=of, value=value, unit=unit)


def force_working(*, slug_mass_g: float, radius_mm: float, speed_rpm: float, force_n: float) -> Working:
    """Yield the sum of the centrifugal force."""
    yield Formula(
        name="centrifugal force",
        symbols="mass * radius * (2 * pi * n / 60)^2",
        of={"mass": slug_mass_g / 1000.0, "radius": radius_mm / 1000.0, "n": speed_rpm},
        value=force_n,
        unit="N",
        remark="mass [kg], radius [m], n [rpm]",
    )


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
    yield Formula(
        name="fit lost hot",
        symbols="d * (expansion of counterweight - of slug) * 10^-6 * temperature rise",
        of={
            "d": diameter_mm,
            "expansion of counterweight": boss.expansion_per_million_k or 0.0,
            "of slug": slug.expansion_per_million_k or 0.0,
            "temperature rise": temperature_rise_k,
        },
        value=found.fit_lost_hot_mm,
        unit="mm",
    )
    if hot <= 0.0:
        yield f"fit hot = {found.fit_mm:.8g} - {found.fit_lost_hot_mm:.8g}: no fit is left"
        return
    yield Formula(
        name="pressure hot",
        symbols="fit / (d / Eo * ((D^2 + d^2) / (D^2 - d^2) + vo) + d / Ei * (1 - vi))",
        of={
            "fit": hot,
            "d": diameter_mm,
            "D": boss_diameter_mm,
            "Eo": 1000.0 * (boss.elastic_modulus_gpa or 0.0),
            "vo": boss.poisson_ratio or 0.0,
            "Ei": 1000.0 * (slug.elastic_modulus_gpa or 0.0),
            "vi": slug.poisson_ratio or 0.0,
        },
        value=found.pressure_hot_mpa,
        unit="MPa",
        remark="Lame; D boss, o counterweight, i slug",
    )
    yield Formula(
        name="hold",
        symbols="friction * pressure * pi * d * length",
        of={
            "friction": friction,
            "pressure": found.pressure_hot_mpa,
            "d": diameter_mm,
            "length": length_mm,
        },
        value=found.hold_hot_n,
        unit="N",
    )
    yield (
        "stress in the ligament = sqrt(t^2 + t*p + p^2), t = p * (D^2 + d^2) / (D^2 - d^2), p = pressure cold + force / (d * "
        f"length): {found.ligament_stress_mpa:.6g} MPa"
    )
    yield Formula(
        name="safety factor",
        symbols="hold / centrifugal force",
        of={"hold": found.hold_hot_n, "centrifugal force": found.centrifugal_force_n},
        value=found.safety_factor,
    )
