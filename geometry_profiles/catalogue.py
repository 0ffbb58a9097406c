"""The shapes by name: which sizes each needs; and generic profiles kept as data files.

The generic profiles (``generic/*.toml``) are of no engine in particular: typical sizes, invented, to begin with and to
measure against.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from geometry_profiles import rims, shapes
from geometry_profiles.outline import Outline, OutlineError
from geometry_profiles.rims import RimForm

SHAPE_SIZES: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "fan": (("outer_radius_mm", "half_angle_deg", "inner_radius_mm"), ()),
    "trimmed fan": (("outer_radius_mm", "half_angle_deg", "inner_radius_mm", "half_width_mm"), ()),
    "flanked fan": (("outer_radius_mm", "half_angle_deg", "inner_radius_mm", "flank_angle_deg"), ()),
    "stepped fan": (("outer_radius_mm", "half_angle_deg", "inner_radius_mm", "steps"), ()),
    "half disc": (("outer_radius_mm", "inner_radius_mm"), ("flat_offset_mm",)),
    "disc": (("outer_radius_mm", "inner_radius_mm"), ()),
    "trimmed disc": (("outer_radius_mm", "inner_radius_mm", "flats"), ()),
    "points": (("points_mm", "inner_radius_mm"), ("rim_radius_mm",)),
}
"""Per shape the sizes that it needs and those that it may have."""

RIM_SIZES: dict[str, tuple[tuple[str, ...], tuple[str, ...]]] = {
    "bevelled": (
        (),
        ("width_mm", "slope_deg", "front_width_mm", "rear_width_mm", "front_slope_deg", "rear_slope_deg"),
    ),
    "tapered": (("taper_deg",), ()),
    "rounded": ((), ("rounding_mm", "front_rounding_mm", "rear_rounding_mm")),
    "stepped": (("plates",), ()),
}
"""Per form of rim the sizes that it needs and those that it may have; without ``front`` or ``rear`` both edges are meant."""


def outline_of(shape: str, sizes: Mapping[str, Any]) -> Outline:
    """Return the outline of a shape by its name.

    Raises
    ------
    OutlineError
        If there is no such shape or its sizes can't be.
    """
    if shape not in SHAPE_SIZES:
        raise OutlineError(f"there is no shape `{shape}`; {', '.join(SHAPE_SIZES)} are known")
    make: Callable[..., Outline] = getattr(shapes, shape.replace(" ", "_"))
    given = dict(sizes)
    corners = (given.pop("points_mm"),) if "points_mm" in given else ()
    return make(*corners, **given)


def rim_of(form: str, sizes: Mapping[str, Any], *, outer_radius_mm: float, thickness_mm: float) -> RimForm:
    """Return a form of rim by its name (see :data:`RIM_SIZES`).

    Parameters
    ----------
    form : str
        ``bevelled``, ``tapered``, ``rounded`` or ``stepped``.
    sizes : mapping
        The sizes, names with their units.
    outer_radius_mm, thickness_mm : float
        The counterweight's own [mm].

    Raises
    ------
    OutlineError
        If there is no such form, its sizes can't be, or plates do not make up the counterweight.
    """
    given = dict(sizes)
    plain = {"outer_radius_mm": outer_radius_mm, "thickness_mm": thickness_mm}
    if form == "bevelled":
        width, slope = given.pop("width_mm", 0.0), given.pop("slope_deg", 45.0)
        both = {
            "front_width_mm": width,
            "rear_width_mm": width,
            "front_slope_deg": slope,
            "rear_slope_deg": slope,
        }
        return rims.bevelled(**plain, **{**both, **given})
    if form == "tapered":
        return rims.tapered(**plain, **given)
    if form == "rounded":
        size = given.pop("rounding_mm", 0.0)
        return rims.rounded(**plain, **{"front_rounding_mm": size, "rear_rounding_mm": size, **given})
    if form == "stepped":
        plates = given["plates"]
        made = rims.stepped(plates)
        if abs(made.thickness_mm - thickness_mm) > 1e-6:
            raise OutlineError(
                f"the plates are {made.thickness_mm:g} mm thick together, the counterweight {thickness_mm:g} mm"
            )
        if abs(made.greatest_radius_mm - outer_radius_mm) > 1e-6:
            raise OutlineError(
                f"the largest plate has radius {made.greatest_radius_mm:g} mm, the outline's is {outer_radius_mm:g} mm"
            )
        return made
    raise OutlineError(f"there is no rim `{form}`; {', '.join(RIM_SIZES)} are known")


@dataclass(frozen=True, kw_only=True)
class GenericProfile:
    """A generic profile: its name, what it is like, its shape and sizes, thickness [mm] and form of rim."""

    name: str
    words: str
    shape: str
    sizes: Mapping[str, Any]
    thickness_mm: float
    rim_form: str | None
    rim_sizes: Mapping[str, Any]

    def outline(self) -> Outline:
        """Return its outline."""
        return outline_of(self.shape, self.sizes)

    def rim(self) -> RimForm | None:
        """Return its form of rim; None: plain."""
        if self.rim_form is None:
            return None
        return rim_of(
            self.rim_form,
            self.rim_sizes,
            outer_radius_mm=float(self.sizes["outer_radius_mm"]),
            thickness_mm=self.thickness_mm,
        )


@cache
def generic_profiles() -> dict[str, GenericProfile]:
    """Return the generic profiles by name, in alphabetical order."""
    found = {}
    folder = resources.files("geometry_profiles").joinpath("generic")
    for file in sorted(folder.iterdir(), key=lambda each: each.name):
        if not file.name.endswith(".toml"):
            continue
        data = tomllib.loads(file.read_text(encoding="utf-8"))
        rim = dict(data.get("rim", {}))
        sizes = {
            key: tuple(map(tuple, value)) if isinstance(value, list) else value
            for key, value in data["sizes"].items()
        }
        name = file.name.removesuffix(".toml").replace("_", " ")
        found[name] = GenericProfile(
            name=name,
            words=data["words"],
            shape=data["shape"],
            sizes=sizes,
            thickness_mm=float(data["thickness_mm"]),
            rim_form=rim.pop("form", None),
            rim_sizes={
                key: tuple(map(tuple, value)) if isinstance(value, list) else value
                for key, value in rim.items()
            },
        )
    return found
