"""One cut by itself, without a job: what it takes off or adds, how deep or long it must be, what holds a slug."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, field
from typing import Any, Literal

from planner.cuts import working
from planner.cuts.face_hole import face_hole, face_hole_depth_mm
from planner.cuts.retention import SlugRetention, centrifugal_force_n, slug_retention
from planner.cuts.rim_hole import edge_sag_mm, rim_hole, rim_hole_depth_mm, rim_hole_greatest_depth_mm
from planner.cuts.slug import (
    RADIAL_SLUG_WARNING,
    SluggedHole,
    axial_slug,
    axial_slug_length_mm,
    checked_slug_length,
    filled_hole,
    radial_slug,
)
from planner.cuts.solid import Solid
from planner.errors import InputError
from planner.formula import Formula
from planner.quantity import format_quantity, format_unbalance_both
from planner.records import dataclass
from planner.rotor.crankshaft import cone_height_mm
from planner.rotor.materials import HEAVY_ALLOYS, Material, like_metal, material, slug_class

ASSUMED_METAL = "forged steel"
ASSUMED_CLASS = "ASTM B777 class 2"

Bore = Literal["through", "blind", "existing", "radial"]
Kind = Literal["length", "unbalance", "text"]


@dataclass(frozen=True, kw_only=True)
class Metal:
    """The counterweight's metal: density [g/cm3], how it was named, and its figures when it has some."""

    density_g_per_cm3: float
    words: str
    material: Material | None = None


@dataclass(frozen=True, kw_only=True)
class Row:
    """A line of the answer: what it is, a length [mm], an unbalance [g*mm] or a text, and a remark behind it."""

    label: str
    value: float | str
    kind: Kind = "text"
    mark: str = ""


@dataclass(frozen=True, kw_only=True)
class OneCut:
    """What one cut does: its rows, the same as plain data, the sums behind it, and what is to be said of it.

    ``title`` heads the answer; empty: made of the sizes.
    """

    metal: Metal
    rows: tuple[Row, ...]
    data: dict[str, Any]
    working: tuple[Formula | str, ...]
    notes: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()
    title: str = ""


@dataclass(kw_only=True)
class Draft:
    """An answer that is being put together."""

    metal: Metal
    rows: list[Row] = field(default_factory=list)
    data: dict[str, Any] = field(default_factory=dict)
    working: list[Formula | str] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)

    def __post_init__(self) -> None:
        density = self.metal.density_g_per_cm3
        if not 1.5 <= density <= 20.0:
            self.warnings.append(f"{density:g} g/cm3 is no crankshaft metal: is the unit right?")

    def says(self, label: str, text: str) -> None:
        """Add a row of text."""
        self.rows.append(Row(label=label, value=text))

    def length(self, label: str, length_mm: float, mark: str = "") -> None:
        """Add a row with a length [mm]."""
        self.rows.append(Row(label=label, value=length_mm, kind="length", mark=mark))

    def unbalance(self, label: str, amount_gmm: float) -> None:
        """Add a row with an unbalance [g*mm]."""
        self.rows.append(Row(label=label, value=amount_gmm, kind="unbalance"))

    def done(self, title: str = "") -> OneCut:
        """Return the answer."""
        return OneCut(
            metal=self.metal,
            rows=tuple(self.rows),
            data=self.data,
            working=tuple(self.working),
            notes=tuple(self.notes),
            warnings=tuple(self.warnings),
            title=title,
        )


def metal_of(density_g_per_cm3: float | None, name: str | None) -> Metal:
    """Return a counterweight's metal: of a density [g/cm3], of a material by name, or what is usual."""
    if density_g_per_cm3 is not None:
        words = format_quantity(density_g_per_cm3, "density", "g/cm3")
        return Metal(density_g_per_cm3=density_g_per_cm3, words=words)
    found = material(name if name is not None else ASSUMED_METAL)
    words = f"{found.name}, {format_quantity(found.density_g_per_cm3, 'density', 'g/cm3')}"
    return Metal(
        density_g_per_cm3=found.density_g_per_cm3,
        words=words if name is not None else f"{words} (assumed)",
        material=found,
    )


def slug_metal(density_g_per_cm3: float | None, name: str | None) -> tuple[float, Material | None]:
    """Return a slug's density [g/cm3] and, where it is known, its material."""
    if density_g_per_cm3 is None:
        found = slug_class(name if name is not None else ASSUMED_CLASS)
        return found.density_g_per_cm3, found
    lowest, highest = HEAVY_ALLOYS[0], HEAVY_ALLOYS[-1]
    like_alloy = (
        lowest.density_low_g_per_cm3 - 0.5 <= density_g_per_cm3 <= highest.density_high_g_per_cm3 + 0.5
    )
    return density_g_per_cm3, HEAVY_ALLOYS[1] if like_alloy else None


def rim_cut(
    *,
    outer_radius_mm: float,
    diameter_mm: float,
    depth_mm: float | None,
    wanted_gmm: float | None,
    counted_to: str,
    point_angle_deg: float,
    metal: Metal,
) -> OneCut:
    """Return what a hole drilled from the rim toward the shaft takes off, or how deep it must be.

    Parameters
    ----------
    outer_radius_mm, diameter_mm : float
        Rim and drill [mm].
    depth_mm, wanted_gmm : float or None
        One of the two: depth on the stop [mm], counted to ``counted_to`` (shoulder or tip), or unbalance [g*mm].
    point_angle_deg : float
        Of the drill [deg].
    metal : Metal
        What is drilled.

    Raises
    ------
    InputError
        If the unbalance can't be reached, or the sizes can't be.
    """
    density = metal.density_g_per_cm3
    sizes = {
        "outer_radius_mm": outer_radius_mm,
        "diameter_mm": diameter_mm,
        "point_angle_deg": point_angle_deg,
    }
    cone = cone_height_mm(diameter_mm=diameter_mm, point_angle_deg=point_angle_deg)
    if wanted_gmm is None:
        shoulder = _shoulder_mm(depth_mm or 0.0, counted_to, cone)
    else:
        deepest = rim_hole_greatest_depth_mm(**sizes)
        most = rim_hole(depth_shoulder_mm=deepest, **sizes).unbalance_gmm(density)
        if wanted_gmm > most:
            raise InputError(
                f"--unbalance: {format_unbalance_both(wanted_gmm)} can't be reached with one {diameter_mm:g} mm rim hole; "
                f"the greatest is {format_unbalance_both(most)} at depth {deepest:.2f} mm to the shoulder, where the tip "
                "reaches the shaft axis",
                hint="take a larger drill or more than one hole",
            )
        shoulder = float(rim_hole_depth_mm(first_moment_mm4=wanted_gmm / density * 1000.0, **sizes))
    solid = rim_hole(depth_shoulder_mm=shoulder, **sizes)
    draft = Draft(metal=metal)
    _add_depths(draft, shoulder, cone, counted_to, asked=wanted_gmm is not None)
    if 0.0 < shoulder < float(edge_sag_mm(outer_radius_mm=outer_radius_mm, diameter_mm=diameter_mm)):
        draft.notes.append("the hole is so shallow that the full diameter is not yet all around in the metal")
    draft.data = {"cut": "rim hole", **sizes, "density_g_per_cm3": density}
    _add_solid(draft, solid, density)
    draft.data |= {"depth_shoulder_mm": shoulder, "depth_tip_mm": shoulder + cone}
    draft.working += working.rim_hole_working(
        **sizes,
        depth_shoulder_mm=shoulder,
        density_g_per_cm3=density,
        volume_mm3=solid.volume_mm3,
        first_moment_mm4=solid.first_moment_mm4,
        wanted_gmm=wanted_gmm,
    )
    return draft.done()


def face_cut(
    *,
    radius_mm: float,
    diameter_mm: float,
    depth_mm: float | None,
    wanted_gmm: float | None,
    through: bool,
    thickness_mm: float | None,
    outer_radius_mm: float | None,
    counted_to: str,
    point_angle_deg: float,
    metal: Metal,
) -> OneCut:
    """Return what a hole parallel to the shaft takes off, or how deep it must be; parameters as of `rim_cut`.

    Raises
    ------
    InputError
        If the unbalance can't be reached, or the hole is deeper than the counterweight is thick.
    """
    density = metal.density_g_per_cm3
    cone = 0.0 if through else cone_height_mm(diameter_mm=diameter_mm, point_angle_deg=point_angle_deg)
    axis: dict[str, Any] = {"radius_mm": radius_mm, "diameter_mm": diameter_mm, "thickness_mm": thickness_mm}
    place = axis | {"outer_radius_mm": outer_radius_mm}
    drill: dict[str, Any] = {"point_angle_deg": point_angle_deg}
    shoulder: float | None = None
    if wanted_gmm is not None:
        if thickness_mm is not None:
            most = face_hole(through=True, **place).unbalance_gmm(density)
            if wanted_gmm > most:
                raise InputError(
                    f"--unbalance: {format_unbalance_both(wanted_gmm)} can't be reached with one {diameter_mm:g} mm face "
                    f"hole; the greatest is {format_unbalance_both(most)} at depth {thickness_mm:g} mm, all the way through",
                    hint="take a larger drill, a larger radius or more than one hole",
                )
        wanted_mm4 = wanted_gmm / density * 1000.0
        shoulder = face_hole_depth_mm(first_moment_mm4=wanted_mm4, **place, **drill)
    elif not through:
        shoulder = _shoulder_mm(depth_mm or 0.0, counted_to, cone)
        if thickness_mm is not None and shoulder > thickness_mm:
            raise InputError(
                f"--depth: {shoulder:g} mm to the shoulder is more than the thickness, {thickness_mm:g} mm",
                hint="say --through for a through hole",
            )
    solid = face_hole(**place, **drill, depth_shoulder_mm=shoulder, through=through)
    edge = radius_mm + diameter_mm / 2.0
    breaks_out = outer_radius_mm is not None and edge > outer_radius_mm
    comes_out = shoulder is not None and thickness_mm is not None and shoulder + cone > thickness_mm + 1e-9
    draft = Draft(metal=metal)
    if breaks_out:
        draft.warnings.append(
            f"the hole breaks out through the rim: its outer edge is at {edge:g} mm, the rim at {outer_radius_mm:g} mm; "
            "only what lies inside is counted"
        )
    if comes_out:
        draft.warnings.append("the drill's point comes out of the far face")
    if shoulder is None:
        draft.length("depth", thickness_mm or 0.0, ", through")
    else:
        _add_depths(draft, shoulder, cone, counted_to, asked=wanted_gmm is not None)
    draft.data = {
        "cut": "face hole",
        **axis,
        "through": through,
        "breaks_out": breaks_out,
        **drill,
        "density_g_per_cm3": density,
    }
    _add_solid(draft, solid, density)
    draft.length("centroid inside the face", solid.from_face_mm or 0.0)
    draft.data |= {
        "centroid_from_face_mm": solid.from_face_mm,
        "depth_shoulder_mm": shoulder,
        "depth_tip_mm": None if shoulder is None else shoulder + cone,
    }
    if through and breaks_out and outer_radius_mm is not None and thickness_mm is not None:
        draft.working += working.lens_working(**place, density_g_per_cm3=density)
    else:
        draft.working += working.face_hole_working(
            **axis,
            **drill,
            depth_shoulder_mm=shoulder,
            density_g_per_cm3=density,
            volume_mm3=solid.volume_mm3,
            first_moment_mm4=solid.first_moment_mm4,
            whole=not breaks_out and not comes_out,
            wanted_gmm=wanted_gmm,
        )
    return draft.done()


def _shoulder_mm(depth_mm: float, counted_to: str, cone_mm: float) -> float:
    return depth_mm - (cone_mm if counted_to == "tip" else 0.0)


def _add_depths(draft: Draft, shoulder_mm: float, cone_mm: float, counted_to: str, *, asked: bool) -> None:
    """Add the rows of the two depths; the one on the stop is marked when it was asked for."""
    for label, value in (("shoulder", shoulder_mm), ("tip", shoulder_mm + cone_mm)):
        draft.length(f"depth to {label}", value, "   <- the stop" if asked and label == counted_to else "")
    if shoulder_mm <= 0.0:
        draft.notes.append("only the drill's point enters the metal, not yet its full diameter")


def _add_solid(draft: Draft, solid: Solid, density_g_per_cm3: float) -> None:
    mass, amount = solid.mass_g(density_g_per_cm3), solid.unbalance_gmm(density_g_per_cm3)
    draft.says("volume", f"{solid.volume_mm3:.1f} mm3")
    draft.says("mass taken off", f"{mass:.2f} g")
    draft.length("centroid radius", solid.centroid_radius_mm)
    draft.unbalance("unbalance taken off", amount)
    draft.data |= {
        "volume_mm3": solid.volume_mm3,
        "mass_g": mass,
        "centroid_radius_mm": solid.centroid_radius_mm,
        "unbalance_gmm": amount,
    }


@dataclass(frozen=True, kw_only=True)
class SlugPlace:
    """Where a slug sits and in what: lengths [mm], the way the hole is made."""

    bore: Bore
    diameter_mm: float
    length_mm: float
    radius_mm: float
    hole: SluggedHole
    depth_shoulder_mm: float | None = None
    wanted_gmm: float | None = None
    thickness_mm: float | None = None
    outer_radius_mm: float | None = None


@dataclass(frozen=True, kw_only=True)
class PressFit:
    """What is to hold a slug: the engine's speed [rpm], the fit [mm], how much warmer it runs [K], the friction."""

    speed_rpm: float
    fit_mm: float | None
    temperature_rise_k: float
    friction: float


def axial_place(
    *,
    bore: Bore,
    radius_mm: float,
    diameter_mm: float,
    length_mm: float | None,
    wanted_gmm: float | None,
    thickness_mm: float | None,
    outer_radius_mm: float | None,
    point_angle_deg: float,
    density_g_per_cm3: float,
    slug_density_g_per_cm3: float,
) -> SlugPlace:
    """Return a slug parallel to the shaft, as long as was said or as the wanted unbalance [g*mm] needs.

    Raises
    ------
    InputError
        If nothing would hold it, or it can't be that long.
    """
    edge = radius_mm + diameter_mm / 2.0
    if outer_radius_mm is not None and edge >= outer_radius_mm:
        raise InputError(
            f"the slug's outer edge is at {edge:g} mm, the rim at {outer_radius_mm:g} mm: nothing would hold it",
            hint="move it inward or take a smaller one",
        )
    axis: dict[str, Any] = {"radius_mm": radius_mm, "diameter_mm": diameter_mm}
    blind: dict[str, Any] = {"thickness_mm": thickness_mm, "point_angle_deg": point_angle_deg}
    if wanted_gmm is not None:
        length_mm = axial_slug_length_mm(
            unbalance_gmm=wanted_gmm,
            **axis,
            **blind,
            density_g_per_cm3=density_g_per_cm3,
            slug_density_g_per_cm3=slug_density_g_per_cm3,
            through=bore == "through" and thickness_mm is None,
            existing=bore == "existing",
        )
    assert length_mm is not None
    checked_slug_length(length_mm=length_mm, thickness_mm=thickness_mm)
    if bore == "through" and thickness_mm is not None and length_mm < thickness_mm - 1e-9:
        bore = "blind"
    if bore == "existing":
        hole = filled_hole(**axis, length_mm=length_mm)
    else:
        hole = axial_slug(**axis, **blind, length_mm=length_mm, through=bore == "through")
    return SlugPlace(
        bore=bore,
        **axis,
        length_mm=length_mm,
        hole=hole,
        depth_shoulder_mm=length_mm if bore == "blind" else None,
        wanted_gmm=wanted_gmm,
        thickness_mm=thickness_mm,
        outer_radius_mm=outer_radius_mm,
    )


def radial_place(
    *,
    outer_radius_mm: float,
    diameter_mm: float,
    depth_mm: float,
    length_mm: float,
    thickness_mm: float | None,
    point_angle_deg: float,
) -> SlugPlace:
    """Return a slug in a rim hole, on its shoulder; never planned."""
    hole = radial_slug(
        outer_radius_mm=outer_radius_mm,
        diameter_mm=diameter_mm,
        depth_shoulder_mm=depth_mm,
        length_mm=length_mm,
        point_angle_deg=point_angle_deg,
    )
    return SlugPlace(
        bore="radial",
        diameter_mm=diameter_mm,
        length_mm=length_mm,
        radius_mm=outer_radius_mm - depth_mm + length_mm / 2.0,
        hole=hole,
        depth_shoulder_mm=depth_mm,
        thickness_mm=thickness_mm,
        outer_radius_mm=outer_radius_mm,
    )


def slug_cut(
    place: SlugPlace,
    *,
    metal: Metal,
    slug_density_g_per_cm3: float,
    alloy: Material | None,
    density_assumed: bool,
    point_angle_deg: float,
    fit: PressFit | None,
) -> OneCut:
    """Return what a slug adds, net of the metal bored away, and whether a press fit would hold it.

    ``alloy`` is None when the slug's figures are not known.

    Raises
    ------
    InputError
        If there are no elastic figures for a press fit.
    """
    draft = Draft(metal=metal)
    if place.bore == "radial":
        draft.warnings.append(RADIAL_SLUG_WARNING)
    if density_assumed:
        draft.notes.append(
            f"slug density taken as {ASSUMED_CLASS}, {slug_density_g_per_cm3:g} g/cm3; weighing the slug is better"
        )
    _add_masses(draft, place, slug_density_g_per_cm3, point_angle_deg)
    draft.working += _slug_working(place, metal.density_g_per_cm3, slug_density_g_per_cm3, point_angle_deg)
    if fit is not None:
        _add_hold(draft, place, alloy, place.hole.slug.mass_g(slug_density_g_per_cm3), fit)
    return draft.done()


_BORES = {
    "through": "through bore, filled from face to face",
    "blind": "blind bore to the slug's length, the drill's cone stays empty",
    "existing": "an existing hole: nothing is bored",
    "radial": "rim hole, the slug on its shoulder, the drill's cone stays empty",
}


def _add_masses(draft: Draft, place: SlugPlace, heavy: float, point_angle_deg: float) -> None:
    parent = draft.metal.density_g_per_cm3
    densities = {"density_g_per_cm3": parent, "slug_density_g_per_cm3": heavy}
    slug_g, removed = place.hole.slug.mass_g(heavy), place.hole.removed_g(parent)
    net, amount = place.hole.net_mass_g(**densities), place.hole.net_unbalance_gmm(**densities)
    draft.says("bore", _BORES[place.bore])
    draft.length("length of slug", place.length_mm)
    tip = None
    if place.depth_shoulder_mm is not None:
        tip = place.depth_shoulder_mm + cone_height_mm(
            diameter_mm=place.diameter_mm, point_angle_deg=point_angle_deg
        )
        draft.length("bore to shoulder", place.depth_shoulder_mm)
        draft.length("bore to tip", tip)
        if place.bore == "blind" and place.thickness_mm is not None and tip > place.thickness_mm + 1e-9:
            draft.warnings.append("the drill's point comes out of the far face")
    draft.says("bored away", f"{removed:.2f} g")
    draft.says("slug", f"{slug_g:.2f} g")
    draft.says("net mass added", f"{net:.2f} g")
    draft.unbalance("net unbalance added", amount)
    if amount <= 0.0:
        draft.warnings.append("less goes in than comes out: the counterweight gets lighter")
    draft.data = {
        "cut": "fill" if place.bore == "existing" else "slug",
        "bore": place.bore,
        "radius_mm": place.radius_mm,
        "diameter_mm": place.diameter_mm,
        "length_mm": place.length_mm,
        **densities,
        "removed_g": removed,
        "slug_g": slug_g,
        "net_g": net,
        "unbalance_gmm": amount,
        "depth_shoulder_mm": place.depth_shoulder_mm,
        "depth_tip_mm": tip,
    }


def _slug_working(place: SlugPlace, parent: float, heavy: float, point_angle_deg: float) -> working.Working:
    d, long, pocket = place.diameter_mm, place.length_mm, place.hole.pocket
    volume, moment = (0.0, 0.0) if pocket is None else (pocket.volume_mm3, pocket.first_moment_mm4)
    cone = cone_height_mm(diameter_mm=d, point_angle_deg=point_angle_deg)
    whole = place.bore != "blind" or place.thickness_mm is None or long + cone <= place.thickness_mm + 1e-9
    yield Formula("a", "d / 2", {"d": d}, d / 2.0, "mm")
    if place.bore == "blind":
        yield from working.cone(diameter_mm=d, point_angle_deg=point_angle_deg)
    if place.wanted_gmm is not None and whole:
        yield from working.slug_length_working(
            wanted_gmm=place.wanted_gmm,
            diameter_mm=d,
            length_mm=long,
            radius_mm=place.radius_mm,
            point_angle_deg=point_angle_deg if place.bore == "blind" else None,
            parent_density_g_per_cm3=0.0 if pocket is None else parent,
            slug_density_g_per_cm3=heavy,
        )
    if place.bore == "radial":
        R, h = place.outer_radius_mm or 0.0, place.depth_shoulder_mm or 0.0
        yield "bored away:"
        yield from working.rim_hole_working(
            outer_radius_mm=R,
            diameter_mm=d,
            depth_shoulder_mm=h,
            point_angle_deg=point_angle_deg,
            density_g_per_cm3=parent,
            volume_mm3=volume,
            first_moment_mm4=moment,
        )
        of = {"R": R, "h": h, "length": long}
        yield Formula("slug's radius", "R - h + length / 2", of, place.radius_mm, "mm")
    else:
        yield from working.pocket_working(
            bore=place.bore,
            diameter_mm=d,
            length_mm=long,
            radius_mm=place.radius_mm,
            point_angle_deg=point_angle_deg,
            volume_mm3=volume,
            whole=whole,
        )
    yield from working.net_working(
        diameter_mm=d,
        length_mm=long,
        slug_radius_mm=place.radius_mm,
        density_g_per_cm3=parent,
        slug_density_g_per_cm3=heavy,
        pocket_volume_mm3=volume,
        pocket_first_moment_mm4=moment,
    )


def _add_hold(
    draft: Draft, place: SlugPlace, alloy: Material | None, slug_mass_g: float, fit: PressFit
) -> None:
    """Add the centrifugal force and, with a fit, whether it holds."""
    carried: dict[str, Any] = {"radius_mm": place.radius_mm, "speed_rpm": fit.speed_rpm}
    force = centrifugal_force_n(mass_g=slug_mass_g, **carried)
    draft.says(f"force at {fit.speed_rpm:g} rpm", f"{force:.0f} N")
    draft.data["centrifugal_force_n"] = force
    draft.working += working.force_working(slug_mass_g=slug_mass_g, force_n=force, **carried)
    if fit.fit_mm is None:
        return
    if alloy is None:
        raise InputError(
            "there are no elastic figures for a slug of that density, so a press fit can't be reckoned",
            hint="give --slug-class, or leave --fit away",
        )
    if place.outer_radius_mm is not None and place.bore != "radial":
        boss = 2.0 * (place.outer_radius_mm - place.radius_mm)
    else:
        boss = 2.0 * place.diameter_mm
        draft.notes.append(f"metal around the slug taken as a ring of {boss:g} mm diameter")
    parent = draft.metal.material
    if parent is None:
        parent = like_metal(draft.metal.density_g_per_cm3)
        draft.notes.append(f"elastic figures of {parent.name} taken for the counterweight")
    figures: dict[str, Any] = {
        "diameter_mm": place.diameter_mm,
        "length_mm": place.length_mm,
        "boss_diameter_mm": boss,
        "boss": parent,
        "slug": alloy,
        "temperature_rise_k": fit.temperature_rise_k,
        "friction": fit.friction,
    }
    found = slug_retention(slug_mass_g=slug_mass_g, fit_mm=fit.fit_mm, **carried, **figures)
    for label, text in _hold_rows(found):
        draft.says(label, text)
    draft.warnings += found.warnings
    kept = {key: value for key, value in asdict(found).items() if key != "warnings"}
    draft.data["retention"] = {**kept, "boss_diameter_mm": boss}
    draft.working += working.retention_working(found, **figures)


def _hold_rows(found: SlugRetention) -> Sequence[tuple[str, str]]:
    hot = found.fit_mm - found.fit_lost_hot_mm
    return (
        ("fit, cold", f"{found.fit_mm:.4f} mm, pressure {found.pressure_cold_mpa:.0f} MPa"),
        ("fit, hot", f"{hot:.4f} mm, pressure {found.pressure_hot_mpa:.0f} MPa"),
        ("stress at the bore", f"{found.bore_hoop_stress_mpa:.0f} MPa hoop, cold"),
        ("stress in the ligament", f"{found.ligament_stress_mpa:.0f} MPa by fit and pull, equivalent"),
        ("held by friction, hot", f"{found.hold_hot_n:.0f} N"),
        ("safety factor", f"{found.safety_factor:.2f}"),
    )
