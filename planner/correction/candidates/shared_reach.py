"""What all cuts of one counterweight together can reach: no two of them stand on the same metal.

The windows' bounds look at one kind of cut at a time, as if every kind had the whole counterweight to itself.  Here the
kinds share it: seen along the shaft, every cut's section grown by half a wall lies inside the counterweight and off
every other one, so that for any weight ``w >= 0`` on the plane the sections' integrals of w sum up to no more than
the whole region's.  With ``w(x) = |x . e|``, the distance along a direction e, a cut's effect along e is at most a
constant times its own integral (Jensen), the same wherever the cut stands:

============== =======================================================================
disc           ``amount / (R * pi/4 * (d + wall)^2)``
rim hole       ``amount / (first moment of its section, as wide as d + wall, about the axis)``
============== =======================================================================

The greatest of these ratios times the region's integral bounds the sum.

Seen along the shaft some cuts do stand on the same place: rim holes of different rows, one of each, and blind holes of the
two halves of the thickness, one of each.  Everywhere there is one cut of any kind, or one of every row, or one of either
half: the ratios of rows are summed up, and those of halves, before the greatest is taken, and a cut's area counts by as many
as there may be of its like.  Two cuts of one row are never beside each other: both reach along the shaft to where their
axes meet the rim.

Deepened holes and fills are no part of it: their
place is one that old holes have already.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from planner.correction.candidates.block import Block
from planner.correction.candidates.sections import FloatArray
from planner.correction.store import Tables, content_key, kept
from planner.records import dataclass
from planner.rotor.crankshaft import FILLS

CELLS = 360
DIRECTIONS = 36
SLACK = 1.0 + 1e-6
"""Against rounding."""


@dataclass(frozen=True)
class Shared:
    """Bounds on the blocks of one counterweight together.

    Attributes
    ----------
    blocks : tuple of int
        Which blocks.
    directions_rad : ndarray, shape (D,)
        Directions in the crankshaft frame [rad].
    reach_gmm : ndarray, shape (D,)
        Greatest ``Re(conj(e^i direction) * sum of effects)`` of any number of cuts [g*mm].
    area_mm2 : float
        Area of the region.
    own_mm2 : tuple of float
        Per block, the area that a cut takes up at least, shared by those that may stand before one another.
    """

    blocks: tuple[int, ...]
    directions_rad: FloatArray
    reach_gmm: FloatArray
    area_mm2: float
    own_mm2: tuple[float, ...]


@dataclass(frozen=True)
class _Footprints:
    """What the sections of one block cover: between two radii at every cell of the turn, and the least of areas."""

    low_mm: FloatArray
    high_mm: FloatArray
    ratio: float
    least_mm2: float


def shared_bounds(blocks: Sequence[Block]) -> list[Shared]:
    """Return the bounds of every counterweight with several kinds of cut, or with discs."""
    found = []
    for counterweight in dict.fromkeys(block.counterweight for block in blocks):
        own = [
            number
            for number, block in enumerate(blocks)
            if block.counterweight == counterweight
            and block.kind not in FILLS
            and block.from_depth_mm is None
            and block.from_diameter_mm is None
        ]
        if all(blocks[number].kind == "rim hole" for number in own):
            continue  # the dynamic program along the angle knows better
        prints = [_kept_footprints(blocks[number]) for number in own]
        known = [one for one in prints if one is not None]
        if len(known) < len(prints):
            continue
        found.append(_shared(blocks, own, known))
    return found


def _shared(blocks: Sequence[Block], own: list[int], prints: list[_Footprints]) -> Shared:
    low = np.minimum.reduce([one.low_mm for one in prints])
    high = np.maximum.reduce([one.high_mm for one in prints])
    ring = np.where(high > low, high**3 - np.minimum(low, high) ** 3, 0.0) / 3.0
    area = float((np.where(high > low, high**2 - np.minimum(low, high) ** 2, 0.0) / 2.0).sum())
    centre = math.radians(blocks[own[0]].centre_deg)
    directions = 2.0 * np.pi * np.arange(DIRECTIONS) / DIRECTIONS
    edges = 2.0 * np.pi * np.arange(CELLS + 1) / CELLS - np.pi
    # over a cell the distance along a direction has one sign, or is counted twice around its zero
    along = np.sin(edges[None, 1:] - directions[:, None]) - np.sin(edges[None, :-1] - directions[:, None])
    width = 2.0 * np.pi / CELLS
    edge = np.abs(along) < width * math.sin(width)
    ahead = (np.maximum(along, 0.0) + edge * width * width) @ ring
    behind = (np.maximum(-along, 0.0) + edge * width * width) @ ring
    reach = np.zeros(DIRECTIONS)
    for sign, side in ((1.0, ahead), (-1.0, behind)):
        ratios: dict[object, float] = {}
        for number, one in zip(own, prints, strict=True):
            if math.copysign(1.0, float(blocks[number].amount_gmm[0])) == sign:
                layer = _layer(blocks[number])
                ratios[layer] = max(ratios.get(layer, 0.0), one.ratio)
        rows = sum(ratio for layer, ratio in ratios.items() if isinstance(layer, float))
        halves = ratios.get("front", 0.0) + ratios.get("rear", 0.0)
        reach += max(ratios.get(None, 0.0), rows, halves) * side
    layers = {_layer(blocks[number]) for number in own}
    most_rows = sum(isinstance(layer, float) for layer in layers)
    most_halves = len(layers & {"front", "rear"})
    beside = [
        most_rows if isinstance(layer, float) else most_halves if layer is not None else 1
        for layer in (_layer(blocks[number]) for number in own)
    ]
    return Shared(
        blocks=tuple(own),
        directions_rad=directions + centre,
        reach_gmm=reach * SLACK + 1e-6,
        area_mm2=area * 2.0 * np.pi / CELLS * SLACK,
        own_mm2=tuple(one.least_mm2 / many for one, many in zip(prints, beside, strict=True)),
    )


def _layer(block: Block) -> object:
    """Return what tells apart cuts that may stand on one place as seen along the shaft: the row, the half; None: none may."""
    if block.extent_mm is not None and block.from_middle_mm is not None:
        return float(block.from_middle_mm[0])
    return block.in_half


def _kept_footprints(block: Block) -> _Footprints | None:
    """Return what a block's grown sections cover, made once for all blocks of the same shape and dial grid."""
    key = content_key(
        "footprints", block.kind, block.wall_mm, block.amount_gmm, block.section_of, block.sections.radius_mm,
        block.sections.angle_rad, block.sections.grow_mm, block.relative_deg, block.legal,
    )  # fmt: skip

    def made() -> Tables:
        found = _footprints(block)
        if found is None:
            return {"nothing": np.zeros(1)}
        return {"low": found.low_mm, "high": found.high_mm, "sizes": np.array([found.ratio, found.least_mm2])}

    tables = kept(key, made)
    if "nothing" in tables:
        return None
    sizes = tables["sizes"]
    return _Footprints(tables["low"], tables["high"], float(sizes[0]), float(sizes[1]))


def _footprints(block: Block) -> _Footprints | None:
    """Return what a block's grown sections cover; None for a kind of cut that is not known here."""
    sections, wall = block.sections, block.wall_mm
    half_wall = wall / 2.0
    size = np.abs(block.amount_gmm)
    if block.kind in ("face hole", "slug"):
        radius, grown = sections.radius_mm[:, 0], sections.grow_mm + half_wall
        if np.any(radius <= grown):
            return None  # one that reaches the axis has no radius of its own
        area = np.pi * grown**2
        moment = radius * area
        low, high = radius - grown, radius + grown
        turn = np.arcsin(grown / radius)
    elif block.kind == "rim hole":
        x = sections.radius_mm * np.cos(sections.angle_rad)
        half = sections.radius_mm[:, 0] * np.sin(sections.angle_rad[:, 0])
        rim, shoulder, tip = x[:, 0], x[:, 1], x[:, 2]
        wide = half + half_wall
        mouth = np.sqrt(np.maximum(rim**2 - wide**2, 0.0))
        strip = np.maximum(mouth - shoulder, 0.0)
        cone = half * (shoulder - tip)
        area = 2.0 * wide * strip + cone
        moment = wide * np.maximum(mouth**2 - shoulder**2, 0.0) + cone * (shoulder - (shoulder - tip) / 3.0)
        if np.any(moment <= 0.0) or np.any(tip <= wide):
            return None
        low, high = tip - half_wall, np.hypot(rim, half)
        turn = np.arcsin(np.minimum(wide / (tip - half_wall), 1.0))
    else:
        return None
    ratio = float((size / moment[block.section_of]).max())
    nothing_low, nothing_high = np.full(CELLS, np.inf), np.zeros(CELLS)
    columns = np.radians(block.relative_deg)
    width = 2.0 * np.pi / CELLS
    for section in range(len(sections)):
        at = columns[block.legal[section]]
        if not at.size:
            continue
        covered = np.zeros(CELLS + 1)
        first = np.floor((at - turn[section] + np.pi) / width).astype(int)
        last = np.floor((at + turn[section] + np.pi) / width).astype(int)
        for start, end in _runs(first, last):
            covered[np.arange(start, end + 1) % CELLS] = 1.0
        inside = covered[:CELLS] > 0.0
        nothing_low[inside] = np.minimum(nothing_low[inside], low[section])
        nothing_high[inside] = np.maximum(nothing_high[inside], high[section])
    return _Footprints(nothing_low, nothing_high, ratio, float(area.min()))


def _runs(first: FloatArray, last: FloatArray) -> list[tuple[int, int]]:
    """Return ranges that overlap or touch as one, at most a whole turn long."""
    order = np.argsort(first, kind="stable")
    runs: list[tuple[int, int]] = []
    for start, end in zip(first[order].tolist(), last[order].tolist(), strict=True):
        if runs and start <= runs[-1][1] + 1:
            runs[-1] = (runs[-1][0], max(runs[-1][1], end))
        else:
            runs.append((start, end))
    return [(start, min(end, start + CELLS - 1)) for start, end in runs]
