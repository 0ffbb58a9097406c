"""Catalogue of engine layouts: throws, cylinders, banks and one firing order that works.

Angles [deg] count in the **direction of rotation**, z in spacings of neighbouring throws with 0 in the middle
and the front negative.  Bank angles count from the reference axis (vertical for in-line and V engines,
horizontal for flat ones); bank A is the one further on in the direction of rotation.  Cylinders are numbered
from the front, of a pair the one of bank A first.  A cylinder is at top dead centre when its pin has come to
its bank angle.  The layouts are common knowledge of the trade; the numbering is our own, makers have others.
"""

from __future__ import annotations

import difflib
import re
from collections.abc import Sequence

from planner.errors import InputError
from planner.records import dataclass


@dataclass(frozen=True, kw_only=True)
class LayoutThrow:
    """A pin: angle [deg] in the direction of rotation, z [throw spacings], its cylinders."""

    angle_deg: float
    z: float
    cylinders: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class LayoutCylinder:
    """A cylinder: which throw (index), bank angle [deg] in the direction of rotation.

    ``rod_offset`` is where its rod sits on the pin, in units of the distance between the two rods of a pin:
    -0.5 the front one, 0.5 the rear one, 0 alone.
    """

    name: str
    throw: int
    bank_deg: float
    rod_offset: float


@dataclass(frozen=True, kw_only=True)
class Layout:
    """An engine layout of the catalogue."""

    name: str
    throws: tuple[LayoutThrow, ...]
    cylinders: tuple[LayoutCylinder, ...]
    firing_order: tuple[str, ...]


def _layout(
    name: str, pins: Sequence[tuple[float, float, tuple[float, ...]]], firing: str, *, paired: bool = False
) -> Layout:
    """Number the cylinders along the shaft; a pin is (angle, z, banks of its cylinders)."""
    throws: list[LayoutThrow] = []
    cylinders: list[LayoutCylinder] = []
    for index, (angle, z, banks) in enumerate(pins):
        first = len(cylinders) + 1
        names = tuple(str(first + k) for k in range(len(banks)))
        throws.append(LayoutThrow(angle_deg=angle % 360.0, z=z, cylinders=names))
        for number, bank in zip(names, banks, strict=True):
            # of a pair the one of bank A (odd number) is the front one
            offset = (-0.5 if int(number) % 2 else 0.5) if paired else 0.0
            cylinders.append(LayoutCylinder(name=number, throw=index, bank_deg=bank, rod_offset=offset))
    return Layout(
        name=name, throws=tuple(throws), cylinders=tuple(cylinders), firing_order=tuple(firing.split("-"))
    )


def _places(count: int) -> list[float]:
    return [k - 0.5 * (count - 1) for k in range(count)]


def _in_line(name: str, angles: tuple[float, ...], firing: str) -> Layout:
    pins = [(angle, z, (0.0,)) for angle, z in zip(angles, _places(len(angles)), strict=True)]
    return _layout(name, pins, firing)


def _flat(name: str, angles: tuple[float, ...], firing: str) -> Layout:
    """Every cylinder has its own pin; the cylinders alternate between the two sides."""
    pins = [
        (angle, z, (0.0 if k % 2 == 0 else 180.0,))
        for k, (angle, z) in enumerate(zip(angles, _places(len(angles)), strict=True))
    ]
    return _layout(name, pins, firing)


def _vee(name: str, angles: tuple[float, ...], bank: float, firing: str, *, split: float = 0.0) -> Layout:
    """Pairs; a split puts the pin of bank A at angle - split/2 and that of bank B at angle + split/2."""
    a, b = 0.5 * bank, -0.5 * bank
    pins: list[tuple[float, float, tuple[float, ...]]] = []
    for angle, z in zip(angles, _places(len(angles)), strict=True):
        if split == 0.0:
            pins.append((angle, z, (a, b)))
        else:
            pins.append((angle - 0.5 * split, z, (a,)))
            pins.append((angle + 0.5 * split, z, (b,)))
    return _layout(name, pins, firing, paired=True)


_THREE = (0.0, 240.0, 120.0)
_FOUR = (0.0, 180.0, 180.0, 0.0)
_CROSS = (0.0, 90.0, 270.0, 180.0)
_FIVE = (0.0, 216.0, 144.0, 72.0, 288.0)
_SIX = (0.0, 240.0, 120.0, 120.0, 240.0, 0.0)

#: The catalogue, in-line engines first.
LAYOUTS: tuple[Layout, ...] = (
    _in_line("single cylinder", (0.0,), "1"),
    _in_line("in-line 2, pins at 180 degrees", (0.0, 180.0), "1-2"),
    _in_line("in-line 2, pins in phase", (0.0, 0.0), "1-2"),
    _in_line("in-line 2, pins at 270 degrees", (0.0, 270.0), "1-2"),
    _in_line("in-line 3", _THREE, "1-3-2"),
    _in_line("in-line 4", _FOUR, "1-3-4-2"),
    _in_line("in-line 4, cross-plane", _CROSS, "1-3-2-4"),
    _in_line("in-line 5", _FIVE, "1-2-4-5-3"),
    _in_line("in-line 6", _SIX, "1-5-3-6-2-4"),
    _flat("flat 2", (0.0, 180.0), "1-2"),
    _flat("flat 4", _FOUR, "1-3-2-4"),
    _flat("flat 6", (0.0, 180.0, 120.0, 300.0, 240.0, 60.0), "1-5-3-2-6-4"),
    _vee("V2, 45 degree banks", (0.0,), 45.0, "1-2"),
    _vee("V2, 60 degree banks", (0.0,), 60.0, "1-2"),
    _vee("V2, 90 degree banks", (0.0,), 90.0, "1-2"),
    _vee("V4, 90 degree banks, pins at 180 degrees", (0.0, 180.0), 90.0, "1-3-2-4"),
    _vee("V4, 90 degree banks, pins in phase", (0.0, 0.0), 90.0, "1-2-3-4"),
    _vee("V6, 60 degree banks, pins split 60 degrees", _THREE, 60.0, "1-3-2-4-6-5", split=60.0),
    _vee("V6, 60 degree banks, shared pins", _THREE, 60.0, "1-3-5-2-4-6"),
    _vee("V6, 90 degree banks, shared pins", _THREE, 90.0, "1-3-2-4-6-5"),
    _vee("V6, 90 degree banks, pins split 30 degrees", _THREE, 90.0, "1-3-2-4-6-5", split=30.0),
    _vee("V6, 90 degree banks, pins split 18 degrees", _THREE, 90.0, "1-3-2-4-6-5", split=18.0),
    _vee("V6, 120 degree banks, shared pins", _THREE, 120.0, "1-3-2-4-6-5"),
    _vee("V8, 90 degree banks, cross-plane", _CROSS, 90.0, "1-8-4-3-6-5-7-2"),
    _vee("V8, 90 degree banks, flat-plane", _FOUR, 90.0, "1-4-3-2-7-6-5-8"),
    _vee("V10, 72 degree banks, shared pins", _FIVE, 72.0, "1-4-3-5-2-10-9-6-8-7"),
    _vee("V10, 90 degree banks, shared pins", _FIVE, 90.0, "1-4-3-5-2-10-9-6-8-7"),
    # here bank A leads: the even intervals of a 90 degree V10 need the split the other way round
    _vee("V10, 90 degree banks, pins split 18 degrees", _FIVE, 90.0, "1-4-3-5-2-10-9-6-8-7", split=-18.0),
    _vee("V12, 60 degree banks", _SIX, 60.0, "1-4-3-6-5-2-11-10-9-8-7-12"),
)


def _words(name: str) -> str:
    """Bring a name into one form: small letters, ``deg`` and the degree sign as ``degree``, no punctuation."""
    text = name.lower().replace("°", " degree ").replace("inline", "in-line")
    text = re.sub(r"(\d)\s*deg(?:rees?)?\b", r"\1 degree", text)
    return " ".join(re.sub(r"[,;/_-]", " ", text).split())


def layout(name: str) -> Layout:
    """Return the layout of that name; case, commas, hyphens and the way degrees are written do not matter.

    Raises
    ------
    InputError
        If there is none: with the nearest names, or all that begin alike.
    """
    by_words = {_words(each.name): each for each in LAYOUTS}
    asked = _words(name)
    if asked in by_words:
        return by_words[asked]
    begin_alike = [each.name for words, each in by_words.items() if asked and words.startswith(asked)]
    near = [by_words[words].name for words in difflib.get_close_matches(asked, by_words, n=3, cutoff=0.6)]
    found = begin_alike or near
    if found:
        hint = "did you mean " + " or ".join(f"`{each}`" for each in found) + "?"
    else:
        hint = "or describe the engine by its throws and cylinders; known are: " + "; ".join(
            each.name for each in LAYOUTS
        )
    raise InputError(f"there is no layout `{name}` in the catalogue", hint=hint)
